"""How much seed went in: what was said of it, and the heat that it drew from the chocolate.

A press says that seed is in, not how much; a dip that the rig noticed says the same, with the
grams that were asked for. Only grams that a person declared are a figure.
"""

from collections.abc import Sequence

import numpy as np

from rigwire.tables import ADDITIONS, ANSWERED_BY, PROMPTS
from snapgloss.base.records import Event
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.columns import Columns, Floats

SEED = ADDITIONS.index("seed")
SEED_IN = PROMPTS.index("seed_in")
BY_PEOPLE = tuple(ANSWERED_BY.index(how) for how in ("press", "host", "noticed"))
SEED_C = 20.0
"""Seed lies at the kitchen's temperature where no room was read (assumption)."""
BEFORE_MS, AFTER_MS, LAG_MS = 60_000, 90_000, 8_000
SHIFTS_MS = range(-60_000, 30_001, 10_000)
"""People press a moment after the seed went in, or before."""
LEAST_READINGS = 20


def asked_of(events: Sequence[Event]) -> tuple[int, int] | None:
    """Return when seed was first asked for, in ms, and how many grams; None where it was not."""
    asked = (e for e in events if e.kind == "prompt" and e.a == SEED_IN and e.b > 0)
    return next(((event.at_ms, event.b) for event in asked), None)


def seeded_ms(events: Sequence[Event]) -> int | None:
    """Return when seed went in first: declared, noticed, or answered by a person; else None."""
    said = (event.at_ms for event in events if _is_put_in(event))
    return min(said, default=None)


def declared_share(events: Sequence[Event]) -> float | None:
    """Return declared grams over those asked for, 0 where nobody said that seed is in; None where
    a press or a dip says that it is and nobody said how much."""
    asked = asked_of(events)
    if asked is None:
        return None
    dips = {event.at_ms for event in events if event.kind == "dip"}
    grams = [e.b for e in events if _is_added(e) and e.at_ms not in dips]
    if not grams and seeded_ms(events) is not None:
        return None
    return sum(grams) / asked[1]


def _is_added(event: Event) -> bool:
    return event.kind == "added" and event.a == SEED


def _is_put_in(event: Event) -> bool:
    answered = event.kind == "answered" and event.a == SEED_IN and event.b in BY_PEOPLE
    return answered or _is_added(event)


def drawn_share(
    run: Columns, events: Sequence[Event], kind: ChocolateType, mass_g: int
) -> float | None:
    """Return the heat that the chocolate lost at once as seed was said to be in, over what the
    grams asked for take by a balance of heat; None where it cannot be told.

    Least squares around that moment: the chocolate follows its plate and loses steadily, and falls
    once by a step behind the probe's lag. About 0 without seed. Needs a plate probe.
    """
    asked, at_ms = asked_of(events), seeded_ms(events)
    if asked is None or at_ms is None:
        return None
    near = (run.at_ms >= at_ms + SHIFTS_MS[0] - BEFORE_MS) & (run.at_ms <= at_ms + AFTER_MS)
    near &= ~run.gap & ~np.isnan(run.product_mc) & ~np.isnan(run.plate_mc)
    if np.count_nonzero(near) < LEAST_READINGS:
        return None
    product_c, plate_c = run.product_mc[near] / 1000, run.plate_mc[near] / 1000
    fall_k = _fall_k((run.at_ms[near] - at_ms).astype(float), product_c, plate_c)
    room_c = run.room_mc[near] / 1000 if len(run.room_mc) else np.full(1, np.nan)
    seed_c = SEED_C if np.isnan(room_c).all() else float(np.nanmedian(room_c))
    expected_k = _expected_k(kind, asked[1] / mass_g, float(product_c[0]), seed_c)
    return None if fall_k is None or expected_k <= 0 else fall_k / expected_k


def _fall_k(ms: Floats, product_c: Floats, plate_c: Floats) -> float | None:
    """The step down that explains the readings best, over when it came."""
    best: tuple[float, float] | None = None
    minutes = ms / 60_000
    over_k = np.concatenate([[0.0], np.cumsum((plate_c - product_c)[:-1] * np.diff(minutes))])
    for shift_ms in SHIFTS_MS:
        after_ms = np.maximum(ms - shift_ms, 0.0)
        columns = np.column_stack(
            [np.ones_like(ms), minutes, over_k, np.exp(-after_ms / LAG_MS) - 1.0]
        )
        found, _, rank, _ = np.linalg.lstsq(columns, product_c, rcond=None)
        rest = float(((product_c - columns @ found) ** 2).sum())
        if rank == columns.shape[1] and (best is None or rest < best[0]):
            best = rest, float(found[3])
    return None if best is None else best[1]


def _expected_k(kind: ChocolateType, seed_share: float, at_c: float, seed_c: float) -> float:
    """How far the bowl falls by that share of seed, what of it melts there melted."""
    melting = heat.melted_share(at_c + kind.depression_k)
    melting -= heat.melted_share(seed_c + kind.depression_k)
    after_c = heat.seed_balance(
        1.0, at_c, seed_share, seed_c, melting, specific_j_per_kg_k=kind.specific_heat,
        latent_j_per_kg=heat.latent_heat(kind.fat_share),
    )  # fmt: skip
    return at_c - after_c
