"""Kill the host again and again in mid-batch; count what its record lost or doubled.

    python tests/faults/kills.py --kills 200 --seed 1 --json

A virtual rig tempers at --speed in a process of its own. `snapgloss run` records it, as a user
starts it, and is killed (SIGKILL) at random moments, some of them within 100 ms of a commit: the
write-ahead log of the database is watched, and every change of it is a commit or the beginning of
one. Each time it is started again. What the firmware's journal held comes by another way (the
virtual rig's tap, written by the device's own process) and is compared row by row with the record.
"""

import argparse
import json
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path

from rigwire.messages import MISSING_MC
from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES
from rigwire.views import READING_FIELDS
from snapgloss.runs.progress import UNDER_WAY
from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
NEAR_S = 0.1  # "within 100 ms of a commit"
LOOK_S = 0.001
LONGEST_LIFE_S = 2.5  # of a host, from its start to its kill
COMMIT_WAIT_S = 5.0
CATCH_UP_S = 60.0
HOLD_S = 14_400  # the working step, long enough for many kills

Row = tuple[int | str | None, ...]


@dataclass
class Count:
    """What a campaign found. `near_commit` kills fell within NEAR_S after a commit was seen."""

    kills: int = 0
    near_commit: int = 0
    before_first_commit: int = 0
    batches: int = 0
    runs: int = 0
    readings: int = 0
    events: int = 0
    lost: int = 0
    doubled: int = 0
    differing: int = 0
    stated_gaps: int = 0
    wall_s: float = 0.0
    seed: int = 0
    worst: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Nothing lost, doubled or changed, one run a batch, something to lose, and a tenth of the
        kills right after a commit."""
        whole = not (self.lost or self.doubled or self.differing or self.stated_gaps)
        near = 10 * self.near_commit >= self.kills
        return whole and near and self.readings > 0 and self.runs == self.batches


def wire_rows(tap: Path) -> tuple[dict[int, Row], dict[int, Row]]:
    """Readings and events of the newest boot in a tap, in the words of the record."""
    readings: dict[int, Row] = {}
    events: dict[int, Row] = {}
    for line in tap.read_text().splitlines(keepends=True):
        name, *texts = line.split()
        if not line.endswith("\n"):
            break  # the device is writing it
        number, *values = (int(text) for text in texts)
        if name == "boot":
            readings, events = {}, {}
        elif name == "readings":
            at_ms, state_no, step_no, *rest = values[: len(READING_FIELDS)]
            degrees = [None if mc == MISSING_MC else mc for mc in rest[:4]]
            readings[number] = (at_ms, STATES[state_no], step_no, *degrees, *rest[4:])
        else:
            at_ms, kind_no, a, b = values
            events[number] = (at_ms, EVENT_NAMES[kind_no], a, b)
    return readings, events


def recorded_rows(database: Path) -> tuple[list[tuple[int, Row]], list[tuple[int, Row]]]:
    """All (seq, row) of a record with one boot; read with the driver alone."""
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as connection:
        boots = connection.execute("SELECT count(*) FROM boots").fetchone()[0]
        assert boots == 1, f"{boots} boots in a record of one"
        found = []
        for table, columns in (
            ("readings", "at_ms, state, step_no, target_mc, product_mc, plate_mc, room_mc, "
             "heat_permille, fan_permille, stir_permille, flags"),
            ("events", "at_ms, kind, a, b"),
        ):  # fmt: skip
            rows = connection.execute(f"SELECT seq, {columns} FROM {table} ORDER BY seq")
            found.append([(row[0], tuple(row[1:])) for row in rows])
    return found[0], found[1]


def newest_recorded(database: Path) -> int:
    """The newest reading in the record, -1 for none or no record yet."""
    try:
        with closing(
            sqlite3.connect(f"file:{database}?mode=ro", uri=True, timeout=5)
        ) as connection:
            found = connection.execute("SELECT max(seq) FROM readings").fetchone()[0]
    except sqlite3.OperationalError:
        return -1
    return -1 if found is None else int(found)


def how_many(table: str, database: Path) -> int:
    """How many rows a table of the record has."""
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as connection:
        return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def first_of_batch(device: dict[int, Row]) -> int:
    """The number of the device's first row that belongs to its batch."""
    return next(n for n, row in device.items() if row[1] in UNDER_WAY or row[1] == "step")


class Commits:
    """Sees the write-ahead log change."""

    def __init__(self, database: Path) -> None:
        self._wal = database.with_name(database.name + "-wal")
        self._seen = self._look()
        self.at_s = -1.0

    def _look(self) -> tuple[int, int]:
        try:
            found = self._wal.stat()
        except FileNotFoundError:
            return 0, 0
        return found.st_mtime_ns, found.st_size

    def changed(self) -> bool:
        """True when it changed since the last call; `at_s` is when that was seen."""
        now = self._look()
        if now == self._seen:
            return False
        self._seen = now
        self.at_s = time.monotonic()
        return True


