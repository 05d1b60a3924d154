"""Exports, judged by other programs: a JSON schema validator, the csv module, DuckDB."""

import copy
import csv
import io
from pathlib import Path
from typing import Any

import duckdb
import jsonschema
import pytest
from sqlalchemy import insert

from snapgloss.store import open_store
from snapgloss.store.rows import ProbeRow
from snapgloss.store.tables import CALIBRATIONS


@pytest.fixture
def full(call: Any, run_1: int, data: Path) -> None:
    """The first run with an entry of every kind."""
    call("bag", "24-117", "--name", "Lantern 72", "--contains", "soya")
    call("used", "1", "--bag", "24-117", "--mass", "2 kg")
    call("grade", "1", "seconds", "--mark", "film", "--words", "Größe")
    call("bars", "1", "--made", "48", "--label", "50 g", "--weighed", "50.4 g")
    call("note", "1", "--humidity", "55 %")
    call("temper", "--set-in", "4 min", "--run", "1")
    call("label", "1", "--lot", "L1", "--net", "50 g", "--best-before", "2097-06-30")
    call("tray", "1", "in")
    probe = ProbeRow("chocolate", "ds18b20,2801001a2b00005f", 120, 0, 1_790_000_000_000, 2)
    with open_store(data) as store:
        with store._writing() as connection:
            connection.execute(insert(CALIBRATIONS), {"run_id": 1, **probe._asdict()})
        store.add_curve(1, 1.02, "in", None, "0,31.5\n")
        store.add_gloss(1, False, 1, 0.62, 0.04, "1-gloss.jpg")
        store.add_snap(1, True, 1, -12.5, 3100.0, "1-snap.wav")
        store.add_readings(1, [store.readings(1)[0]._replace(seq=700, at_ms=659_500,
                                                             product_mc=None)])  # fmt: skip


def _validator(call: Any) -> Any:
    schema = call("export", "--schema").value
    jsonschema.Draft202012Validator.check_schema(schema)
    checker = jsonschema.Draft202012Validator.FORMAT_CHECKER
    return jsonschema.Draft202012Validator(schema, format_checker=checker)


def test_a_run_as_json_is_what_its_schema_says(call: Any, full: None) -> None:
    """An independent validator finds nothing; every list has an entry and values are right."""
    document = call("export", "1").value
    assert [error.message for error in _validator(call).iter_errors(document)] == []
    empty = [name for name, value in document.items() if isinstance(value, list) and not value]
    assert empty == []
    rows = document["readings"]["rows"]
    assert len(rows) == 599
    assert rows[0] == [0.0, "working", 6, 31.5, 31.4, 32.0, 21.0, 0.0, 0.0, 0.0, 128]
    assert [row[4] for row in rows if row[0] == 599.5] == [None]
    assert document["grades"][0]["words"] == "Größe"
    assert document["uses"] == [{"at": document["uses"][0]["at"], "lot": "24-117",
                                 "from_run_id": None, "mass_g": 2000}]  # fmt: skip


def test_corrections_are_in_it_with_what_they_correct(call: Any, full: None) -> None:
    """A use that was taken back and a label written twice: every entry, in order, and valid."""
    call("used", "1", "--bag", "24-117", "--mass", "0 g")
    call("bars", "1", "--label", "50 g", "--weighed", "0 g")
    call("used", "1", "--bag", "24-118")
    document = call("export", "1").value
    assert [(use["lot"], use["mass_g"]) for use in document["uses"]] == [
        ("24-117", 2000), ("24-117", 0), ("24-118", None),
    ]  # fmt: skip
    assert [row["net_mg"] for row in document["weights"]] == [50_400, 0]
    assert [error.message for error in _validator(call).iter_errors(document)] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [(("run", "type"), "ruby"), (("run", "ended"), 5), (("grades", 0, "verdict"), "fine"),
     (("readings", "rows", 0, 4), "31.4"), (("readings", "rows", 0, 7), 101),
     (("figures", "lowest_c"), "x"), (("run", "extra"), 1), (("labels", 0, "net_mg"), None)],
)  # fmt: skip
def test_the_schema_refuses_what_is_wrong(
    call: Any, full: None, path: tuple[Any, ...], value: Any
) -> None:
    """The schema is no yes-man: each spoilt field is found."""
    spoilt = copy.deepcopy(call("export", "1").value)
    place = spoilt
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    assert not _validator(call).is_valid(spoilt)


def test_readings_as_csv_and_parquet_are_the_same(call: Any, full: None, tmp_path: Path) -> None:
    """Read by the csv module and by DuckDB: the same rows, a missing reading empty and NULL."""
    text = call("export", "1", "--as", "csv").out
    rows = list(csv.DictReader(io.StringIO(text)))
    path = tmp_path / "new" / "it's.parquet"
    assert call("export", "1", "--as", "parquet", "--out", str(path)).code == 0
    found = duckdb.read_parquet(str(path))
    names = list(found.columns)
    assert names == list(rows[0])
    theirs = [dict(zip(names, row, strict=True)) for row in found.fetchall()]
    assert len(theirs) == len(rows) == 599
    for ours, other in zip(rows, theirs, strict=True):
        assert ours["state"] == other["state"]
        assert (float(ours["chocolate_c"]) if ours["chocolate_c"] else None) == other[
            "chocolate_c"
        ]
        assert float(ours["at_s"]) == other["at_s"]
    assert sum(row["chocolate_c"] == "" for row in rows) == 1
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_the_list_of_all_runs_with_grade_and_figures(call: Any, full: None) -> None:
    """One row a run; what a run has not is empty."""
    (row,) = csv.DictReader(io.StringIO(call("export", "--as", "csv").out))
    assert (row["run"], row["grade"], row["working_lowest_c"]) == ("1", "seconds", "31.4")
    assert (row["lowest_c"], row["simulated"]) == ("", "True")
    assert call("export").value["run"] == [1]


def test_an_empty_record_gives_an_empty_table(call: Any) -> None:
    """Names of columns and no row."""
    lines = call("export", "--as", "csv").out.splitlines()
    assert len(lines) == 1 and lines[0].startswith("run,began,chocolate")


def test_what_cannot_be_is_refused(call: Any, run_1: int, data: Path) -> None:
    """Parquet without a file, no such run, a folder that cannot be written."""
    assert "Name a file with --out." in call("export", "1", "--as", "parquet").err
    assert call("export", "9").code == 2
    blocked = data / "snapgloss.sqlite3" / "x.csv"
    for kind in ("csv", "parquet"):
        answer = call("export", "1", "--as", kind, "--out", str(blocked))
        assert (answer.code, "cannot be written" in answer.err) == (5, True)
