"""Print the bill of materials of the program: CycloneDX 1.6, an open standard, as JSON.

    python tests/release/sbom.py > snapgloss-VERSION.cdx.json

What `pip install snapgloss` brings on Linux with Python 3.11, at the locked versions, each with
its licence and what it needs. The same lock gives the same bytes: there is no time in it.
"""

import json
import sys
import uuid
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from licences import data, licence_of
from lock import locked
from packages import PROGRAM, closure, graph, project
from rigfw.version import __version__

OURS = f"pkg:pypi/snapgloss@{__version__}"
NAMESPACE = uuid.uuid5(uuid.NAMESPACE_DNS, "snapgloss.invalid")
NOT_SPDX = {"BSD"}
"""What licences.toml calls a licence that the metadata does not tell more nearly."""


def ref(name: str, versions: dict[str, str]) -> str:
    """The package URL of a locked package."""
    return f"pkg:pypi/{name}@{versions[name]}"


def _licence(expression: str) -> dict[str, Any]:
    if expression in NOT_SPDX:
        return {"license": {"name": expression}}
    return {"expression": expression}


def component(name: str, shown: str, versions: dict[str, str]) -> dict[str, Any]:
    """One package."""
    return {
        "type": "library",
        "bom-ref": ref(name, versions),
        "name": shown,
        "version": versions[name],
        "purl": ref(name, versions),
        "licenses": [_licence(licence_of(name, data()))],
    }


def dependencies(versions: dict[str, str]) -> list[dict[str, Any]]:
    """What each needs of the others, ours first."""
    direct = {str(canonicalize_name(Requirement(text).name)) for text in project()[PROGRAM]}
    asked = {name: sorted(needed) for name, needed in sorted(graph(project()[PROGRAM]).items())}
    return [{"ref": OURS, "dependsOn": [ref(name, versions) for name in sorted(direct)]}] + [
        {"ref": ref(name, versions), "dependsOn": [ref(one, versions) for one in needed]}
        for name, needed in asked.items()
    ]


def bill() -> dict[str, Any]:
    """The whole document. Raises KeyError when the lock lacks a package."""
    names, versions = closure(project()[PROGRAM]), locked()
    names = dict(sorted(names.items()))
    components = [component(name, shown, versions) for name, shown in names.items()]
    body = json.dumps([OURS, components], sort_keys=True)
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "serialNumber": f"urn:uuid:{uuid.uuid5(NAMESPACE, body)}",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application",
                "bom-ref": OURS,
                "name": "snapgloss",
                "version": __version__,
                "purl": OURS,
                "licenses": [{"license": {"id": "MIT"}}],
            },
            "lifecycles": [{"phase": "build"}],
        },
        "components": components,
        "dependencies": dependencies(versions),
    }


def main() -> int:
    """Print it."""
    json.dump(bill(), sys.stdout, indent=1, ensure_ascii=False)
    print()
    return 0


if __name__ == "__main__":
    sys.exit(main())
