"""Twenty simulated rigs at real time on one host: processor, memory, and how long commits take.

    python tests/bench/rigs.py --json
    python tests/bench/rigs.py --seconds 300 --json

Twenty virtual rigs, each with the real firmware, run in a process of their own; this process is
the host and is measured alone: a live session for each rig, one record, and the stream of the wall
with all rigs as a page would take it. Every rig tempers the sample batch; measuring begins when
all have begun. A commit is timed from its call to its return, waiting for other rigs' included.
`sqlite3_commit` are commits of two rows by plain sqlite3 on the same disk at the same time, for
what the disk itself takes. Real time means that a run of the bench sees the first minutes of a
batch; `--speed` 20 shows an hour's batch in three minutes, with twenty times the readings.

Each rig has its own clock and says its reading when that begins a second, so no two keep step:
here each is a thousandth faster than the one before, and all phases come by. `--in-phase` has all
rigs of one clock, all speaking in the same hundredth of a second: the worst case.
"""

import argparse
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import numpy as np

from snapgloss.base.errors import SnapglossError
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.demo import SEED, demo_schedule
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import staged_of
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.api.wall import message
from snapgloss.web.desk import Desk
from snapgloss.web.gate.audit import Audit
from snapgloss.web.hub import Hub
from snapgloss.web.site import Site
from snapgloss.web.sites import Sites

BOUNDS = {"host_percent": 50, "host_mb": 400, "commit_p95_ms": 10}
MASS_G, WALL_EVERY_S, BEGIN_WITHIN_S = 700, 0.5, 300.0
RIGS = """
import sys, time
from snapgloss.runs.demo import demo_rig
from snapgloss.virtual.rig import RigOptions, VirtualRig
many, speed, spread = int(sys.argv[1]), float(sys.argv[2]), float(sys.argv[3])
rigs = []
for number in range(many):
    one = demo_rig({mass_g}, 21.0, {seed} + number, "1")
    pace = speed * (1 + spread * number / 1000)
    rigs.append(VirtualRig(RigOptions(one.setup, pace, one.config_text)))
for rig in rigs:
    rig.start()
print(" ".join(rig.port for rig in rigs), flush=True)
sys.stdin.read()
for rig in rigs:
    rig.end()
for rig in rigs:
    rig.stop()
"""


