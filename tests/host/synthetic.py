"""A made-up but plausible run, for looking at pictures and filling tables. No physics: the plant
of the virtual rig is for that."""

import math
import random
from typing import NamedTuple

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.store import NewRun
from snapgloss.store.store import Store

# state, minutes, start and end of the chocolate, target, plate above chocolate, heat, fan
SEEDED = (
    ("melting", 58, 21.0, 48.0, 48.0, 12.0, 900, 0),
    ("resting", 10, 48.0, 48.0, 48.0, 2.0, 180, 0),
    ("cooling", 26, 48.0, 33.5, 33.5, -3.0, 0, 1000),
    ("seeding", 6, 33.5, 33.2, 33.5, 0.3, 60, 0),
    ("working", 8, 33.0, 31.5, 31.5, -1.0, 0, 700),
    ("working", 40, 31.5, 31.5, 31.5, 0.7, 70, 0),
)
COOLED = (
    ("melting", 58, 21.0, 48.0, 48.0, 12.0, 900, 0),
    ("resting", 10, 48.0, 48.0, 48.0, 2.0, 180, 0),
    ("cooling", 34, 48.0, 28.0, 28.0, -3.0, 0, 1000),
    ("rewarming", 5, 28.0, 31.6, 31.5, 2.2, 350, 0),
    ("working", 42, 31.6, 31.5, 31.5, 0.7, 70, 0),
)
_EASED = {"melting": 1.6, "cooling": 2.0}


class Synthetic(NamedTuple):
    """Readings and events of one run on one boot."""

    readings: list[Reading]
    events: list[Event]


def synthetic(plan: tuple = SEEDED, seed: int = 1) -> Synthetic:
    """The run of `plan`, from the press of start to the end, one reading a second."""
    noise = random.Random(seed)
    readings: list[Reading] = []
    events: list[Event] = []
    step_no, last_state = 0, ""

    def tell(kind: str, a: int = 0, b: int = 0) -> None:
        events.append(Event(len(events), len(readings) * 1000, kind, a, b))

    kinds = ("melting", "resting", "cooling", "seeding", "rewarming", "working")
    for state, minutes, start_c, end_c, target_c, above_c, heat, fan in plan:
        if state != last_state:
            step_no, last_state = step_no + 1, state
            tell("step", step_no, kinds.index(state))
        if state == "seeding":
            tell("prompt", 2, 120)
        reached = False
        for second in range(minutes * 60):
            if state == "seeding" and second == 90:
                tell("added", 1, 120)
                tell("answered", 2, 3)
            if state == "working" and start_c < 32 and second % 120 == 60 and second > 240:
                tell("added", 3, 95)
            share = second / (minutes * 60)
            curve = _EASED.get(state, 1.0)
            product_c = end_c + (start_c - end_c) * (1 - share) ** curve
            product_c += 0.12 * math.sin(len(readings) / 170) + noise.gauss(0, 0.03)
            if not reached and abs(product_c - target_c) < 0.25:
                reached = True
                tell("reached", step_no, round(product_c * 1000))
            plate_c = product_c + above_c * (1 - share * 0.6)
            pulse = heat if heat > 600 or (len(readings) // 4) % 3 == 0 else 0
            values = (round(target_c * 1000), round(product_c * 16) * 1000 // 16)
            readings.append(
                Reading(
                    len(readings), len(readings) * 1000, state, step_no, *values,
                    round(plate_c * 1000), 21_000, pulse, fan, 500, FLAG_HOLDING * reached,
                )
            )  # fmt: skip
    tell("done")
    return Synthetic(readings, events)


def keep(store: Store, run: Synthetic, boot_nonce: int = 7, **changes: object) -> int:
    """Put a run into a store, finished; `changes` are fields of NewRun. A run of other readings
    needs another `boot_nonce`: what is held of a boot is never written over."""
    new = NewRun(
        schedule_toml="format = 1\n", digest="0badf00d", chocolate="Lantern 72", type="dark",
        method="seeded", mass_g=2000, window_low_mc=31_000, window_high_mc=32_000,
        work_mc=31_500, rig="bench rig", simulated=True, seed=1, workshop="Quillby & Maar",
    )._replace(**changes)  # fmt: skip
    hello = ("0.1.0", 1, 0, "", "off", 55000, 100, 0, 0, 0, 0, True)
    identity = Identity("virtual-1", boot_nonce, *hello)
    boot = store.boot_id(identity)
    run_id = store.begin_run(new, boot, 0)
    store.add_readings(boot, run.readings)
    store.add_events(boot, run.events)
    store.end_run(run_id, len(run.readings) * 1000 + 1_000_000, "finished", "Finished.")
    return run_id
