"""Write the tables of host/docs/upgrading.md from protocol/versions.toml; `--check` only compares.

python tests/release/versions.py [--check]
"""

import re
import sys
import tomllib
from typing import Any

from packages import ROOT, keep

DATA = ROOT / "protocol" / "versions.toml"
PAGE = ROOT / "host" / "docs" / "upgrading.md"
BLOCK = re.compile(r"<!-- generated: versions -->\n.*?<!-- end -->", re.S)


def data() -> dict[str, Any]:
    """versions.toml: `major`, and `minor` as a list from 0 on."""
    return tomllib.loads(DATA.read_text("utf-8"))


def generated(text: str) -> str:
    """The page with its table as the data has it, newest version first."""
    told = data()
    major, minors = told["major"], told["minor"]
    newest = f"{major}.{minors[-1]['number']}"
    lines = [
        f"This program and its firmware speak {newest}; it serves every rig from {major}.0 on.",
        "",
        "| Version | Added | This program, with an older rig | An older program |",
        "| --- | --- | --- | --- |",
    ]  # fmt: skip
    for one in reversed(minors):
        cells = (f"{major}.{one['number']}", one["adds"], one["older_rig"], one["older_host"])
        lines.append("| " + " | ".join(cells) + " |")
    block = "\n".join(["<!-- generated: versions -->", *lines, "<!-- end -->"])
    return BLOCK.sub(lambda _: block, text)


def main() -> int:
    """Write or, with --check, compare; 1 when they differ."""
    return keep(PAGE, generated)


if __name__ == "__main__":
    sys.exit(main())