class Campaign:
    """One virtual rig after another, each tempering a batch, until enough kills are done."""

    def __init__(self, folder: Path, seed: int, speed: str) -> None:
        self._folder, self._speed = folder, speed
        self._chance = random.Random(seed)
        self.count = Count(seed=seed)

    def run(self, kills: int, kills_a_batch: int) -> Count:
        """Kill, compare, count."""
        began_s = time.monotonic()
        while self.count.kills < kills:
            self.count.batches += 1
            self._batch(min(kills_a_batch, kills - self.count.kills))
        self.count.wall_s = round(time.monotonic() - began_s, 1)
        return self.count

    def _batch(self, kills: int) -> None:
        folder = self._folder / f"batch-{self.count.batches}"
        folder.mkdir(parents=True)
        setup = PlantSetup(solid=False, start_c=30.5, start_v=0.01, seed=self.count.batches)
        options = SpawnOptions(setup, speed=self._speed, tap=folder / "tap")
        with VirtualRigProcess(options) as rig:
            database = folder / "data" / "snapgloss.sqlite3"
            command = [
                sys.executable, "-c", SAY, "--data", str(folder / "data"), "run",
                str(long_batch(folder)), "--port", rig.port,
            ]  # fmt: skip
            for _ in range(kills):
                self._start_and_kill(command, database)
            self._catch_up(command, folder, database)
        self._compare(folder, database)

    def _start_and_kill(self, command: list[str], database: Path) -> None:
        commits = Commits(database)
        near = self._chance.random() < 0.4
        with host(command) as process:
            until_s = time.monotonic() + self._chance.uniform(0.0, LONGEST_LIFE_S)
            if near:
                self._wait_for_commits(commits, self._chance.randint(1, 4))
                until_s = time.monotonic() + self._chance.uniform(0.0, 0.05)
            while time.monotonic() < until_s:
                commits.changed()
                time.sleep(LOOK_S)
            commits.changed()
            process.kill()
            killed_s = time.monotonic()
        self.count.kills += 1
        self.count.near_commit += 0 <= killed_s - commits.at_s <= NEAR_S
        self.count.before_first_commit += commits.at_s < 0

    def _wait_for_commits(self, commits: Commits, many: int) -> None:
        until_s = time.monotonic() + COMMIT_WAIT_S
        while many and time.monotonic() < until_s:
            many -= commits.changed()
            time.sleep(LOOK_S)

    def _catch_up(self, command: list[str], folder: Path, database: Path) -> None:
        """Let a last host record until it has what the device had when it began."""
        with host(command) as process:
            wanted = max(wire_rows(folder / "tap")[0])
            until_s = time.monotonic() + CATCH_UP_S
            while newest_recorded(database) <= wanted and time.monotonic() < until_s:
                assert process.poll() is None, "the last host ended by itself"
                time.sleep(0.1)
            process.send_signal(signal.SIGINT)
            process.wait(20)

    def _compare(self, folder: Path, database: Path) -> None:
        made = wire_rows(folder / "tap")
        for name, device, record in zip(
            ("readings", "events"), made, recorded_rows(database), strict=True
        ):
            numbers = [seq for seq, _ in record]
            held = dict(record)
            expected = range(min(*numbers, first_of_batch(device)), max(numbers) + 1)
            lost = [seq for seq in expected if seq not in held]
            differing = [seq for seq in held if held[seq] != device.get(seq)]
            self.count.lost += len(lost)
            self.count.doubled += len(numbers) - len(held)
            self.count.differing += len(differing)
            self.count.worst += [f"lost {name} {seq}" for seq in lost[:5]]
            self.count.worst += [
                f"{name} {seq}: {held[seq]} is not {device.get(seq)}" for seq in differing[:5]
            ]
            if name == "readings":
                self.count.readings += len(numbers)
            else:
                self.count.events += len(numbers)
        self.count.stated_gaps += how_many("gaps", database)
        self.count.runs += how_many("runs", database)


@contextmanager
def host(command: list[str]) -> Iterator[subprocess.Popen[bytes]]:
    """A host as a user starts it; none is left behind."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def long_batch(folder: Path) -> Path:
    """Write a batch that only keeps: in temper at the start, worked for HOLD_S."""
    path = folder / "long.toml"
    files.write(path, kept_warm(HOLD_S))
    return path


def kept_warm(hold_s: int) -> files.ScheduleFile:
    """A batch in temper at its start, worked for so long and nothing else."""
    work = demo().steps[-1].model_copy(update={"hold_s": hold_s})
    whole = {**demo().model_dump(), "method": "kept", "start": "in_temper", "steps": (work,)}
    return files.ScheduleFile(**{**whole, "name": "Lantern 72, long"})


def campaign(kills: int, seed: int, speed: str = "20", kills_a_batch: int = 100) -> Count:
    """Run a campaign in a folder of its own, removed at the end."""
    with tempfile.TemporaryDirectory(prefix="snapgloss-kills-") as folder:
        return Campaign(Path(folder), seed, speed).run(kills, kills_a_batch)


def main() -> int:
    """Run it and print the counts; 0 when nothing was lost, doubled or changed."""
    parser = argparse.ArgumentParser(description="Kill the host; count what the record lost.")
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--speed", default="20", help="simulated seconds per second")
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args()
    count = campaign(chosen.kills, chosen.seed, chosen.speed)
    if chosen.json:
        print(json.dumps(asdict(count)))
    else:
        print("\n".join(f"{name}: {value}" for name, value in asdict(count).items()))
    return 0 if count.good else 1


if __name__ == "__main__":
    sys.exit(main())
