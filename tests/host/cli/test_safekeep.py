"""backup, verify and restore, as a person types them."""

from pathlib import Path
from typing import Any

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
