"""Causes of bad bars found again: faults injected into simulated batches. One JSON object.

    python tests/bench/causes.py --json --seed 1

Simulated: makers, rigs, bowls, bars and stores (`spoilt`), none of which the rules know. What they
are given is what a kitchen has: the record of the rig, what the same rig showed in a good batch, a
knife where somebody dipped one, thermometers that are off or were not looked at, and marks as a
person sees them. Batches are drawn until 500 with a fault also show one; what was borne without a
mark is `borne`. `right_share`: one of the first two causes named was injected;
`both_of_two_share`: of two faults both were, though one often hides the other. Healthy batches are
quiet where nothing is named; `if_complained`: nothing by a figure, when their maker makes up
marks. Seeds under 1000 are for development.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter, defaultdict
from typing import Any, NamedTuple

import numpy as np

from rigwire.tables import ANSWERED_BY
from snapgloss.base.records import Event
from snapgloss.quality.causes import Cause, causes_of
from snapgloss.quality.causes_curve import POUR, Curve, Usual, habits, signs_of
from snapgloss.quality.causes_seed import SEED, SEED_IN
from snapgloss.quality.causes_told import Told, signs_told
from snapgloss.quality.columns import Columns
from snapgloss.quality.temper_smear import Smear, SmearTest
from snapgloss.quality.trays import Tray
from spoilt import bowl
from spoilt.bars import Knife, dip, mould
from spoilt.draw import FAULTS, KINDS, Batches, Random, draw_names, healthy, spoilt
from spoilt.looks import marks_of

BAD, HEALTHY, DRAWN = 500, 100, 700
RIGHT_LEAST, QUIET_LEAST = 0.90, 0.97
DIPPED, FRIDGE_KNOWN, MOULD_KNOWN, STORE_KNOWN, AIR_KNOWN = 0.85, 0.9, 0.85, 0.9, 0.9
READ_SD = {"fridge_c": 0.7, "mould_c": 1.0, "store_c": 0.4, "humidity_percent": 3.0}
DECLARED, PRESS_LATE_MS, DIP_MC = 0.2, 40_000, 400
"""So many makers declare their seed; others press up to 40 s after it, or the rig has noticed."""
BY_PRESS, BY_HOST, NOTICED = (ANSWERED_BY.index(how) for how in ("press", "host", "noticed"))
COMPLAINT = ("film", "dull", "streaks")


class Found(NamedTuple):
    """One batch: what was done to it, its marks, and the causes named."""

    faults: tuple[str, ...]
    marks: tuple[str, ...]
    causes: list[Cause]
    complained: list[Cause]
    """What is named for marks that a maker made up (COMPLAINT)."""


def run(seed: int, drawn: int = DRAWN, well: int = HEALTHY) -> list[Found]:
    """Draw, spoil, temper, mould, store, look, and ask for causes: one for each batch."""
    random = np.random.default_rng([seed, 0])
    names = [()] * well + draw_names(random, drawn)
    usual_made = healthy(random, len(names))
    made = spoilt(random, usual_made, names)
    usual_made.is_seeded = made.is_seeded.copy()
    usual_made.mass_kg = random.uniform(1.6, 2.4, len(names))
    usual_made.room_c = random.uniform(19.5, 23.0, len(names))
    usual_made.probe_k = np.where(np.abs(made.probe_k) > 1, 0.0, made.probe_k)
    good = bowl.Bowls(usual_made, random)
    good_told = good.run()
    tempered = bowl.Bowls(made, random)
    told = tempered.run()
    state = [tempered.poured[name] for name in ("v", "u", "n", "at_c")]
    marks = marks_of(mould(made, *state), random)
    knife = dip(made, *state)
    usual = [_usual(curve) for curve in curves_of(good, good_told, random)]
    found = []
    for lane, curve in enumerate(curves_of(tempered, told, random)):
        signs = {**signs_of(curve, usual[lane]), **_told(made, lane, random)}
        smear = _smear(made, knife, lane, random)
        causes = causes_of(marks[lane], signs, smear)
        complained = causes_of(COMPLAINT, signs, smear)
        found.append(Found(names[lane], marks[lane], causes, complained))
    return found


def _usual(curve: Curve) -> Usual | None:
    found = habits(curve)
    return None if found is None else found[0]


def curves_of(bowls: bowl.Bowls, told: bowl.Recorded, random: Random) -> list[Curve]:
    """The records as the host holds them, whole milli-degrees and permille."""
    table = {at: np.rint(told.column(at) * 1000).astype(int) for at in range(bowl.STATE)}
    states, target = told.column(bowl.STATE).astype(int), told.column(bowl.TARGET) * 1000
    at_ms = np.arange(len(states)) * round(bowl.STEP_S * 1000)
    names = np.array(bowl.STATES, dtype=object)
    found = []
    for lane in range(states.shape[1]):
        last = int(np.argmax(states[:, lane] == bowl.END)) or len(states)
        own = slice(0, last)
        columns = Columns.by_name({
            "at_ms": at_ms[own], "step_no": states[own, lane] + 1, "flags": np.zeros(last, int),
            "heat_permille": table[bowl.HEAT][own, lane], "target_mc": target[own, lane],
            "product_mc": table[bowl.PRODUCT][own, lane],
            "plate_mc": table[bowl.PLATE][own, lane], "room_mc": table[bowl.ROOM][own, lane]
            if table[bowl.ROOM].ndim == 2 else np.full(last, table[bowl.ROOM][lane]),
            "state": names[states[own, lane]].tolist(),
        })  # fmt: skip
        kind = KINDS[int(bowls.made.kind[lane])]
        low_mc = None if bowls.made.is_seeded[lane] else kind.cool.default_mc
        stir = table[bowl.STIR][own, lane].astype(float)
        found.append(
            Curve(
                columns,
                stir,
                _events(bowls, lane, columns, random),
                kind,
                low_mc,
                round(bowls.made.mass_kg[lane] * 1000),
            )
        )
    return found


def _events(bowls: bowl.Bowls, lane: int, columns: Columns, random: Random) -> list[Event]:
    """What a rig writes: seed asked for; a dip noticed, with the grams asked for, or a press with
    none, a moment after; the true grams where somebody weighed and declared them; the last pour.
    """
    events: list[Event] = []
    asked_s, seeded_s = bowls.asked_s[lane], bowls.seeded_s[lane]
    asked_g = round(bowl.SEED_OF_BOWL * bowls.made.mass_kg[lane] * 1000)
    if not np.isnan(asked_s):
        events.append(Event(1, int(asked_s * 1000), "prompt", SEED_IN, asked_g))
    if not np.isnan(seeded_s):
        events += _seed_told(
            int(seeded_s * 1000), asked_g, float(bowls.made.seed_given_share[lane]), columns,
            random,
        )  # fmt: skip
    poured_s = bowls.poured["at_s"][lane]
    if not np.isnan(poured_s):
        events.append(Event(9, int(poured_s * 1000), "added", POUR, 100))
    return events


def _seed_told(
    put_ms: int, asked_g: int, given_share: float, columns: Columns, random: Random
) -> list[Event]:
    """Declared, noticed, or a press; who put in nothing has nothing to declare."""
    press_ms = put_ms + int(random.uniform(0, PRESS_LATE_MS))
    if random.random() < DECLARED and given_share > 0:
        return [Event(2, press_ms, "added", SEED, round(asked_g * given_share)),
                Event(3, press_ms, "answered", SEED_IN, BY_HOST)]  # fmt: skip
    after = (columns.at_ms > put_ms) & (columns.at_ms <= press_ms)
    before_mc = columns.product_mc[columns.at_ms <= put_ms][-1]
    dipped = after & (columns.product_mc <= before_mc - DIP_MC)
    if dipped.any():
        dip_ms = int(columns.at_ms[dipped.argmax()])
        return [Event(2, dip_ms, "dip", DIP_MC, 33_000), Event(3, dip_ms, "added", SEED, asked_g),
                Event(4, dip_ms, "answered", SEED_IN, NOTICED)]  # fmt: skip
    return [Event(2, press_ms, "answered", SEED_IN, BY_PRESS)]


def _told(made: Batches, lane: int, random: Random) -> dict[str, Any]:
    """What a person measured, each off a little, some not at all; and the trays."""

    def read(name: str, value: float, known: float) -> float | None:
        off = random.normal(0, READ_SD[name])
        return float(value + off) if random.random() < known else None

    humidity = float(np.clip(made.humidity_percent[lane] + random.normal(0, 3), 5, 99))
    store_known = random.random() < STORE_KNOWN
    low, high = sorted(
        float(one[lane] + random.normal(0, READ_SD["store_c"]))
        for one in (made.store_low_c, made.store_high_c)
    )
    told = Told(
        fridge_c=read("fridge_c", made.fridge_c[lane], FRIDGE_KNOWN),
        mould_c=read("mould_c", made.mould_c[lane], MOULD_KNOWN),
        bar_c=read("mould_c", made.fridge_c[lane] + made.turn_out_k[lane], AIR_KNOWN),
        room_c=float(made.room_c[lane]),
        humidity_percent=humidity if random.random() < AIR_KNOWN else None,
        store_low_c=low if store_known else None, store_high_c=high if store_known else None,
        store_humidity_percent=float(np.clip(
            made.store_humidity_percent[lane] + random.normal(0, 3), 5, 99,
        )) if store_known else None,
    )  # fmt: skip
    out_ms = round(made.tray_min[lane] * 60_000)
    trays = [Tray(number, number, out_ms + number) for number in range(int(made.trays[lane]))]
    return signs_told(told, trays)


def _smear(made: Batches, knife: Knife, lane: int, random: Random) -> Smear | None:
    """The knife, where somebody dipped one."""
    if random.random() > DIPPED:
        return None
    set_s = knife.set_s[lane] * np.exp(random.normal(0, 0.1))
    room_mc = int(np.clip(made.room_c[lane], 10, 35) * 1000)
    seconds = None if not 1 <= set_s <= 600 else round(set_s)
    if not np.isnan(set_s) and set_s < 1:
        seconds = 1
    return SmearTest(room_mc, seconds, bool(knife.is_streaked[lane])).result


def result_of(seed: int, found: list[Found], bad: int = BAD) -> dict[str, Any]:
    """The shares and the confusion table."""
    shown = [one for one in found if one.faults and one.marks][:bad]
    well = [one for one in found if not one.faults]
    wanted = [{FAULTS[name][0] for name in one.faults} for one in shown]
    two = [{cause.key for cause in one.causes[:2]} for one in shown]
    pairs = [(w, t) for w, t in zip(wanted, two, strict=True) if len(w) == 2]
    single = [(w, t) for w, t in zip(wanted, two, strict=True) if len(w) == 1]
    table: dict[str, Counter[str]] = defaultdict(Counter)
    for one in shown:
        if len(one.faults) == 1:
            table[one.faults[0]][one.causes[0].key if one.causes else "none"] += 1
    return {
        "simulated": True, "seed": seed, "bad": len(shown), "healthy": len(well),
        "two_faults": len(pairs),
        "borne": sum(bool(one.faults) and not one.marks for one in found),
        "right_share": _share(bool(w & t) for w, t in zip(wanted, two, strict=True)),
        "right_of_one_share": _share(w <= t for w, t in single),
        "right_of_two_share": _share(bool(w & t) for w, t in pairs),
        "both_of_two_share": _share(w <= t for w, t in pairs),
        "right_first_share": _share(
            bool(one.causes) and one.causes[0].key in w
            for one, w in zip(shown, wanted, strict=True)
        ),
        "healthy_quiet_share": _share(not one.causes for one in well),
        "healthy_quiet_if_complained_share": _share(
            not any(cause.sign for cause in one.complained) for one in well
        ),
        "healthy_marked": sum(bool(one.marks) for one in well),
        "confusion": {name: dict(table[name].most_common()) for name in FAULTS if table[name]},
    }  # fmt: skip


def _share(hits: Any) -> float:
    listed = list(hits)
    return round(sum(listed) / len(listed), 4) if listed else 0.0


def has_failed(result: dict[str, Any]) -> bool:
    """True when a bound is missed or there were too few batches."""
    if result["bad"] < BAD or result["healthy"] < HEALTHY:
        return True
    return result["right_share"] < RIGHT_LEAST or result["healthy_quiet_share"] < QUIET_LEAST


def main() -> int:
    """Print the figures; 1 when a bound is missed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--json", action="store_true", help="one JSON object (always so)")
    parser.add_argument("--seed", type=int, default=1)
    result = result_of(parser.parse_args().seed, run(parser.parse_args().seed))
    sys.stdout.write(json.dumps(result, indent=2) + "\n")
    return 1 if has_failed(result) else 0


if __name__ == "__main__":
    sys.exit(main())
