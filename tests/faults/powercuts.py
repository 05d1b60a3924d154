"""Cut the power at every operation that the store does in an hour; count what its record lost.

    python tests/faults/powercuts.py --json --seed 1

`powercuts_hour.py` writes an hour through the store, in no time, under strace: each write, sync,
rename and removal of the real thing, those of SQLite's journal, log and shared memory among them.
Before the first of them and after each one the power is cut, three times: what was not synced is
lost, torn at a sector, or there in any order (`powercuts_disk.py`, by the seed). What is left is
opened as the program opens it, SQLite's integrity_check is asked, and all that the store had said
is kept must be there, equal, with at most the act under way besides, whole.

--every N cuts at every Nth operation, --jobs runs so many at once, --without-sync leaves all syncs
of files out of the trace: a disk that lies, to see that the check can fail.
"""

import argparse
import json
import multiprocessing
import os
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field
from itertools import accumulate
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent))

from powercuts_disk import MODES, Disk, Op
from powercuts_hour import DATA, Act, found, plan
from powercuts_trace import traced
from sqlalchemy.exc import DatabaseError

from snapgloss.base.errors import SnapglossError
from snapgloss.store import open_store

HOUR_S = 3600
MEMORY = Path("/dev/shm")  # images are written there, where it is: they need not last


