"""The table of what is tried against the page names tests that are there."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PLACES = ("tests/host/web", "tests/system", "tests/browser")


def test_each_line_of_the_table_names_tests_that_are_there() -> None:
    """Twelve lines and two more; every test of the doors is named in one of them."""
    text = (ROOT / "host/docs/page.md").read_text(encoding="utf-8")
    table = text.partition("### What is tried against it")[2].partition("\n## ")[0]
    rows = [row for row in table.splitlines() if re.match(r"\| *\d* *\| [a-z]", row)]
    assert [row.split("|")[1].strip() for row in rows] == [*map(str, range(1, 13)), "", ""]
    named = [re.findall(r"`(test_\w+)`", row) for row in rows]
    assert all(named)
    files = [path for place in PLACES for path in (ROOT / place).glob("test_*.py")]
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    there = set(re.findall(r"^def (test_\w+)", text, re.MULTILINE))
    every = {name for names in named for name in names}
    assert every <= there, every - there
    assert {name for name in there if name.startswith("test_line_")} <= every