@contextmanager
def rigs_elsewhere(many: int, speed: float, in_phase: bool) -> Iterator[list[str]]:
    """So many virtual rigs in another process; their ports."""
    spread = "0" if in_phase else "1"
    text = RIGS.format(mass_g=MASS_G, seed=SEED)
    process = subprocess.Popen(
        [sys.executable, "-c", text, str(many), str(speed), spread], stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None and process.stdin is not None
    try:
        yield process.stdout.readline().split()
    finally:
        process.stdin.close()
        process.wait(60)
        process.stdout.close()


class TimedStore:
    """The record, with the time that each live commit took, in milliseconds."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.took_ms: list[float] = []

    def __getattr__(self, name: str) -> Any:
        return getattr(self._store, name)

    def add_told(self, boot_id: int, readings: Any, events: Any, gaps: Any) -> None:
        """See Store; what has nothing to write is no commit."""
        began_s = time.perf_counter()
        self._store.add_told(boot_id, readings, events, gaps)
        if readings or events or gaps:
            self.took_ms.append(1000 * (time.perf_counter() - began_s))


def sites_of(store: Any, folder: Path, ports: list[str]) -> Sites:
    """A session and a site for each rig, all begun."""
    audit, sites = Audit(folder), []
    for number, port in enumerate(ports):
        key = f"rig-{number + 1}"
        place = folder / "rigs" / key
        place.mkdir(parents=True)
        rig = BENCH_RIG.model_copy(update={"name": key})
        session = Session(store, folder, rig, lambda port=port: port, place=place)
        site = Site(session, store, folder, Desk(audit, rig=key), Hub(session.feed), key=key,
                    name=key, has_others=True)  # fmt: skip
        session.start()
        sites.append(site)
    return Sites(sites)


def begin(sites: Sites) -> None:
    """Send the sample batch to every rig, and wait until all have begun."""
    until_s = time.monotonic() + BEGIN_WITHIN_S
    waiting = list(sites.all)
    while waiting:
        assert time.monotonic() < until_s, "a rig was not found"
        with suppress(SnapglossError):
            session = waiting[0].session
            session.stage(staged_of(demo_schedule(MASS_G), session.rig, 21.0, moulds=8))
            waiting.pop(0)
            continue
        time.sleep(0.2)
    while not all(site.session.feed.moment.run for site in sites.all):
        assert time.monotonic() < until_s, "a batch did not begin"
        time.sleep(0.5)


class Beside:
    """Beside the sessions, each in a thread: the wall as a page takes it, and plain commits."""

    def __init__(self, sites: Sites, folder: Path) -> None:
        self._sites, self._folder = sites, folder
        self._over = threading.Event()
        self.plain_ms: list[float] = []
        self._threads = [threading.Thread(target=one) for one in (self._wall, self._plain)]

    def __enter__(self) -> "Beside":
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_fault: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _wall(self) -> None:
        while not self._over.wait(WALL_EVERY_S):
            json.dumps(message(self._sites))

    def _plain(self) -> None:
        """One in two seconds: enough to know the disk, too few to disturb it."""
        connection = sqlite3.connect(self._folder / "plain.sqlite3")
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA synchronous=FULL")
        connection.execute("CREATE TABLE rows (words TEXT)")
        connection.commit()
        while not self._over.wait(2.0):
            began_s = time.perf_counter()
            connection.executemany("INSERT INTO rows VALUES (?)", [("x" * 80,)] * 2)
            connection.commit()
            self.plain_ms.append(1000 * (time.perf_counter() - began_s))
        connection.close()


def quantile(values: list[float], share: float) -> float:
    """To a hundredth."""
    return round(float(np.quantile(values, share)), 2)


def resident_mb() -> float:
    """Of this process, by /proc."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith("VmRSS")).split()[1]) / 1024


def readings_of(store: Store) -> int:
    """How many there are in the record."""
    return sum(len(store.readings(run.id)) for run in store.runs())


def measure(
    folder: Path, many: int, seconds: float, speed: float, in_phase: bool
) -> dict[str, Any]:
    """All of it, in a folder of its own."""
    with rigs_elsewhere(many, speed, in_phase) as ports, open_store(folder) as record:
        store = TimedStore(record)
        sites = sites_of(store, folder, ports)
        try:
            begin(sites)
            store.took_ms.clear()
            found = watched(store, sites, folder, seconds)
        finally:
            for site in sites.all:
                site.session.end()
            for site in sites.all:
                site.session.stop()
        found["readings"], found["runs"] = readings_of(record), len(record.runs())
        found["gaps"] = sum(len(record.gaps(run.id)) for run in record.runs())
    return {"rigs": many, "speed": speed, "in_phase": in_phase, **found}


def watched(store: TimedStore, sites: Sites, folder: Path, seconds: float) -> dict[str, Any]:
    """What the host uses while all rigs temper."""
    load, cpu_s, at_s = os.getloadavg(), time.process_time(), time.monotonic()
    most_mb = 0.0
    with Beside(sites, folder) as beside:
        while time.monotonic() - at_s < seconds:
            time.sleep(1.0)
            most_mb = max(most_mb, resident_mb())
    wall_s, used_s = time.monotonic() - at_s, time.process_time() - cpu_s
    ages = [site.hub.feed.age_s() for site in sites.all]
    took_ms = list(store.took_ms)
    return {
        "seconds": round(wall_s, 1),
        "host_percent": round(100 * used_s / wall_s, 1),
        "host_mb": round(most_mb, 1),
        "commits": len(took_ms),
        "commit_p50_ms": quantile(took_ms, 0.5),
        "commit_p95_ms": quantile(took_ms, 0.95),
        "commit_most_ms": quantile(took_ms, 1.0),
        "sqlite3_commit_p50_ms": quantile(beside.plain_ms, 0.5),
        "sqlite3_commit_p95_ms": quantile(beside.plain_ms, 0.95),
        "oldest_reading_s": round(max(ages), 1),
        "load_before": [round(one, 1) for one in load],
        "load": [round(one, 1) for one in os.getloadavg()],
        "cores": os.cpu_count(),
    }


def main() -> None:
    """Print the figures, as JSON with --json."""
    parser = argparse.ArgumentParser(description="Many simulated rigs on one host.")
    parser.add_argument("--json", action="store_true", help="print exactly one JSON object")
    parser.add_argument("--rigs", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--speed", type=float, default=1.0, help="of the batches")
    parser.add_argument("--in-phase", action="store_true", help="all rigs speak at the same time")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="snapgloss-rigs-") as folder:
        found = measure(Path(folder), given.rigs, given.seconds, given.speed, given.in_phase)
    found["ok"] = {name: found[name] <= bound for name, bound in BOUNDS.items()}
    if given.json:
        print(json.dumps(found))
    else:
        print("\n".join(f"{name}: {value}" for name, value in found.items()))


if __name__ == "__main__":
    main()
