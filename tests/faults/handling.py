"""Random sequences of handling on the virtual rig, half of them with one true fault.

    python tests/faults/handling.py --sequences 1000 --seed 1 --json
    python tests/faults/handling.py --only 17          replay one, with what happened

Simulated: the firmware itself on this Python (or with --micropython on MicroPython), the
simulated bowl, scripted hands. Exit code 1 when a batch stopped without a fault, a fault was
missed, a stirrer jammed, power met hands, or a batch was lost.
"""

import argparse
import json
import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

from handling_cases import Case, case_of
from handling_truth import FINISHED, Witness
from handling_world import HostTalk, InProcess, WatchedPlant

from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOPS
from snapgloss.virtual import exchange as ex
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.faults import Fault, FaultPlan, Panel
from snapgloss.virtual.handling import Hands
from snapgloss.virtual.lockstep import Lockstep
from snapgloss.virtual.person import Person, Seen
from snapgloss.virtual.sensors import KINDS

AFTER_S = 300.0
"""A sequence goes on so long after it is over, so that what it did can show."""
LONGEST_S = 3600.0
ROOM_BYTES = 4 * ex.WRITE_BYTES
NOT_CLAIMED: tuple[str, ...] = ()
"""Hazards of hazards.toml with the status planned; a test holds this to that file."""


class Outcome(NamedTuple):
    """What became of one sequence."""

    seed: int
    acts: int
    fault: str
    is_fault_met: bool
    failures: list[str]
    end_state: str
    stop: str
    simulated_s: float
    worst_over_k: float
    heat_s: float


class Leaver(Person):
    """The person; from `gone_at_s` after the press of start on there is nobody."""

    def __init__(self, mass_g: float, gone_at_s: float | None) -> None:
        super().__init__(mass_g)
        self._gone_at_s = gone_at_s

    def act(self, now_ms: int, seen: Seen, bowl: Any) -> None:
        """As a person, until they leave."""
        pressed_ms, gone_s = self.pressed_at_ms, self._gone_at_s
        if pressed_ms is not None and gone_s is not None and now_ms - pressed_ms > 1000 * gone_s:
            self.start_down = False
            return
        super().act(now_ms, seen, bowl)


class Sequence:
    """One case in its world."""

    def __init__(self, case: Case, firmware: Any = None, talk: HostTalk | None = None) -> None:
        self.case = case
        fault = case.fault
        is_person = fault is not None and fault.name == "nobody"
        self.plant, panel = WatchedPlant(case.setup), Panel()
        self.talk = talk or HostTalk(case.schedule)
        self.firmware = firmware or InProcess(case.rig.to_config_text(), f"campaign-{case.seed}")
        self.person = Leaver(case.setup.mass_g, fault.begin_s if fault and is_person else None)
        faults = () if fault is None or is_person else plant_faults(fault)
        self.lockstep = Lockstep(
            self.plant,
            Conversion(case.setup.seed, KINDS[case.probe_kind]),
            self.person,
            panel,
            FaultPlan(faults, (self.plant.faults, panel)),
            Hands(case.acts, self.plant, self.talk.declare, case.has_bowl_switch),
        )
        self.witness = Witness(case)
        self.since_s = 0.0

    def run(self) -> Outcome:
        """Until the case is over, and what came of it."""
        lockstep, case = self.lockstep, self.case
        while not self._is_over():
            wire_in = self.talk.next_frame(lockstep.at_ms)
            self.talk.hear(lockstep.tick(self.firmware, wire_in, self.room_bytes()))
            if self.person.pressed_at_ms is not None:
                self.since_s = (lockstep.at_ms - self.person.pressed_at_ms) / 1000
                self._witness()
        self.witness.end(self.since_s, self.state_no, self.plant)
        return Outcome(
            case.seed,
            len(case.acts),
            case.hazard,
            self.witness.is_fault_on,
            self.witness.failures,
            STATES[self.state_no] if self.state_no >= 0 else "nothing",
            self._stop_words(),
            self.since_s,
            self.witness.worst_over_k,
            self.witness.heat_s,
        )

    def room_bytes(self) -> int:
        """What the port takes in this tick."""
        return ROOM_BYTES

    @property
    def state_no(self) -> int:
        """What the display shows."""
        return self.lockstep._seen.state_no

    def _witness(self) -> None:
        # A press takes three passes to count; before that the start is not yet a start.
        if self.since_s > 3.0:
            self.witness.see(
                self.since_s,
                self.state_no,
                self.plant,
                self.plant.drive,
                self.lockstep.hands,
                self.person.start_down,
            )

    def _is_over(self) -> bool:
        stopped_s = self.witness.stopped_s
        if stopped_s is not None and self.since_s > stopped_s + 30.0:
            return True
        if self.state_no == FINISHED or self.lockstep.at_ms > 1000 * LONGEST_S:
            return True
        return self.since_s > self.case.span_s + AFTER_S

    def _stop_words(self) -> str:
        for event in self.talk.events():
            if event.name == "event" and event.get("kind") == "stop":
                return str(STOPS[event.get("a")][1])
        return ""


def plant_faults(fault: Fault) -> tuple[Fault, ...]:
    """The hazards of the plant that a case's fault is made of."""
    if fault.name not in ("both_switches", "dry_plate"):
        return (fault,)
    shorted = fault._replace(name="heater_shorted")
    welded = fault._replace(name="enable_welded")
    if fault.name == "both_switches":
        return shorted, welded
    return shorted, welded, fault._replace(name="coupling_factor", value=0.02)


