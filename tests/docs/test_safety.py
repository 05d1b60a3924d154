"""SAFETY.md and hazards.toml say what the code says."""

import ast
import re

import pytest

from rigwire.views import STOP_KEYS, STOPS
from snapgloss.quality.stop_remedies import REMEDIES

STATUS = {"covered", "planned", "hardware only"}
KEYS = {"key", "what", "harm", "answer", "bound", "source", "limits", "barrier", "stop",
        "status", "tests"}  # fmt: skip


@pytest.fixture(scope="module")
def hazards(generate):
    """The rows of hazards.toml."""
    return generate.hazard_rows()


def table_of_stops(text):
    """SAFETY.md's stops as {code: (words, what to do)}."""
    block = re.search(r"<!-- stops:begin.*?<!-- stops:end -->", text, re.DOTALL)[0]
    rows = re.findall(r"^\| (\d+) \| (.*?) \| (.*?) \|$", block, re.MULTILINE)
    return {int(code): (words, advice) for code, words, advice in rows}


def functions_of(path):
    """Names of all functions of a Python file, "Class::name" inside a class."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    for holder in (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef)):
        names |= {f"{holder.name}::{node.name}" for node in holder.body
                  if isinstance(node, ast.FunctionDef)}  # fmt: skip
    return names


def test_every_stop_is_explained(root):
    """Each stop code stands in SAFETY.md with the rig's own words and something to do."""
    table = table_of_stops((root / "SAFETY.md").read_text(encoding="utf-8"))
    assert {code: words for code, (words, _) in table.items()} == {
        code: words for code, _, words in STOPS
    }
    assert all(len(advice) > 20 for code, (_, advice) in table.items() if code)
    assert tuple(advice for _, advice in table.values()) == REMEDIES


def test_rows_are_complete(hazards):
    """Every hazard has every key, a status of the three, and a name of its own."""
    assert [row["key"] for row in hazards if set(row) - {"bound_s"} != KEYS] == []
    assert {row["status"] for row in hazards} <= STATUS
    assert len({row["key"] for row in hazards}) == len(hazards)
    assert all(row[key] for row in hazards for key in ("what", "harm", "answer", "barrier"))


def test_every_stop_has_a_hazard(hazards):
    """Each stop code but "none" answers at least one hazard, and no row names an unknown one."""
    assert {row["stop"] for row in hazards} - {""} == set(STOP_KEYS) - {"none"}


def test_covered_rows_name_a_test_and_a_source(hazards):
    """ "covered" needs a test and a source for its bound; the other rows need no test."""
    rows = [row for row in hazards if row["status"] == "covered"]
    assert [row["key"] for row in rows if not row["tests"] or row["source"] in ("", "-")] == []


def test_named_tests_exist(hazards, root):
    """Each test that a row names is a function of that file, and is neither skipped nor a stub."""
    missing = []
    for name in (test for row in hazards for test in row["tests"]):
        file, _, function = name.partition("::")
        path = root / file
        if not path.is_file() or function not in functions_of(path):
            missing.append(name)
    assert missing == []


def test_named_limits_exist(hazards, generate):
    """Each limit that a row names is one of rigfw.limits; an unknown one raises."""
    assert all(generate.limit_values(row["limits"]) for row in hazards if row["limits"])
    with pytest.raises(KeyError):
        generate.limit_values(["NO_SUCH_LIMIT"])


def test_no_mains_wiring_is_drawn(root):
    """The hardware guide names no mains conductor in its tables."""
    tables = "\n".join(
        line
        for page in (root / "hardware").glob("*.md")
        for line in page.read_text(encoding="utf-8").splitlines()
        if line.startswith("|")
    )
    assert re.findall(r"\b(?:230 ?V|120 ?V|live|neutral|L1|mains plug)\b", tables, re.I) == []


def test_every_limit_of_the_firmware_is_in_the_table(root):
    """Name and value of each, so that the page cannot tell less than the code holds."""
    import rigfw.limits

    text = (root / "SAFETY.md").read_text(encoding="utf-8")
    limits = {name: value for name, value in vars(rigfw.limits).items() if name.isupper()}
    assert limits["WATCHDOG_MS"] == 2000
    assert [name for name, value in limits.items() if f"| `{name}` | {value} |" not in text] == []


def test_what_must_be_said_is_said(root):
    """The prompt, the evidence, the mains, the proof: in so many words."""
    text = " ".join((root / "SAFETY.md").read_text(encoding="utf-8").split())
    for words in (
        "A board at its prompt can be told anything; only the cut-out and the enable circuit",
        "Nothing is bench evidence",
        "no mains wiring drawing",
        "at most 20 W until the board holds the proof",
        "no warranty of any kind",
        "attended all the time",
    ):
        assert words in text, words
