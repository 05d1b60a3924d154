"""The fault campaign: every hazard the firmware answers for, again and again, on the virtual rig.

    python tests/faults/campaign.py --runs 6000 --seed 1 --healthy 1000 --json
    python tests/faults/campaign.py --only 17           replay one faulty run
    python tests/faults/campaign.py --runs 160 --without probe_out

Simulated: the firmware itself on this Python, the simulated bowl. A faulty run settles for 60 s
and more, meets its fault, and ends 60 s after the bound. A healthy run is a sequence of random
handling (see handling_cases.py) in a wider range of rooms, masses and offsets. `--without` takes
a hazard's own checks away; its runs must then be unsafe. Exit code 1 when a run was unsafe or a
healthy batch was stopped.
"""

import argparse
import json
import os
import random
import sys
import time
import tomllib
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import MethodType
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

import campaign_checks
from campaign_cases import BY_HEAT, INJECTIONS, FaultCase, fault_case
from campaign_truth import Judge
from handling import ROOM_BYTES, Leaver, Sequence
from handling_cases import Case, case_of, without_fault
from handling_world import HostTalk, InProcess, WatchedPlant

from rigwire.states import STATES
from rigwire.views import STOP_KEYS
from snapgloss.virtual import exchange as ex
from snapgloss.virtual import sensors
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.faults import FaultPlan, Panel
from snapgloss.virtual.handling import Hands
from snapgloss.virtual.lockstep import Lockstep

HAZARDS = Path(__file__).parents[2] / "protocol/rigwire/hazards.toml"
AFTER_S = 60.0
PRESS_S = 5.0  # the press of start is over
LOW_POINT_C = 28.0
ROOM_BELOW_K = 1.5


def bounds_s() -> dict[str, float]:
    """The bound of every hazard that the campaign meets, as hazards.toml states it."""
    rows = tomllib.loads(HAZARDS.read_text(encoding="utf-8"))["hazard"]
    return {row["key"]: float(row["bound_s"]) for row in rows if "bound_s" in row}


class Freezing(InProcess):
    """A firmware whose loop can stand still: its pins stay as they are, no edge, no kick."""

    is_frozen = False
    _last: tuple[int, ...] = ()

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """One pass, or none."""
        if self.is_frozen:
            still = list(self._last)
            still[ex.OUTPUTS] |= ex.KICKED  # the watchdog is not what is looked at here
            still[ex.WIRE_OUT_BYTES] = 0
            return tuple(still), b""
        self._last, wire = super().receive()
        return self._last, wire


def _everything(self: Any, *_values: Any) -> None:
    self.heat_permille = 1000


class Outcome(NamedTuple):
    """What became of one faulty run."""

    seed: int
    hazard: str
    is_met: bool
    bound_s: float
    off_s: float
    bound_k: float | None
    worst_k: float
    unsafe: str
    end_state: str


class FaultRun:
    """One faulty case in its world."""

    def __init__(self, case: FaultCase) -> None:
        self.case = case
        self.plant, panel = WatchedPlant(case.setup), Panel()
        self.talk = HostTalk(case.schedule)
        self.firmware = Freezing(case.rig.to_config_text(), f"campaign-{case.seed}")
        names = [name for name, _ in case.injection.faults]
        self._freezes, self._is_wild = "frozen" in names, "wild" in names
        gone_s = case.onset_s if "nobody" in names else None
        self.person = Leaver(case.setup.mass_g, gone_s)
        plan = FaultPlan(case.faults, (self.plant.faults, panel))
        conversion = Conversion(case.setup.seed, sensors.KINDS[case.probe_kind])
        hands = Hands((), self.plant, self.talk.declare, True)
        self.lockstep = Lockstep(self.plant, conversion, self.person, panel, plan, hands)
        self.judge = Judge(case)

    def run(self) -> Outcome:
        """Until 60 s after the bound."""
        case, lockstep = self.case, self.lockstep
        end_s = case.end_s + AFTER_S
        since_s = 0.0
        while since_s < end_s and lockstep.at_ms < 20_000 + 1000 * end_s:
            wire_in = self.talk.next_frame(lockstep.at_ms)
            self.talk.hear(lockstep.tick(self.firmware, wire_in, ROOM_BYTES))
            if self.person.pressed_at_ms is not None:
                since_s = (lockstep.at_ms - self.person.pressed_at_ms) / 1000
                self._misbehave(since_s >= case.onset_s)
                pressed = self.person.start_down and since_s > PRESS_S
                self.judge.see(since_s, self.plant, self.plant.drive, pressed)
        return self._outcome(lockstep._seen.state_no)

    def _misbehave(self, is_on: bool) -> None:
        """What goes wrong in the program, not in the plant."""
        self.firmware.is_frozen = self._freezes and is_on
        regulator = self.firmware._app.regulator
        if self._is_wild and is_on:
            regulator.demand = MethodType(_everything, regulator)

    def _outcome(self, state_no: int) -> Outcome:
        case, judge = self.case, self.judge
        return Outcome(
            case.seed, case.row, judge.is_met and state_no >= 0, case.bound_s, judge.off_s,
            judge.bound_k, judge.worst_k, judge.unsafe,
            STATES[state_no] if state_no >= 0 else "nothing",
        )  # fmt: skip


def run_fault(seed: int, without: str = "") -> Outcome:
    """One faulty run, with the checks of `without` taken away."""
    with campaign_checks.removed(without):
        return FaultRun(fault_case(seed, bounds_s())).run()