def run_seed(seed: int) -> Outcome:
    """One sequence on this Python."""
    return Sequence(case_of(seed)).run()


def run_seed_on_micropython(seed: int) -> Outcome:
    """One sequence on a real MicroPython interpreter."""
    from snapgloss.rigs.manifest import firmware_files
    from snapgloss.virtual.device import Boot, Device
    from snapgloss.virtual.interpreter import find
    from snapgloss.virtual.staging import Staging

    case = case_of(seed)
    with Staging(firmware_files()) as staging:
        boot = Boot(case.rig.to_config_text(), f"campaign-{seed}", 1, 1)
        device = Device(find(), staging.script, boot, lambda text: None)
        try:
            return Sequence(case, device).run()
        finally:
            device.close()


def summary(outcomes: list[Outcome]) -> dict[str, Any]:
    """The figures of the campaign."""
    kinds = Counter(failure.split(" ")[0] for one in outcomes for failure in one.failures)
    with_fault = [one for one in outcomes if one.is_fault_met]
    failed = [one for one in outcomes if one.failures]
    missed = [one for one in failed if any("fault_missed" in words for words in one.failures)]
    worst = max(missed, key=lambda one: (one.heat_s, one.worst_over_k), default=None)
    return {
        "simulated": True,
        "sequences": len(outcomes),
        "handling_acts": sum(one.acts for one in outcomes),
        "simulated_hours": round(sum(one.simulated_s for one in outcomes) / 3600, 1),
        "stops_without_fault": kinds.pop("stop_without_fault", 0),
        "faults": len(with_fault),
        "faults_by_hazard": dict(sorted(Counter(one.fault for one in with_fault).items())),
        "faults_stopped": sum(1 for one in with_fault if one.end_state == "stopped"),
        "faults_missed": kinds.pop("fault_missed", 0),
        "worst_missed": worst and {"seed": worst.seed, "words": worst.failures},
        "batches_lost": kinds.pop("batch_lost", 0),
        "jams": kinds.pop("jam", 0),
        "other_failures": dict(kinds),
        "not_claimed": {name: not_claimed(with_fault, name) for name in NOT_CLAIMED},
        "failing_seeds": {one.seed: [*one.failures, one.stop] for one in failed[:40]},
    }


def not_claimed(with_fault: list[Outcome], hazard: str) -> dict[str, Any]:
    """What became of a fault that no check claims yet: figures, no judgement."""
    met = [one for one in with_fault if one.fault == hazard]
    return {
        "met": len(met),
        "stopped": sum(1 for one in met if one.end_state == "stopped"),
        "worst_over_ceiling_k": round(max((one.worst_over_k for one in met), default=0.0), 1),
    }


def has_failed(figures: dict[str, Any]) -> bool:
    """True when the campaign found anything."""
    counted = ("stops_without_fault", "faults_missed", "batches_lost", "jams")
    return bool(figures["other_failures"]) or any(figures[name] for name in counted)


def campaign(seeds: range, on_micropython: bool = False, workers: int = 0) -> dict[str, Any]:
    """Run all seeds on `workers` processes (0 = one a processor)."""
    run = run_seed_on_micropython if on_micropython else run_seed
    with ProcessPoolExecutor(workers or os.cpu_count()) as pool:
        return summary(list(pool.map(run, seeds, chunksize=4)))


def replay(seed: int) -> int:
    """Run one seed and print what happened, event by event."""
    sequence = Sequence(case_of(seed))
    print(sequence.case.words())
    outcome = sequence.run()
    start_ms = sequence.person.pressed_at_ms or 0
    for event in sequence.talk.events():
        if event.name == "no":
            print(f"  refused: {event.values}")
            continue
        at_s = (event.get("at_ms") - start_ms) / 1000
        kind, a, b = event.get("kind"), event.get("a"), event.get("b")
        words = STATES[a] if kind == "state" else STOPS[a][1] if kind in SAID_BY_STOP else a
        print(f"  {at_s:7.1f} s  {kind} {words} {b}")
    for met in getattr(sequence.firmware, "faults_met", []):
        print(f"  exception: {met}")
    print(json.dumps(outcome._asdict(), indent=1))
    return 1 if outcome.failures else 0


SAID_BY_STOP = ("stop", "withheld", "given_back", "cleared")
assert set(SAID_BY_STOP) <= set(EVENT_NAMES)


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--sequences", type=int, default=1000)
    known.add_argument("--seed", type=int, default=1, help="the first seed; they count up")
    known.add_argument("--only", type=int, help="replay this one seed")
    known.add_argument("--micropython", action="store_true", help="run on MicroPython")
    known.add_argument("--workers", type=int, default=0)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    if chosen.only is not None:
        return replay(chosen.only)
    begun_s = time.monotonic()
    seeds = range(chosen.seed, chosen.seed + chosen.sequences)
    figures = campaign(seeds, chosen.micropython, chosen.workers)
    figures["wall_s"] = round(time.monotonic() - begun_s, 1)
    if chosen.json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name}: {value}")
    return 1 if has_failed(figures) else 0


if __name__ == "__main__":
    sys.exit(main())
