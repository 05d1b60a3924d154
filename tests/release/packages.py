"""Which packages the project takes, by the metadata of those that are installed here."""

import sys
import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.markers import Environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

sys.path.append(str(Path(__file__).parents[1] / "docs"))
from made_page import keep  # noqa: F401  pages made from data are kept one way

ROOT = Path(__file__).parents[2]
PROGRAM = "program"
TEST = "test"
"""The two that are locked. What other extras ask for is in these, or told in licences.toml."""

TARGET: dict[str, str] = {
    "python_version": "3.11",
    "python_full_version": "3.11.2",
    "implementation_version": "3.11.2",
    "implementation_name": "cpython",
    "platform_python_implementation": "CPython",
    "sys_platform": "linux",
    "platform_system": "Linux",
    "platform_machine": "x86_64",
    "os_name": "posix",
    "platform_release": "",
    "platform_version": "",
}
"""What lock, licences and bill of materials are of, whichever Python asks."""


@cache
def project() -> dict[str, list[str]]:
    """What pyproject.toml asks for: of the program, and of each extra."""
    with (ROOT / "pyproject.toml").open("rb") as file:
        told = tomllib.load(file)["project"]
    return {PROGRAM: told["dependencies"], **told["optional-dependencies"]}


@cache
def found(name: str) -> Distribution:
    """The installed package. Raises PackageNotFoundError."""
    return distribution(name)


def _applies(asked: Requirement, extras: Iterable[str]) -> bool:
    marker = asked.marker
    if marker is None:
        return True
    environments = [Environment(**TARGET, extra=extra) for extra in ("", *extras)]  # type: ignore[typeddict-item]
    return any(marker.evaluate(dict(environment)) for environment in environments)


def needs(name: str, extras: Iterable[str]) -> list[Requirement]:
    """What an installed package asks for on TARGET."""
    asked = [Requirement(text) for text in found(name).requires or []]
    return [one for one in asked if _applies(one, extras)]


def graph(texts: Iterable[str]) -> dict[str, set[str]]:
    """Canonical name of all that these requirements bring, to the names that it needs itself."""
    known: dict[str, set[str]] = {}
    seen = set()
    left = [one for one in map(Requirement, texts) if _applies(one, ())]
    while left:
        one = left.pop()
        name = str(canonicalize_name(one.name))
        if (name, frozenset(one.extras)) in seen:
            continue
        seen.add((name, frozenset(one.extras)))
        asked = needs(name, one.extras)
        known.setdefault(name, set()).update(str(canonicalize_name(two.name)) for two in asked)
        left += asked
    return known


def closure(texts: Iterable[str]) -> dict[str, str]:
    """Canonical name to name as its package writes it, of all that these requirements bring."""
    return {name: found(name).name for name in graph(texts)}


@cache
def used_for() -> dict[str, tuple[str, str]]:
    """Canonical name to (name, what takes it: the program, or the tests alone), in order."""
    tests, program = (closure(project()[part]) for part in (TEST, PROGRAM))
    known = {name: (shown, TEST) for name, shown in tests.items()}
    known |= {name: (shown, PROGRAM) for name, shown in program.items()}
    return dict(sorted(known.items()))


def asked_elsewhere() -> dict[str, list[str]]:
    """Canonical names that other extras ask for and that are not locked, to those extras."""
    takers: dict[str, list[str]] = {}
    for part, texts in project().items():
        for name in {str(canonicalize_name(Requirement(text).name)) for text in texts}:
            if name not in used_for():
                takers.setdefault(name, []).append(part)
    return takers
