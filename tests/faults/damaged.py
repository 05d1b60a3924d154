"""Whole batches over a cable that damages lines; count what the record lost or doubled.

    python tests/faults/damaged.py --batches 10 --damage 0.05 --seed 1 --json

Each batch is tempered by the real firmware on a simulated bowl, recorded by the same `run_batch`
and `Seeker` that `snapgloss run` uses, on a clock that moves only while the host waits. So many
lines of either direction are dropped, doubled, damaged in bits or whole, torn, overtaken or held
up. Besides, in each batch the line is half-open for a while, and once the rig comes back under
another name while another rig of the same kind takes its old one. What the device's journal held
comes by a way that shares nothing with the wire and is compared row by row.
"""

import argparse
import json
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from bad_world import FarRig, World
from kills import Row, first_of_batch, how_many, kept_warm, recorded_rows, wire_rows

from snapgloss.base.errors import SnapglossError
from snapgloss.link.client import RigLink
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.batch import run_batch
from snapgloss.runs.demo import COLD_C, demo_plan
from snapgloss.runs.moment import Progress
from snapgloss.runs.plan import BatchPlan, plan_of
from snapgloss.runs.progress import UNDER_WAY
from snapgloss.runs.seek import Seeker
from snapgloss.store import open_store
from snapgloss.virtual.plant import PlantSetup

BOARD, STRANGER = "rig-1", "rig-2"
SEEK_S = 600
HELLO_TRIES = 20
MASSES_G = (700, 1000, 1500, 2000, 2500)


@dataclass
class Count:
    """What a campaign found; `hits` are lines that were damaged, by kind."""

    batches: int = 0
    finished: int = 0
    runs: int = 0
    lines: int = 0
    hits: dict[str, int] = field(default_factory=dict)
    found_again: int = 0
    strangers_refused: int = 0
    readings: int = 0
    events: int = 0
    lost: int = 0
    doubled: int = 0
    differing: int = 0
    stated_gaps: int = 0
    simulated_h: float = 0.0
    wall_s: float = 0.0
    seed: int = 0
    worst: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """Nothing lost, doubled or changed; every batch whole, in one run; lines were hit."""
        whole = not (self.lost or self.doubled or self.differing or self.stated_gaps)
        each = self.finished == self.runs == self.batches
        return whole and each and self.readings > 0 and sum(self.hits.values()) > 0


