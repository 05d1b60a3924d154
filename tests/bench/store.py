"""A record of years: how long its lists, runs, charts and commits take, and how large it is.

    python tests/bench/store.py --json

Makes runs that look like a seeded batch (from a few synthetic ones, shifted), in a folder of its
own. Readings go in by plain SQL, to be there soon; all else is timed through the store and the
use cases that commands call. Live commits are flushes of the recorder of a batch: 10 readings each
(a rig at real speed gives one or two), WAL and synchronous=FULL, into the full record before its
readings are packed, and once more after; commits of plain sqlite3 on the same disk stand beside
them, for the disk decides. Every run has figures, a grade and a bag before lists, charts and size
are measured, every tenth, and with it the one that is read, counts, a note, a smear test, a
cooling curve and a label as well. One run is all that its page and its report read of it. "ok"
says whether a figure is within the bound asked for, on the machine it runs on, whose load stands
beside it; when one is not, the exit code is 1.
"""

import argparse
import json
import os
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from host.synthetic import SEEDED, synthetic

from snapgloss.base.records import Identity, Reading
from snapgloss.quality.figures import figures_of
from snapgloss.runs.listing import list_runs, show_run
from snapgloss.runs.lots import enter_bag
from snapgloss.runs.packing import pack_old
from snapgloss.runs.recompute import recompute_figures
from snapgloss.runs.recorder import Recorder
from snapgloss.runs.repeating import repeated
from snapgloss.store import NewRun, open_store
from snapgloss.store.engine import FILE_NAME
from snapgloss.store.store import Store

BOUNDS = {
    "list_ms": 100, "one_run_ms": 20, "one_run_packed_ms": 20, "charts_ms": 200,
    "recompute_s": 60, "recompute_packed_s": 60, "size_mb": 600, "packed_mb": 150,
    "commit_p95_ms": 5, "commit_packed_p95_ms": 5,
}  # fmt: skip
FIRST_UTC_MS = 1_700_000_000_000
DAY_MS = 24 * 3600 * 1000
NEW = NewRun(
    "format = 1\n" + "# as sent\n" * 120, "0badf00d", "Lantern 72", "dark", "seeded", 2000, 31_000,
    32_000, 31_500, "bench rig", False, None, "Quillby & Maar",
)  # fmt: skip
LISTED = ("lowest_c", "peak_rewarm_c", "overshoot_c", "minutes_in_window", "minutes_working")


def identity(nonce: int) -> Identity:
    """One start of the bench's board."""
    return Identity("bench", nonce, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, False)