def healthy_case(seed: int) -> Case:
    """Handling on a healthy rig: rooms 15 to 35 degC, offsets to 0.5 K, masses 0.25 to 6 kg."""
    chance = random.Random(seed ^ 0x5EED)
    case = without_fault(case_of(seed))
    room_c = chance.uniform(15.0, 35.0)
    if room_c > LOW_POINT_C - 2.0:
        case = _without_cooling(case)
    last = case.schedule.steps[-1]
    if last.kind == "work":  # no fan keeps the chocolate from a warmer room and a stirrer
        room_c = min(room_c, last.target_mc / 1000 - ROOM_BELOW_K)
    offset_c = chance.uniform(-0.5, 0.5)
    setup = replace(case.setup, room_c=room_c, probe_offset_c=offset_c)
    return replace(case, setup=setup, probe_kind=chance.choice(sorted(sensors.KINDS)))


def _without_cooling(case: Case) -> Case:
    """Melt and hold only: what such a room allows."""
    kept = [step for step in case.schedule.steps if step.kind in ("melt", "rest", "work")]
    kinds = {step.kind for step in kept}
    if "work" in kinds and case.setup.start_v == 0.0:
        kept = [step for step in kept if step.kind != "work"] or kept
    schedule = case.schedule
    schedule.steps = type(schedule.steps)(kept)
    return replace(case, schedule=schedule)


def run_healthy(seed: int) -> tuple[int, list[str], str]:
    """One healthy run: seed, failures (a warning of what is not wrong is one), why it stopped."""
    sequence = Sequence(healthy_case(seed))
    outcome = sequence.run()
    events = [one for one in sequence.talk.events() if one.name == "event"]
    warned = [one for one in events if one.get("kind") == "warned"]
    words = [f"false warning {STOP_KEYS[one.get('a')]}" for one in warned]
    return seed, [*outcome.failures, *words], outcome.stop


def _figures_of(outcomes: list[Outcome]) -> dict[str, Any]:
    """A hazard's row. Times are None where only a temperature is the bound."""
    met = [one for one in outcomes if one.is_met]
    times = sorted(one.off_s for one in met)
    by_time = bool(times) and outcomes[0].hazard != BY_HEAT
    row = {
        "id": outcomes[0].hazard,
        "runs": len(met),
        "bound_s": max(one.bound_s for one in met) if by_time else None,
        "worst_s": times[-1] if by_time else None,
        "p99_s": times[max(0, -(-99 * len(times) // 100) - 1)] if by_time else None,
        "unsafe": sum(1 for one in met if one.unsafe),
    }
    if met and met[0].bound_k is not None:
        row |= {"bound_k": met[0].bound_k, "worst_k": round(max(one.worst_k for one in met), 2)}
    return row


def summary(outcomes: list[Outcome], healthy: Iterable[tuple[int, list[str], str]]) -> Any:
    """The figures of the campaign."""
    healthy = list(healthy)
    names = sorted({one.hazard for one in outcomes})
    failed = [row for row in healthy if row[1]]
    return {
        "simulated": True,
        "runs": sum(1 for one in outcomes if one.is_met),
        "not_met": [one.seed for one in outcomes if not one.is_met][:20],
        "unsafe": sum(1 for one in outcomes if one.is_met and one.unsafe),
        "healthy_runs": len(healthy),
        "false_trips": len(failed),
        "hazards": [_figures_of([o for o in outcomes if o.hazard == name]) for name in names],
        "unsafe_seeds": {one.seed: one.unsafe for one in outcomes if one.unsafe},
        "false_trip_seeds": {seed: [*failures, stop] for seed, failures, stop in failed},
    }


def campaign(runs: int, seed: int, healthy: int, without: str = "", workers: int = 0) -> Any:
    """Run all on `workers` processes (0 = one a processor)."""
    seeds: Iterable[int] = range(seed * 100_000, seed * 100_000 + runs)
    if without:
        every = range(seed * 100_000, seed * 100_000 + runs * len(INJECTIONS))
        seeds = [n for n in every if INJECTIONS[n % len(INJECTIONS)].hazard == without][:runs]
    with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
        outcomes = list(pool.map(partial(run_fault, without=without), seeds, chunksize=4))
        rest = range(seed * 100_000, seed * 100_000 + healthy)
        return summary(outcomes, pool.map(run_healthy, rest, chunksize=2))


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--runs", type=int, default=6000)
    known.add_argument("--seed", type=int, default=1)
    known.add_argument("--healthy", type=int, default=0)
    known.add_argument(
        "--without", default="", choices=sorted(campaign_checks.CHECKS),
        help="take this hazard's checks away",
    )  # fmt: skip
    known.add_argument("--only", type=int, help="replay one faulty run")
    known.add_argument("--workers", type=int, default=0)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    if chosen.runs < 0 or chosen.healthy < 0 or chosen.runs + chosen.healthy == 0:
        known.error("nothing to run: give --runs or --healthy")
    if chosen.only is not None:
        print(fault_case(chosen.only, bounds_s()).words())
        print(run_fault(chosen.only, chosen.without))
        return 0
    begun_s = time.monotonic()
    figures = campaign(chosen.runs, chosen.seed, chosen.healthy, chosen.without, chosen.workers)
    figures["wall_s"] = round(time.monotonic() - begun_s, 1)
    print(json.dumps(figures) if chosen.json else json.dumps(figures, indent=1))
    return 1 if figures["unsafe"] or figures["false_trips"] or figures["not_met"] else 0


if __name__ == "__main__":
    sys.exit(main())