@dataclass
class Count:
    """What a campaign found. An image is one state of the disk that was opened and read."""

    seconds: int = 0
    seed: int = 0
    operations: int = 0
    syncs: int = 0
    acknowledged: int = 0
    cuts: int = 0
    images: int = 0
    lost: int = 0
    differing: int = 0
    half_done: int = 0
    corrupt: int = 0
    unopened: int = 0
    record_s: float = 0.0
    wall_s: float = 0.0
    worst: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Something was cut, nothing lost, changed, half there, corrupt or not to be opened."""
        bad = self.lost + self.differing + self.half_done + self.corrupt + self.unopened
        return self.cuts > 0 and self.acknowledged > 0 and bad == 0

    def add(self, other: "Count") -> None:
        """Put another part's counts to ours."""
        for name in ("cuts", "images", "lost", "differing", "half_done", "corrupt", "unopened"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.worst = (self.worst + other.worst)[:20]


def recorded(seconds: int, synchronous: str = "FULL") -> list[Op]:
    """The operations of an hour, or of so many seconds."""
    with tempfile.TemporaryDirectory(prefix="snapgloss-cuts-") as name:
        folder = Path(name).resolve()
        world = folder / "world"
        world.mkdir()
        program = str(Path(__file__).with_name("powercuts_hour.py"))
        command = [program, str(world), str(seconds), synchronous]
        return list(traced(command, folder / "trace", world))


class Judge:
    """Knows what must be there after so many acts."""

    def __init__(self, seconds: int) -> None:
        self._acts = list(plan(seconds))
        self._whole: dict[tuple[str, int], list[object]] = {}
        for act in self._acts:
            for kind, value in act.adds:
                self._whole.setdefault((kind, act.run), []).append(value)
        self._counts = list(accumulate(self._acts, _counted, initial=Counter()))

    def judge(self, folder: Path, acknowledged: int, count: Count, where: str) -> None:
        """Open the record of a cut as the program does, and compare."""
        try:
            with open_store(folder) as store, store._engine.connect() as connection:
                sound = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
                there = found(connection.connection.driver_connection)
        except SnapglossError as fault:
            count.unopened += 1
            count.worst.append(f"{where}: {fault}")
            return
        except (DatabaseError, sqlite3.DatabaseError) as fault:
            count.corrupt += 1
            count.worst.append(f"{where}: {fault}")
            return
        if sound != "ok":
            count.corrupt += 1
            count.worst.append(f"{where}: {sound}")
        self._compare(there, acknowledged, count, where)

    def _compare(
        self, there: dict[tuple[str, int], list[object]], acks: int, count: Count, where: str
    ) -> None:
        has = Counter({key: len(rows) for key, rows in there.items()})
        must, may = (self._counts[min(n, len(self._acts))] for n in (acks, acks + 1))
        lost = sum((must - has).values())
        half_done = not lost and has not in (must, may)
        differing = sum(rows != self._whole.get(k, [])[: len(rows)] for k, rows in there.items())
        count.lost += lost
        count.half_done += half_done
        count.differing += differing
        if lost or half_done or differing:
            count.worst.append(f"{where}: {lost} lost, {differing} kinds changed, {half_done=}")


def _counted(before: Counter[tuple[str, int]], act: Act) -> Counter[tuple[str, int]]:
    return before + Counter((kind, act.run) for kind, _ in act.adds)


def cut_all(ops: Sequence[Op], seconds: int, seed: int, every: int, part: int, of: int) -> Count:
    """Cut at every so many-th operation that is ours: one part of several."""
    disk, judge, count = Disk(), Judge(seconds), Count()
    acknowledged, seen = 0, (-1, -1)
    with tempfile.TemporaryDirectory(prefix="snapgloss-cut-", dir=_memory()) as name:
        for number, op in enumerate([Op("begin"), *ops]):
            disk.take(op)
            acknowledged += op.kind == "ack"
            if op.kind == "ack" or number % every or number // every % of != part:
                continue
            count.cuts += 1
            state = (disk.version, acknowledged)
            for mode in MODES:
                if mode == "lost" and state == seen:
                    continue  # the same image as before, and as much to be in it
                image = disk.image(mode, Random(f"{seed} {number} {mode}"))
                _write(Path(name), image)
                count.images += 1
                judge.judge(Path(name) / DATA, acknowledged, count, f"{number} {mode}")
            seen = state
    return count


def _memory() -> Path | None:
    return MEMORY if MEMORY.is_dir() and os.access(MEMORY, os.W_OK) else None


def _write(folder: Path, image: dict[str, bytearray | None]) -> None:
    shutil.rmtree(folder / DATA, ignore_errors=True)
    for path, content in image.items():
        if content is None:
            (folder / path).mkdir()
        elif path.startswith(f"{DATA}/"):
            (folder / path).write_bytes(content)


def _parts(ops: Sequence[Op], seconds: int, seed: int, every: int, jobs: int) -> Iterator[Count]:
    if jobs == 1:
        yield cut_all(ops, seconds, seed, every, 0, 1)
        return
    with multiprocessing.get_context("fork").Pool(jobs) as pool:
        asked = [(ops, seconds, seed, every, part, jobs) for part in range(jobs)]
        yield from pool.starmap(cut_all, asked)


def campaign(
    seconds: int, seed: int, every: int = 1, jobs: int = 1, without_sync: bool = False,
    synchronous: str = "FULL",
) -> Count:  # fmt: skip
    """Record, cut, count."""
    began_s = time.monotonic()
    ops = recorded(seconds, synchronous)
    count = Count(seconds, seed, record_s=round(time.monotonic() - began_s, 1))
    if without_sync:
        ops = [op for op in ops if op.kind != "sync"]
    count.acknowledged = sum(op.kind == "ack" for op in ops)
    count.operations = len(ops) - count.acknowledged
    count.syncs = sum(op.kind.startswith("sync") for op in ops)
    for part in _parts(ops, seconds, seed, every, jobs):
        count.add(part)
    count.wall_s = round(time.monotonic() - began_s, 1)
    return count


def main() -> int:
    """Run it and print the counts; 0 when nothing was lost, changed or corrupt."""
    parser = argparse.ArgumentParser(description="Cut the power at every operation of the store.")
    parser.add_argument("--seconds", type=int, default=HOUR_S, help="of readings, one a second")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--every", type=int, default=1, help="cut at every so many-th operation")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--without-sync", action="store_true", help="as on a disk that lies")
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args()
    count = campaign(
        chosen.seconds, chosen.seed, chosen.every, chosen.jobs, chosen.without_sync
    )  # fmt: skip
    if chosen.json:
        print(json.dumps(asdict(count)))
    else:
        print("\n".join(f"{name}: {value}" for name, value in asdict(count).items()))
    return 0 if count.good else 1


if __name__ == "__main__":
    sys.exit(main())