class Heard:
    """A Watch that counts what it is told."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def progress(self, progress: Progress) -> None:
        """A moment."""

    def say(self, at_s: int, words: str) -> None:
        """A sentence."""
        self.said.append(words)


@dataclass(frozen=True)
class Trial:
    """One batch: its plan, the bowl, and what befalls the cable, by the seconds."""

    plan: BatchPlan
    bowl: PlantSetup
    troubles: list[tuple[float, str]]


def whole_batch(seed: int) -> Trial:
    """A batch from the solid on, about two hours."""
    chance = random.Random(seed)
    mass_g = chance.choice(MASSES_G)
    bowl = PlantSetup(mass_g=float(mass_g), seed=seed, cold_c=COLD_C)
    deaf_s, out_s = chance.uniform(100, 1500), chance.uniform(2400, 3600)
    return Trial(demo_plan(mass_g, 21.0, seed), bowl, troubles(chance, deaf_s, out_s))


def short_batch(seed: int) -> Trial:
    """One that is kept warm for ten minutes and no more."""
    chance = random.Random(seed)
    bowl = PlantSetup(solid=False, start_c=30.5, start_v=0.01, seed=seed)
    plan = plan_of(kept_warm(600), BENCH_RIG, 21.0, "", seed)
    return Trial(plan, bowl, troubles(chance, chance.uniform(60, 120), chance.uniform(250, 400)))


def troubles(chance: random.Random, deaf_s: float, out_s: float) -> list[tuple[float, str]]:
    """A half-open line for a while; then the rig's plug is out, another rig of its kind takes its
    port, and it comes back under another name."""
    return [
        (deaf_s, "deaf"), (deaf_s + chance.uniform(5, 90), "hears"),
        (out_s, "move A>-"), (out_s + 1, "move B>A"),
        (out_s + chance.uniform(3, 120), "move ->C"),
    ]  # fmt: skip


class Campaign:
    """One batch after another, each in a world of its own."""

    def __init__(
        self, folder: Path, seed: int, share: float, trial: Callable[[int], Trial] = whole_batch
    ) -> None:
        self._folder, self._seed, self._share, self._trial = folder, seed, share, trial
        self.count = Count(seed=seed)

    def run(self, batches: int) -> Count:
        """Temper, compare, count."""
        began_s = time.monotonic()
        for number in range(batches):
            self._batch(self._seed * 1000 + number)
        self.count.wall_s = round(time.monotonic() - began_s, 1)
        return self.count

    def _batch(self, seed: int) -> None:
        self.count.batches += 1
        folder = self._folder / f"batch-{seed}"
        folder.mkdir(parents=True)
        random.seed(seed)  # the numbers of requests begin anywhere
        world, trial, heard = World(seed, self._share), self._trial(seed), Heard()
        world.rigs["A"] = FarRig(BOARD, trial.bowl, folder / "tap")
        world.rigs["B"] = FarRig(STRANGER, PlantSetup(seed=seed + 1))
        world.plan = list(trial.troubles)
        try:
            self._temper(world, folder / "data", trial.plan, heard)
        finally:
            world.close()
        self._compare(folder)
        for way in world.ways:
            self.count.lines += way.lines
            self.count.hits = dict(Counter(self.count.hits) + way.hits)
        self.count.simulated_h = round(self.count.simulated_h + world.at_s / 3600, 2)
        self.count.found_again += sum("Found again" in one for one in heard.said)
        self.count.strangers_refused += sum("Another rig is on" in one for one in heard.said)

    def _temper(self, world: World, data: Path, plan: BatchPlan, heard: Heard) -> None:
        data.mkdir()
        link = opened(world)
        seek = Seeker("A", SEEK_S, world.open, world.ports, world)
        with open_store(data) as store:
            result = run_batch(plan, link, store, heard, seek=seek)
        link.close()
        self.count.finished += result.outcome == "finished"
        if result.outcome != "finished":
            self.count.worst.append(f"seed {plan.seed}: {result.outcome}, {result.words}")

    def _compare(self, folder: Path) -> None:
        database = folder / "data" / "snapgloss.sqlite3"
        made = wire_rows(folder / "tap")
        for name, device, record in zip(
            ("readings", "events"), made, recorded_rows(database), strict=True
        ):
            numbers, held = [seq for seq, _ in record], dict(record)
            lost = [seq for seq in of_batch(device) if seq not in held]
            differing = [seq for seq in held if held[seq] != device.get(seq)]
            self.count.lost += len(lost)
            self.count.doubled += len(numbers) - len(held)
            self.count.differing += len(differing)
            self.count.worst += [f"{folder.name}: lost {name} {seq}" for seq in lost[:5]]
            self.count.worst += [f"{folder.name}: other {name} {seq}" for seq in differing[:5]]
            setattr(self.count, name, getattr(self.count, name) + len(numbers))
        self.count.stated_gaps += how_many("gaps", database)
        self.count.runs += how_many("runs", database)


def of_batch(device: dict[int, Row]) -> range:
    """The numbers of the rows that belong to the device's batch: from its first to the last one
    before all was off."""
    last = max(n for n, row in device.items() if row[1] in (*UNDER_WAY, "step"))
    return range(first_of_batch(device), last + 1)


def opened(world: World) -> RigLink:
    """A link to the rig: a person tries again when the first hello is lost."""
    for _ in range(HELLO_TRIES - 1):
        try:
            return world.open("A")
        except SnapglossError:
            continue
    return world.open("A")


def campaign(
    batches: int, share: float, seed: int, trial: Callable[[int], Trial] = whole_batch
) -> Count:
    """Run a campaign in a folder of its own, removed at the end."""
    with tempfile.TemporaryDirectory(prefix="snapgloss-damaged-") as folder:
        return Campaign(Path(folder), seed, share, trial).run(batches)


def main() -> int:
    """Run it and print the counts; 0 when nothing was lost, doubled or changed."""
    parser = argparse.ArgumentParser(description="Batches over a damaged cable.")
    parser.add_argument("--batches", type=int, default=10)
    parser.add_argument("--damage", type=float, default=0.05, help="share of lines, either way")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--short", action="store_true", help="batches of ten minutes")
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args()
    trial = short_batch if chosen.short else whole_batch
    count = campaign(chosen.batches, chosen.damage, chosen.seed, trial)
    if chosen.json:
        print(json.dumps(asdict(count)))
    else:
        print("\n".join(f"{name}: {value}" for name, value in asdict(count).items()))
    return 0 if count.good else 1


if __name__ == "__main__":
    sys.exit(main())
