"""Several programs on one data folder at once: two record, others read, all start a new record."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
OPEN_AT_ONCE = """
import sys, time
from pathlib import Path
from snapgloss.store import open_store
import snapgloss.store.store
while not Path(sys.argv[2]).exists():
    time.sleep(0.001)
with open_store(sys.argv[1]) as store:
    print(len(store.runs()))
"""

READERS = (("runs",), ("runs", "--json"), ("show", "1"), ("report", "1"), ("saveit",))


def start(data: Path, *arguments: str) -> subprocess.Popen[str]:
    """Start the program on a data folder."""
    return subprocess.Popen(
        [sys.executable, "-c", SAY, "--data", str(data), *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip


def whole(database: Path) -> None:
    """The file is in order, by SQLite's own check (sqlite.org/pragma.html, integrity_check)."""
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_six_programs_make_a_new_record_at_once(tmp_path: Path) -> None:
    """Six open a folder without a record in the same moment: all succeed, it is migrated once."""
    go = tmp_path / "go"
    command = [sys.executable, "-c", OPEN_AT_ONCE, str(tmp_path / "data"), str(go)]
    started = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(6)
    ]
    go.touch()
    said = [process.communicate(timeout=60) for process in started]
    assert [(out, err) for out, err in said] == [("0\n", "")] * 6
    database = tmp_path / "data" / "snapgloss.sqlite3"
    whole(database)
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("SELECT count(*) FROM alembic_version").fetchone() == (1,)


def test_two_record_while_others_read(tmp_path: Path) -> None:
    """Two batches on two rigs into one record, with `runs`, `show`, `report` and `saveit` beside
    them: every command ends well, and both runs are whole."""
    path = tmp_path / "short.toml"
    work = demo().steps[-1].model_copy(update={"hold_s": 300})
    kept = {**demo().model_dump(), "method": "kept", "start": "in_temper", "steps": (work,)}
    files.write(path, files.ScheduleFile(**{**kept, "name": "Lantern 72 kept"}))
    data = tmp_path / "data"
    setup = PlantSetup(solid=False, start_c=30.5, start_v=0.01)
    with (
        VirtualRigProcess(SpawnOptions(setup, speed="60")) as one,
        VirtualRigProcess(SpawnOptions(setup, speed="60")) as other,
    ):
        recording = [
            start(data, "run", str(path), "--port", rig.port, "--json") for rig in (one, other)
        ]
        readers = 0
        while any(process.poll() is None for process in recording):
            for words in READERS:
                _out, err = (reader := start(data, *words)).communicate(timeout=60)
                assert reader.returncode == 0 or "There is no run" in err or "No batch yet" in err
                assert "Traceback" not in err
                readers += 1
        ended = [(process.wait(), *process.communicate()) for process in recording]
    results = [json.loads(out) for _, out, _ in ended]
    assert [code for code, *_ in ended] == [0, 0], ended
    assert sorted(result["run"] for result in results) == [1, 2]
    assert [result["outcome"] for result in results] == ["finished"] * 2
    assert [result["figures"]["longest_gap_s"] for result in results] == [0.0, 0.0]
    assert readers >= 5
    whole(data / "snapgloss.sqlite3")
    with closing(sqlite3.connect(data / "snapgloss.sqlite3")) as connection:
        rows = connection.execute(
            "SELECT boot_id, count(*), max(seq) - min(seq) + 1 FROM readings GROUP BY boot_id"
        ).fetchall()
    assert len(rows) == 2
    for _, held, spanned in rows:
        assert held == spanned > 300


@pytest.mark.parametrize("again", range(2))
def test_ctrl_c_of_a_reader_harms_nothing(tmp_path: Path, again: int) -> None:
    """A reader that is killed while it opens the record leaves it usable."""
    reader = start(tmp_path, "runs")
    try:
        reader.wait(0.15 * (again + 1))
    except subprocess.TimeoutExpired:
        reader.kill()
    reader.communicate()
    after = start(tmp_path, "runs")
    out, err = after.communicate(timeout=60)
    assert (after.returncode, "No batch yet" in out) == (0, True), err
    whole(tmp_path / "snapgloss.sqlite3")