def fill(folder: Path, runs: int, readings: int) -> None:
    """Make the record: runs, events and figures by the store, readings by plain SQL."""
    plan = tuple((s, max(1, m * readings // 8880), *rest) for s, m, *rest in SEEDED)
    shapes = [synthetic(plan, seed) for seed in range(8)]
    clock = [FIRST_UTC_MS]
    with open_store(folder, lambda: clock[0]) as store:
        for number in range(runs):
            shape = shapes[number % 8]
            boot = store.boot_id(identity(number))
            run_id = store.begin_run(NEW, boot, 0)
            store.add_events(boot, shape.events)
            clock[0] += DAY_MS // 4
            store.end_run(run_id, readings * 1000, "finished", "Stayed in the window.")
            store.add_grade(run_id, ("sell", "sell", "seconds")[number % 3], [], None, "")
            if number % 10 == 9:
                tell_all(store, run_id, number)
    raw = sqlite3.connect(folder / FILE_NAME)
    raw.execute("PRAGMA synchronous = OFF")
    marks = ",".join("?" * (len(Reading._fields) + 1))
    columns = ",".join(("boot_id", *Reading._fields))
    for number in range(runs):
        shift_mc = number * 37 % 300 - 150
        kept = (shapes[number % 8].readings * 2)[:readings]
        rows = (
            (number + 1, seq, seq * 1000, *r[2:5], r.product_mc + shift_mc, *r[6:])
            for seq, r in enumerate(kept)
        )
        raw.executemany(f"INSERT INTO readings ({columns}) VALUES ({marks})", rows)
        if number % 50 == 49:
            raw.commit()
    used = ((number + 1, FIRST_UTC_MS, f"B{number // 10}", 2000) for number in range(runs))
    raw.executemany("INSERT INTO uses (run_id, used_utc_ms, lot, mass_g) VALUES (?,?,?,?)", used)
    raw.commit()
    raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw.close()


def tell_all(store: Store, run_id: int, number: int) -> None:
    """What people say of a batch beside its grade; its bag is new with it."""
    contains = ("milk", "soya")
    enter_bag(store, f"B{number // 10}", NEW.chocolate, contains=contains)
    store.add_count(run_id, {"made": 48, "sold": 40, "seconds": 8, "remelt": 0})
    store.add_note(run_id, "Fan on the low setting.")
    store.add_smear(run_id, 21_000, 240, False)
    points = "".join(f"{at},{31 - at / 60:.2f}\n" for at in range(300))
    store.add_curve(run_id, 1.02, "in", None, points)
    label = {"lot": f"L{number}", "name": NEW.chocolate, "best_before": "2097-06-30",
             "contains": contains, "may_contain": (), "net_mg": 50_000}  # fmt: skip
    store.add_label(run_id, label)


def median_ms(name: str, work: Callable[[], Any], times: int = 7) -> dict[str, float]:
    """The medians of some calls, milliseconds by the wall and of this process's own time."""
    wall, own = [], []
    for _ in range(times):
        began, began_cpu = time.perf_counter(), time.process_time()
        work()
        wall.append((time.perf_counter() - began) * 1000)
        own.append((time.process_time() - began_cpu) * 1000)
    middle = times // 2
    return {
        f"{name}_ms": round(sorted(wall)[middle], 2),
        f"{name}_cpu_ms": round(sorted(own)[middle], 2),
    }


def one_run(store: Store, run_id: int) -> None:
    """All that is needed to draw a run, and what is said of it: figures, grades, notes, lots."""
    show_run(store, run_id)
    store.readings(run_id)


def commits_ms(store: Store, folder: Path, count: int, name: str) -> dict[str, float]:
    """Live commits of 10 readings; beside them commits of plain sqlite3 on the same disk."""
    boot = store.boot_id(identity(10**6 + len(name)))
    store.begin_run(NEW, boot, 0)
    batches = [
        [
            Reading(n, n * 1000, "working", 5, 31_500, 31_480, 32_000, 21_000, 70, 0, 500, 128)
            for n in range(batch * 10, batch * 10 + 10)
        ]
        for batch in range(count)
    ]
    beside = folder / "plain"  # no part of the record's size
    beside.mkdir(exist_ok=True)
    raw = sqlite3.connect(beside / f"{name}.sqlite3", isolation_level=None)
    for pragma in ("journal_mode = WAL", "synchronous = FULL"):
        raw.execute(f"PRAGMA {pragma}")
    raw.execute("CREATE TABLE plain (seq INTEGER PRIMARY KEY, value INTEGER)")

    def plainly(rows: list[Reading]) -> None:
        raw.execute("BEGIN IMMEDIATE")
        raw.executemany("INSERT INTO plain VALUES (?, ?)", [(r.seq, r.at_ms) for r in rows])
        raw.execute("COMMIT")

    ours, recorder, began_cpu = [], Recorder(store, boot, 0.0), time.process_time()
    for rows in batches:
        recorder.add_all(rows)
        ours.append(_spent_ms(lambda: recorder.flush(0.0)))
    cpu_ms = (time.process_time() - began_cpu) * 1000 / count
    plain = [_spent_ms(lambda rows=rows: plainly(rows)) for rows in batches]
    raw.close()
    return {
        **{f"{name}_p{p}_ms": round(sorted(ours)[count * p // 100], 2) for p in (50, 95)},
        f"{name}_cpu_ms": round(cpu_ms, 2),
        **{f"plain_{name}_p{p}_ms": round(sorted(plain)[count * p // 100], 2) for p in (50, 95)},
    }


def _spent_ms(work: Callable[[], Any]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def size_mb(folder: Path) -> float:
    """All files of the record."""
    return round(sum(p.stat().st_size for p in folder.iterdir() if p.is_file()) / 1e6, 1)


def timed(name: str, work: Callable[[], Any]) -> dict[str, float]:
    """Wall seconds of one call, and processor seconds of this process and those it started."""
    began, began_cpu = time.perf_counter(), sum(os.times()[:4])
    work()
    wall, cpu = time.perf_counter() - began, sum(os.times()[:4]) - began_cpu
    return {f"{name}_s": round(wall, 1), f"{name}_cpu_s": round(cpu, 1)}


def measure(folder: Path, runs: int, readings: int) -> dict[str, Any]:
    """Fill a record and time it, as rows and packed."""
    found: dict[str, Any] = {"runs": runs, "readings": runs * readings}
    found.update(timed("fill", lambda: fill(folder, runs, readings)))
    middle = max(10, runs // 20 * 10)  # a run of which all is told
    with open_store(folder) as store:
        found.update(timed("recompute", lambda: recompute_figures(store)))
        found["size_mb"] = size_mb(folder)
        found.update(median_ms("list", lambda: (list_runs(store), store.figures_named(LISTED))))
        found.update(median_ms("one_run", lambda: one_run(store, middle)))
        found.update(median_ms("charts", lambda: repeated(store, "lowest_c")))
        found.update(commits_ms(store, folder, 400, "commit"))
        before = figures_of(store.readings(middle), store.events(middle), 31_000, 32_000, 31_500)
        found.update(timed("pack", lambda: pack_old(store)))
        found["packed_mb"] = size_mb(folder)
        found.update(median_ms("one_run_packed", lambda: one_run(store, middle)))
        after = figures_of(store.readings(middle), store.events(middle), 31_000, 32_000, 31_500)
        found["same_when_packed"] = before == after
        found.update(timed("recompute_packed", lambda: recompute_figures(store)))
        found.update(commits_ms(store, folder, 400, "commit_packed"))
    found["load"] = [round(each, 1) for each in os.getloadavg()]
    found["cores"] = os.cpu_count()
    found["ok"] = within(found)
    return found


def within(found: dict[str, Any]) -> dict[str, bool]:
    """Whether each figure is within its bound, and packing changed none."""
    ok = {name: bool(found[name] <= bound) for name, bound in BOUNDS.items()}
    return {**ok, "same_when_packed": bool(found["same_when_packed"])}


def main() -> int:
    """Print the figures, as JSON with --json. Return 1 when one is out of its bound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print exactly one JSON object")
    parser.add_argument("--runs", type=int, default=2000)
    parser.add_argument("--readings", type=int, default=5000, help="of one run")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        figures = measure(Path(folder), given.runs, given.readings)
    if given.json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name}: {value}")
    return 0 if all(figures["ok"].values()) else 1


if __name__ == "__main__":
    sys.exit(main())
