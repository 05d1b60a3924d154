"""A damaged record is set aside as it was found, and what can be read of it is kept."""

import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from snapgloss.base.errors import InputError, StoreBusy, StoreDamaged, VersionError
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.store import NewRun, open_store
from snapgloss.store.copying import checked
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.fresh_record import header
from snapgloss.store.leaves import rows_of_pages
from snapgloss.store.mending import mended
from snapgloss.store.past_damage import PastDamage
from snapgloss.store.salvage import Salvaged
from snapgloss.store.sorting import WHY
from snapgloss.store.tables import NOTES, READINGS

PAGE_BYTES = 4096
COUNT = 3000
NEW = NewRun(
    "format = 1\n", "0badf00d", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
    "bench rig", False, None, "Quillby & Maar",
)  # fmt: skip

HOLDER = """
import sys
from snapgloss.store import open_store
with open_store(sys.argv[1], to_read=True) as store:
    store.runs()
    print("open", flush=True)
    sys.stdin.readline()
"""


def reading(seq: int) -> Reading:
    """A second in work."""
    return Reading(
        seq, seq * 1000, "working", 5, 31_500, 31_400 + seq % 90, None, 21_000, 120, 0, 500, 128
    )


def filled(folder: Path) -> None:
    """Two runs: 3,000 readings as rows, 500 packed; 400 events, 200 notes, 40 grades."""
    with open_store(folder) as store:
        for nonce, count in ((1, COUNT), (2, 500)):
            identity = Identity(
                "bench", nonce, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, False
            )
            boot = store.boot_id(identity)
            run = store.begin_run(NEW, boot, 0)
            store.add_readings(boot, [reading(n) for n in range(count)])
        store.add_events(1, [Event(n, n * 1000, "added", 1, n) for n in range(400)])
        for n in range(200):
            store.add_note(1, f"Note {n}. " + "Calm. " * (n % 30))
        for _n in range(40):
            store.add_grade(1, "sell", [], None, "even")
        store.end_run(run, 10**6, "finished", "Finished.")
        store.pack_run(run)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record that nobody changes, as one file."""
    folder = tmp_path_factory.mktemp("whole")
    filled(folder)
    return folder / FILE_NAME


@pytest.fixture
def record(whole: Path, tmp_path: Path) -> Path:
    """A copy of it to be damaged."""
    return Path(shutil.copy(whole, tmp_path / FILE_NAME))


def pages_of(path: Path, table: str, kind: int) -> list[int]:
    """The pages of a table that are leaves (10 or 13) or lead to others (2 or 5), from 1."""
    with closing(sqlite3.connect(path)) as raw:
        asked = "SELECT pageno FROM dbstat WHERE name = ? ORDER BY pageno"
        numbers = [row[0] for row in raw.execute(asked, (table,))]
    content = path.read_bytes()
    return [n for n in numbers if content[(n - 1) * PAGE_BYTES] == kind]


def spoil(path: Path, *pages: int) -> None:
    """Write rubbish over whole pages."""
    with path.open("r+b") as file:
        for page in pages:
            file.seek((page - 1) * PAGE_BYTES)
            file.write(b"\xa5" * PAGE_BYTES)


def salvage(record: Path) -> Salvaged:
    """Salvage what must be damaged; the file that is set aside is as it was found."""
    before = record.read_bytes()
    found = mended(record.parent)
    assert found is not None
    assert found.set_aside.read_bytes() == before
    assert checked(record, thorough=True) == found.counted
    assert {path.name for path in record.parent.iterdir()} == {FILE_NAME, found.set_aside.name}
    return found


def test_a_sound_record_is_left_alone(record):
    """Nothing is set aside."""
    before = record.read_bytes()
    assert mended(record.parent) is None
    assert record.read_bytes() == before
    assert list(record.parent.iterdir()) == [record]


def test_a_leaf_of_readings_costs_its_own_rows_alone(record):
    """All else is there; what is missing is a stated gap of the run, and is counted."""
    leaves = pages_of(record, "readings", 10)
    spoil(record, leaves[len(leaves) // 2])
    found = salvage(record)
    lost = COUNT + 500 - found.counted.readings
    assert 0 < lost < 120
    assert (found.lost_readings, found.lost_events) == (lost, 0)
    assert found.counted[1:] == (2, COUNT + 500 - lost, 400, 200, 40)
    assert f"{lost:,} readings and 0 events are lost" in found.words
    with open_store(record.parent) as store:
        (gap,) = store.gaps(1)
        assert (gap.to_seq - gap.from_seq + 1, gap.why) == (lost, WHY)
        kept = [reading(n) for n in range(COUNT) if not gap.from_seq <= n <= gap.to_seq]
        assert store.readings(1) == kept
        assert len(store.readings(2)) == 500


def test_several_leaves_apart(record):
    """Each costs what it held."""
    leaves = pages_of(record, "readings", 10)
    spoil(record, leaves[3], leaves[10], leaves[11], leaves[30])
    found = salvage(record)
    assert 4 * 30 < found.lost_readings < 4 * 120
    with open_store(record.parent) as store:
        assert len(store.gaps(1)) == 4  # between two leaves a row lies in the page above them


def test_a_page_that_leads_to_others_costs_next_to_nothing(record):
    """Its leaves are read by themselves: only the rows that lay in it are lost."""
    (root,) = pages_of(record, "readings", 2)
    spoil(record, root)
    found = salvage(record)
    assert COUNT - 100 < found.counted.readings - 500 < COUNT
    assert found.lost_readings == COUNT + 500 - found.counted.readings
    assert found.counted.notes == 200
    with open_store(record.parent) as store:
        assert set(store.readings(1)) <= {reading(n) for n in range(COUNT)}


def test_notes_past_a_damaged_page(record):
    """Those before and after it."""
    leaves = pages_of(record, "notes", 13)
    spoil(record, leaves[1])
    found = salvage(record)
    assert 100 < found.counted.notes < 200
    assert found.counted.readings == COUNT + 500
    with open_store(record.parent) as store:
        words = [note.words for note in store.notes(1)]
    assert words[0] == "Note 0. "
    assert words[-1].startswith("Note 199. ")


def test_the_first_page(record):
    """Without it nothing leads to any table: readings, runs, events and grades are found all the
    same, and the file says no longer that it is a database."""
    spoil(record, 1)
    found = salvage(record)
    assert found.counted.readings == COUNT + 500
    assert (found.counted.runs, found.counted.events, found.counted.grades) == (2, 400, 40)
    with open_store(record.parent) as store:
        assert store.run(1).chocolate == "Lantern 72"
        assert store.readings(1) == [reading(n) for n in range(COUNT)]


def test_a_header_alone(record):
    """100 bytes overwritten: all is kept."""
    with record.open("r+b") as file:
        file.write(b"\xa5" * 100)
    assert salvage(record).counted[1:] == (2, COUNT + 500, 400, 200, 40)


def test_a_header_of_ours_is_one_of_sqlite(record):
    """A file with it is opened, and all that is asked of it is answered."""
    with record.open("r+b") as file:
        file.write(header(record.stat().st_size // PAGE_BYTES))
    with closing(sqlite3.connect(record)) as raw:
        assert raw.execute("SELECT count(*) FROM readings").fetchone() == (COUNT,)
        assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_runs_and_starts_that_are_lost_get_a_stand_in(record):
    """What belonged to them is kept and shown under their number."""
    spoil(record, *pages_of(record, "runs", 13), *pages_of(record, "boots", 13))
    found = salvage(record)
    assert found.counted[1:] == (2, COUNT + 500, 400, 200, 40)
    with open_store(record.parent) as store:
        run = store.run(1)
        assert (run.outcome, run.chocolate) == ("unfinished", "unknown")
        assert "is lost" in run.words
        assert store.readings(1) == [reading(n) for n in range(COUNT)]
        assert len(store.notes(1)) == 200
        assert store.open_runs("unknown") == []


def test_readings_whose_batch_is_lost_are_shown(record):
    """A run that stands in for it has all of that start of the rig."""
    spoil(record, *pages_of(record, "run_parts", 10))
    found = salvage(record)
    assert found.counted[1:] == (4, COUNT + 500, 400, 200, 40)
    with open_store(record.parent) as store:
        assert [len(store.readings(run.id)) for run in store.runs()] == [500, COUNT, 0, 0]
        assert len(store.events(3)) == 400


def test_a_file_cut_short(record):
    """Its beginning is kept."""
    with record.open("r+b") as file:
        file.truncate(record.stat().st_size // 2 // PAGE_BYTES * PAGE_BYTES - 700)
    found = salvage(record)
    assert found.counted.readings > 400
    with open_store(record.parent) as store:
        shown = [row for run in store.runs() for row in store.readings(run.id)]
    assert len(shown) == found.counted.readings


def test_what_only_the_log_holds_is_kept(record, tmp_path):
    """Killed, and damaged besides: the newest rows are in the log."""
    leaves = pages_of(record, "readings", 10)
    with open_store(record.parent) as store:
        store.add_note(1, "the last")
        for end in ("", "-wal"):
            (tmp_path / "killed").mkdir(exist_ok=True)
            shutil.copy(f"{record}{end}", tmp_path / "killed")
    spoil(tmp_path / "killed" / FILE_NAME, leaves[5])
    found = mended(tmp_path / "killed")
    assert found is not None
    assert found.counted.notes == 201


def test_values_of_another_kind_are_left_out(record):
    """SQLite's own check does not see them; the rest of the table is kept."""
    with closing(sqlite3.connect(record)) as raw, raw:
        raw.execute("UPDATE readings SET product_mc = x'0102' WHERE boot_id = 1 AND seq = 7")
    found = mended(record.parent)
    assert found is not None
    assert found.counted.readings == COUNT + 499


