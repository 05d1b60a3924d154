"""A sheet that is only written on: a torn end is left out, damage further up is an error."""

from pathlib import Path

import pytest

from snapgloss.base.errors import StoreError
from snapgloss.store import sheets

ROWS = [{"step": number, "name": "Quillby ä"} for number in range(3)]


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A sheet of three records."""
    path = tmp_path / "new" / "sheet.txt"
    for row in ROWS:
        sheets.append(path, row)
    return path


def test_what_was_written_is_read(sheet: Path) -> None:
    """In order; a sheet that is not there is empty."""
    assert sheets.read(sheet) == ROWS
    assert sheets.read(sheet.with_name("none.txt")) == []


def test_cut_at_any_byte_the_whole_records_remain(sheet: Path) -> None:
    """Every length of the file: the records before are read, and the next one is written well."""
    data = sheet.read_bytes()
    ends = [at + 1 for at, byte in enumerate(data) if byte == ord("\n")]
    for length in range(len(data) + 1):
        sheet.write_bytes(data[:length])
        whole = sum(1 for end in ends if end <= length)
        assert sheets.read(sheet) == ROWS[:whole]
        sheets.append(sheet, {"step": 9})
        assert sheets.read(sheet) == [*ROWS[:whole], {"step": 9}]


def test_a_torn_last_line_with_its_end_is_left_out(sheet: Path) -> None:
    """Blocks reach a disk in any order: a last line of zeros and a line end is none."""
    data = sheet.read_bytes()
    last = data.rindex(b"\n", 0, -1) + 1
    sheet.write_bytes(data[:last] + bytes(len(data) - last - 1) + b"\n")
    assert sheets.read(sheet) == ROWS[:2]


def test_damage_further_up_is_an_error(sheet: Path) -> None:
    """A figure changed by hand in an earlier line: refused, not believed."""
    data = sheet.read_bytes()
    sheet.write_bytes(data.replace(b'"step": 1', b'"step": 7'))
    with pytest.raises(StoreError, match="changed by hand"):
        sheets.read(sheet)


def test_a_folder_that_takes_nothing_is_said(tmp_path: Path) -> None:
    """The step does not count when it cannot be written."""
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError) as refused:
        sheets.append(tmp_path / "file" / "sheet.txt", {})
    assert "does not count" in refused.value.remedy or "Check" in refused.value.remedy
