"""backup, verify and restore, as a person types them."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from snapgloss.store import open_store


def widest(text: str) -> int:
    """Columns of the longest line that is no path by itself."""
    return max(len(line) for line in text.splitlines() if "/" not in line)


def test_a_backup_says_where_it_is_and_what_is_in_it(call: Any, run_1: int, data: Path) -> None:
    """Beside the record by default, with the cautions a person needs."""
    (data / "photos").mkdir()
    answer = call("backup")
    (made,) = (data / "backups").iterdir()
    assert answer.code == 0
    said = " ".join(answer.out.split())
    assert f"Backup: {made}, " in said
    assert "Checked: it holds 1 batch, 598 readings, " in said
    assert "It is on the same disk as the record: copy it to another disk." in said
    assert f"Not in it are the folders photos of {data}: copy them, too." in said
    assert widest(answer.out) <= 80


def test_backup_and_verify_as_json(call: Any, run_1: int, tmp_path: Path) -> None:
    """The file named, its size, its form and its counts; verify says the same of it."""
    wanted = tmp_path / "away" / "mine.sqlite3"
    made = call("backup", str(wanted), "--json").value
    assert (made["file"], made["bytes"]) == (str(wanted), wanted.stat().st_size)
    assert (made["runs"], made["readings"], made["notes"]) == (run_1, 598, 1)
    seen = call("verify", str(wanted), "--json").value
    assert seen["sound"] is True
    assert {
        key: seen[key] for key in ("form", "runs", "readings", "events", "notes", "grades")
    } == {key: made[key] for key in ("form", "runs", "readings", "events", "notes", "grades")}
    assert call("verify", "--json").value["readings"] == 598
    again = call("backup", str(wanted))
    assert (again.code, again.out) == (2, "")
    assert "is there already" in again.err


def test_a_damaged_backup_is_said(call: Any, run_1: int, tmp_path: Path) -> None:
    """verify ends with 5, restore too, and the record stays."""
    wanted = tmp_path / "b.sqlite3"
    call("backup", str(wanted))
    content = bytearray(wanted.read_bytes())
    content[-4096:] = b"\xa5" * 4096
    wanted.write_bytes(content)
    for command in ("verify", "restore"):
        answer = call(command, str(wanted))
        assert (answer.code, answer.out) == (5, "")
        assert "is damaged" in answer.err
    assert len(call("runs", "--json").value) == 1


def test_restore_sets_the_record_aside(call: Any, run_1: int, data: Path, tmp_path: Path) -> None:
    """What was noted after the backup is in the record that was set aside, which is named."""
    wanted = tmp_path / "b.sqlite3"
    call("backup", str(wanted))
    call("note", str(run_1), "after the backup")
    answer = call("restore", str(wanted))
    assert answer.code == 0
    assert "The record is restored: 1 batch, 598 readings" in " ".join(answer.out.split())
    (aside,) = data.glob("snapgloss-set-aside-*.sqlite3")
    assert str(aside) in answer.out
    assert len(call("show", str(run_1), "--json").value["notes"]) == 1
    call("restore", str(aside))
    assert len(call("show", str(run_1), "--json").value["notes"]) == 2


def test_restore_is_refused_while_the_record_is_open(call: Any, run_1: int, data: Path) -> None:
    """Exit 5, and what to do."""
    made = call("backup", "--json").value["file"]
    with open_store(data):
        answer = call("restore", made)
    assert answer.code == 5
    assert "in use by another program" in answer.err
    assert "Close the other snapgloss" in answer.err


def test_salvage_of_a_sound_record(call: Any, run_1: int) -> None:
    """Nothing is done, and that is said."""
    assert call("salvage") == (0, "The record is sound: nothing was done.\n", "")
    assert call("salvage", "--json").value == {"sound": True}


def test_salvage_says_where_and_what(call: Any, run_1: int, data: Path) -> None:
    """Where the damaged one is, what the new one holds, what is known to be lost."""
    spoilt(data, "readings", 1)
    answer = call("export", str(run_1))
    assert answer.code == 5
    assert "Salvage it" in answer.err
    answer = call("salvage")
    (aside,) = data.glob("snapgloss-damaged-*.sqlite3")
    said = " ".join(answer.out.split())
    assert (answer.code, answer.err) == (0, "")
    assert f"It was set aside, and not deleted: {aside}." in said
    assert "is in a new record: 1 batch, " in said
    assert "readings and 0 events are lost; their batches say so." in said
    assert widest(answer.out) <= 80
    assert call("show", str(run_1)).code == 0
    assert any("damaged in the record" in gap for gap in call("show", "1", "--json").value["gaps"])


def test_salvage_as_json(call: Any, run_1: int, data: Path) -> None:
    """All of it for programs."""
    spoilt(data, "readings", 1)
    found = call("salvage", "--json").value
    assert found["sound"] is False
    assert found["readings"] + found["lost_readings"] == 598
    assert (found["runs"], found["stretches"] > 0) == (1, True)
    assert Path(found["set_aside"]).is_file()


def test_a_command_that_writes_salvages_by_itself(call: Any, run_1: int, data: Path) -> None:
    """The tables' own list is gone: a note is kept all the same, and stderr says what was done."""
    record = data / "snapgloss.sqlite3"
    content = bytearray(record.read_bytes())
    content[100:4096] = b"\xa5" * 3996
    record.write_bytes(content)
    answer = call("note", str(run_1), "calm")
    assert answer.code == 0
    assert "The record was damaged. It was set aside" in " ".join(answer.err.split())
    assert call("show", str(run_1), "--json").value["notes"] == ["calm"]


def spoilt(data: Path, table: str, leaf: int) -> None:
    """Overwrite one leaf of a table."""
    record = data / "snapgloss.sqlite3"
    content = bytearray(record.read_bytes())
    with closing(sqlite3.connect(record)) as raw:
        asked = "SELECT pageno FROM dbstat WHERE name = ? ORDER BY pageno"
        pages = [row[0] for row in raw.execute(asked, (table,))]
    leaves = [page for page in pages if content[(page - 1) * 4096] in (10, 13)]
    at = (leaves[leaf] - 1) * 4096
    content[at : at + 4096] = b"\xa5" * 4096
    record.write_bytes(content)


def test_a_record_in_a_database_is_not_restored_in_the_folder(
    call: Any, run_1: int, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No command would read what was put there; nothing is touched."""
    made = call("backup", "--json").value["file"]
    before = {path: path.read_bytes() for path in data.glob("*.sqlite3")}
    monkeypatch.setenv("SNAPGLOSS_RECORD", "postgresql://maker@127.0.0.1:1/record")
    for asked in (("restore", made), ("salvage",)):
        answer = call(*asked)
        assert (answer.code, answer.out) == (2, "")
        assert "The record is in a database, not in the data folder." in answer.err
    assert {path: path.read_bytes() for path in data.glob("*.sqlite3")} == before