def test_opened_to_be_written_it_is_salvaged_and_said(record):
    """The tables' own list is gone: a batch can begin all the same; a reader hears the remedy."""
    with record.open("r+b") as file:
        file.seek(100)
        file.write(b"\xa5" * 3996)
    with pytest.raises(StoreDamaged, match="is damaged") as caught:
        open_store(record.parent, to_read=True)
    assert "snapgloss salvage" in caught.value.remedy
    with open_store(record.parent) as store:
        assert store.run(1).chocolate == "Lantern 72"
        (told,) = store.told
        assert "set aside, and not deleted" in told
        assert store.begin_run(NEW, 1, 10**9) == 3


def test_one_that_another_program_has_open_is_not_touched(record):
    """It is said, and nothing is moved."""
    spoil(record, pages_of(record, "readings", 10)[7])
    before = record.read_bytes()
    holder = [sys.executable, "-c", HOLDER, str(record.parent)]
    with subprocess.Popen(holder, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"open\n"
        with pytest.raises(StoreBusy, match="in use"):
            mended(record.parent)
        process.communicate(b"\n")
    assert record.read_bytes() == before
    assert list(record.parent.iterdir()) == [record]
    assert salvage(record).lost_readings > 0


def test_a_newer_record_is_no_damaged_one(record):
    """Its form is not known: refused as it is."""
    with closing(sqlite3.connect(record)) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '0999'")
    with pytest.raises(VersionError):
        mended(record.parent)


def test_nothing_to_salvage(tmp_path):
    """No record, or one of 0 bytes."""
    with pytest.raises(InputError, match="nothing to salvage"):
        mended(tmp_path)
    (tmp_path / FILE_NAME).write_bytes(b"")
    with pytest.raises(InputError, match="nothing to salvage"):
        mended(tmp_path)


@settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32 - 1), hits=st.integers(1, 8), kind=st.integers(0, 2))
def test_any_damage_ends_in_a_whole_record(whole, seed, hits, kind):
    """Bytes changed, pages overwritten, the file cut: what comes out is sound, and no row in it
    was never in the record, but for values that were hit themselves."""
    chance = Random(seed)
    content = bytearray(whole.read_bytes())
    for _hit in range(hits):
        at = chance.randrange(len(content))
        if kind == 0:
            content[at] ^= 1 << chance.randrange(8)
        elif kind == 1:
            page = at // PAGE_BYTES * PAGE_BYTES
            content[page : page + PAGE_BYTES] = chance.randbytes(PAGE_BYTES)
        else:
            del content[max(PAGE_BYTES, len(content) - at // 20) :]
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / FILE_NAME
        path.write_bytes(content)
        found = mended(path.parent)
        if found is None:
            return
        assert found.set_aside.exists()
        assert checked(path, thorough=True) == found.counted
        with open_store(path.parent) as store:
            kept = [row for run in store.runs() for row in store.readings(run.id)]
        true = {reading(n) for n in range(COUNT)}
        assert sum(row not in true for row in kept) <= (hits if kind == 0 else 0)
        if kind < 2:
            assert len(kept) > (COUNT + 500) * 0.6


def test_a_reader_past_damage_counts_its_stretches(record):
    """By whole numbers, single and in pairs; without damage there is none."""
    with closing(sqlite3.connect(record)) as raw:
        for table, count in ((READINGS, COUNT), (NOTES, 200)):
            reader = PastDamage(raw, table, [table.columns.keys()[1]])
            assert len(list(reader.rows())) == count
            assert reader.stretches == 0


def test_pages_by_themselves_give_every_row_they_know(record):
    """All readings, events, runs, starts and grades of a sound file."""
    found = list(rows_of_pages(record))
    tables = [table for table, _ in found]
    counts = {table: tables.count(table) for table in set(tables)}
    assert counts["runs"] == 2
    assert counts["boots"] == 2
    assert counts["packed"] == 1
    assert counts["grades"] == 40
    assert counts["events"] == 400
    rows = {row for table, row in found if table == "readings"}
    assert {(1, *reading(n)) for n in range(COUNT)} <= rows
