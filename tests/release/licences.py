"""Write the list of licences in host/docs/licences.md; with `--check`, compare.

python tests/release/licences.py [--check]

A licence comes from a package's own metadata: its expression, else the word in its licence field,
else its classifiers, and of "BSD" from the text that it holds; what that leaves open is in
licences.toml. One that is not allowed there is an error of both forms, and so is a package that
says nothing.
"""

import re
import sys
import tomllib
from importlib.metadata import PackageNotFoundError
from pathlib import Path
from typing import Any

from packages import PROGRAM, ROOT, found, keep, used_for

DATA = Path(__file__).with_name("licences.toml")
PAGE = ROOT / "host" / "docs" / "licences.md"
BLOCK = re.compile(r"<!-- generated: licences -->\n.*?<!-- end -->", re.S)
LICENCE_FILE = re.compile(r"LICEN[CS]E|COPYING", re.I)
BSD, ENDORSED = "BSD", "used to endorse or promote products"
NOT_A_NAME = {"AND", "OR", "WITH"}


class NotAllowed(Exception):
    """A dependency's licence is not on the list, or cannot be told."""


def data() -> dict[str, Any]:
    """licences.toml."""
    return tomllib.loads(DATA.read_text("utf-8"))


def licence_of(name: str, told: dict[str, Any]) -> str:
    """An expression of SPDX identifiers. Raises NotAllowed when the metadata does not tell."""
    if name in told["told"]:
        return str(told["told"][name]["licence"])
    metadata = found(name).metadata
    if "License-Expression" in metadata:
        return metadata["License-Expression"]
    known = set(told["program"]) | set(told["extras"])
    classified = [
        text.rpartition(" :: ")[2]
        for text in metadata.get_all("Classifier") or []
        if text.startswith("License ::")
    ]
    # The field is the finer of the two where it is an identifier.
    for words in (str(metadata.get("License") or "").strip(), *classified):
        spdx = str(told["words"].get(words, words))
        if spdx in known:
            return _bsd(name) if spdx == BSD else spdx
    raise NotAllowed(f"{name}: neither expression, classifier nor field tells its licence.")


def _bsd(name: str) -> str:
    """With two or three clauses, by the text that the package holds; BSD where it holds none."""
    files = [file for file in found(name).files or [] if LICENCE_FILE.match(file.name)]
    texts = [str(found(name).metadata.get("License") or "")]
    texts += [file.locate().read_text("utf-8") for file in files]
    text = " ".join(" ".join(texts).split()).lower()
    if "redistributions in binary form" not in text:
        return BSD
    return "BSD-3-Clause" if ENDORSED in text else "BSD-2-Clause"


def names_in(expression: str) -> set[str]:
    """The identifiers of an expression. Each must be allowed, also of two to choose from."""
    return set(re.findall(r"[A-Za-z0-9.+-]+", expression)) - NOT_A_NAME


def judged(name: str, taker: str, expression: str, told: dict[str, Any]) -> str:
    """The expression, if all in it is allowed for what takes the package. Raises NotAllowed."""
    allowed = set(told["program"]) | (set() if taker == PROGRAM else set(told["extras"]))
    strange = names_in(expression) - allowed
    if strange:
        raise NotAllowed(f"{name}, of {taker}: {', '.join(sorted(strange))} is not allowed.")
    return expression


def rows() -> list[tuple[str, str, str]]:
    """(package, licence, what takes it), the program's first. Raises NotAllowed."""
    told = data()
    listed = [
        (shown, judged(name, taker, licence_of(name, told), told), taker)
        for name, (shown, taker) in used_for().items()
    ]
    listed += [
        (name, judged(name, one["for"], one["licence"], told), one["for"])
        for name, one in told["elsewhere"].items()
    ]
    return sorted(listed, key=lambda row: (row[2] != PROGRAM, row[0].lower()))


def generated(text: str) -> str:
    """The page with its table as the metadata has it."""
    lines = ["| Package | Licence | Taken by |", "| --- | --- | --- |"]
    lines += [f"| {name} | {licence} | {taker} |" for name, licence, taker in rows()]
    block = "\n".join(["<!-- generated: licences -->", *lines, "<!-- end -->"])
    return BLOCK.sub(lambda _: block, text)


def main() -> int:
    """Write or, with --check, compare; 1 when they differ or a licence is not allowed."""
    try:
        return keep(PAGE, generated)
    except (NotAllowed, PackageNotFoundError) as fault:
        print(fault)
        return 1


if __name__ == "__main__":
    sys.exit(main())
