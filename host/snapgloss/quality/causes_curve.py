"""What the record of a bowl shows that may be the cause of bad bars: figures, each with the
stretch of the curve it was read from. None is a verdict; the rules of causes.toml weigh them."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from rigwire.tables import ADDITIONS
from snapgloss.base.records import Event
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.causes_seed import asked_of, declared_share, drawn_share, seeded_ms
from snapgloss.quality.columns import Columns, Floats, Mask
from snapgloss.quality.observe_run import WALL_OF_PLATE

POUR = ADDITIONS.index("pour")
IN_CRYSTALS = ("seeding", "rewarming", "working")
ERASED_MC = 40_000
"""A melt forgets from here on (common practice; van Langevelde et al. 2001 for the memory)."""
STILL_PERMILLE = 100
LEAST_READINGS = 60
FULL_FAN_OVER_MC = 36_000
"""Above, a cooling bowl has all of the fan; nearer its target the rig gives less."""
NEAR_LOW_MC = 500
"""So far over its lowest the chocolate still counts as at its low point (own choice)."""
MINUTE_MS = 60_000


class Sign(NamedTuple):
    """One figure and where on the curve it was read, device ms of the run; None where it was
    told, not read."""

    value: float
    from_ms: int | None = None
    to_ms: int | None = None


class Usual(NamedTuple):
    """What a rig shows in its good batches: see `habits`."""

    plate_k: float
    gap_k: float
    fan_share: float


class Curve(NamedTuple):
    """A recorded bowl: readings by column and the stirrer's share of each, events in order, what
    chocolate it is, and its low point in milli-degC (None: seeded, or kept in temper)."""

    run: Columns
    stir_permille: Floats
    events: Sequence[Event]
    kind: ChocolateType
    low_mc: int | None
    mass_g: int


def signs_of(curve: Curve, usual: Usual | None) -> dict[str, Sign]:
    """Return the figures that this record gives, by name; what cannot be told is not in it.

    `usual` is what the same rig showed in its good batches; without it nothing is compared.
    """
    found = {name: sign for name, read in READERS.items() if (sign := read(curve)) is not None}
    return {**found, **_against(curve, usual)}


def _stretch(run: Columns, where: Mask, value: float) -> Sign:
    """The value, with the first and last reading that are marked."""
    at = np.flatnonzero(where)
    if not len(at):
        return Sign(value)
    return Sign(value, int(run.at_ms[at[0]]), int(run.at_ms[at[-1]] + run.span_ms[at[-1]]))


def _seen(run: Columns) -> Mask:
    """Where the chocolate was read, gaps left out."""
    seen: Mask = ~run.gap & ~np.isnan(run.product_mc)
    return seen


def _in_temper(curve: Curve) -> Mask:
    """Where crystals are in the bowl: from the seed or the low point on, and from when it first
    was under its cap: seed goes in over it."""
    run = curve.run
    inside = run.in_state(*IN_CRYSTALS) & _seen(run)
    put_ms = seeded_ms(curve.events)
    if put_ms is not None:
        inside &= run.at_ms >= put_ms
    under_ms = run.first_ms(inside & (run.product_mc <= curve.kind.cap_mc))
    return inside & (run.at_ms >= (0 if under_ms is None else under_ms))


def _excess(curve: Curve, where: Mask, over_mc: Floats) -> Sign:
    """Kelvin times minutes over a limit; its stretch is where the limit was passed."""
    run = curve.run
    over = where & (over_mc > 0)
    return _stretch(run, over, float((over_mc * run.span_ms)[over].sum()) / 1000 / MINUTE_MS)


def melted_min(curve: Curve) -> Sign | None:
    """Minutes that the melt was hot enough to forget old crystals."""
    run = curve.run
    melt = run.in_state("melting", "resting") & _seen(run)
    if not melt.any():
        return None
    hot = melt & (run.product_mc >= ERASED_MC)
    return _stretch(run, hot if hot.any() else melt, run.total_ms(hot) / MINUTE_MS)


def _low(curve: Curve) -> tuple[float, Mask] | None:
    """The lowest chocolate of a bowl that is to go down to a low point, and where it lay."""
    run = curve.run
    down = run.in_state("cooling", "seeding", "rewarming") & _seen(run)
    if curve.low_mc is None or np.count_nonzero(down) < LEAST_READINGS:
        return None
    lowest_mc = float(np.quantile(run.product_mc[down], 0.02))
    return lowest_mc, down & (run.product_mc <= lowest_mc + NEAR_LOW_MC)


def low_over_k(curve: Curve) -> Sign | None:
    """How far over its low point the chocolate stayed."""
    low = _low(curve)
    if low is None or curve.low_mc is None:
        return None
    return _stretch(curve.run, low[1], (low[0] - curve.low_mc) / 1000)


def dwell_min(curve: Curve) -> Sign | None:
    """Minutes near the lowest point."""
    low = _low(curve)
    return None if low is None else _stretch(curve.run, low[1], curve.run.total_ms(low[1]) / 6e4)


def seed_share(curve: Curve) -> Sign | None:
    """Seed that went in, as a share of what was asked for, as far as somebody said so."""
    asked, share = asked_of(curve.events), declared_share(curve.events)
    if asked is None or share is None:
        return None
    put_ms = seeded_ms(curve.events)
    return Sign(share, asked[0], asked[0] + 5 * MINUTE_MS if put_ms is None else put_ms)


def seed_drawn_share(curve: Curve) -> Sign | None:
    """Heat that went as the seed was said to be in, over what all of it would have taken."""
    share = drawn_share(curve.run, curve.events, curve.kind, curve.mass_g)
    put_ms = seeded_ms(curve.events)
    if share is None or put_ms is None:
        return None
    return Sign(max(share, 0.0), put_ms - MINUTE_MS, put_ms + 2 * MINUTE_MS)


def seed_over_k(curve: Curve) -> Sign | None:
    """How far over its highest seeding temperature the chocolate was as the seed went in."""
    run, put_ms = curve.run, seeded_ms(curve.events)
    if put_ms is None or not (before := _seen(run) & (run.at_ms <= put_ms)).any():
        return None
    last = int(np.flatnonzero(before)[-1])
    over_k = (float(run.product_mc[last]) - curve.kind.seed_high_mc) / 1000
    return Sign(over_k, int(run.at_ms[last]), int(run.at_ms[last]) + 2 * MINUTE_MS)


def over_cap_k_min(curve: Curve) -> Sign | None:
    """Kelvin times minutes over the cap with crystals in the bowl."""
    inside = _in_temper(curve)
    if not inside.any():
        return None
    return _excess(curve, inside, curve.run.product_mc - curve.kind.cap_mc)


def wall_over_k_min(curve: Curve) -> Sign | None:
    """The same of the bowl's wall over its limit; None without a plate probe."""
    run = curve.run
    wall_mc = run.product_mc + WALL_OF_PLATE * (run.plate_mc - run.product_mc)
    inside = _in_temper(curve) & ~np.isnan(wall_mc)
    return _excess(curve, inside, wall_mc - curve.kind.wall_mc) if inside.any() else None


def _work(curve: Curve) -> Mask:
    """Work until the last pour, or to the end where none was told."""
    work = curve.run.in_state("working") & _seen(curve.run)
    poured_ms = [e.at_ms for e in curve.events if e.kind == "added" and e.a == POUR]
    return work & (curve.run.at_ms <= poured_ms[-1]) if poured_ms else work


def under_work_k_min(curve: Curve) -> Sign | None:
    """Kelvin times minutes under the usual working range, until the last pour."""
    work = _work(curve)
    under_mc = curve.kind.work.low_mc - curve.run.product_mc
    return _excess(curve, work, under_mc) if work.any() else None


def work_min(curve: Curve) -> Sign | None:
    """Minutes in work until the last pour."""
    run, work = curve.run, _work(curve)
    return _stretch(run, work, run.total_ms(work) / MINUTE_MS) if work.any() else None


def still_min(curve: Curve) -> Sign | None:
    """Minutes without stirring from the low point or the seed until the work begins; None where
    no stirrer was ever on, as on a stone."""
    run = curve.run
    if not (curve.stir_permille >= STILL_PERMILLE).any():
        return None
    wanted = run.in_state("seeding", "rewarming") & ~run.gap
    still = wanted & (curve.stir_permille < STILL_PERMILLE)
    return _stretch(run, still, run.total_ms(still) / MINUTE_MS) if wanted.any() else None


def room_c(curve: Curve) -> Sign | None:
    """The room from the cooling on, of a bowl that is to come down to a low point in it."""
    run = curve.run
    if curve.low_mc is None:
        return None
    seen = run.in_state("cooling", *IN_CRYSTALS) & ~np.isnan(run.room_mc)
    return _stretch(run, seen, float(np.median(run.room_mc[seen])) / 1000) if seen.any() else None


READERS: dict[str, Callable[[Curve], Sign | None]] = {
    read.__name__: read
    for read in (
        melted_min, low_over_k, dwell_min, seed_share, seed_drawn_share, seed_over_k,
        over_cap_k_min, wall_over_k_min, under_work_k_min, work_min, still_min,
        room_c,
    )
}  # fmt: skip


def habits(curve: Curve) -> tuple[Usual, Mask, Mask] | None:
    """What the rig itself showed: in the working hold the plate over the chocolate without heat
    (`plate_k`) and more at full heat (`gap_k`), a line through both; `fan_share`: of the distance
    to the room that a kilo of chocolate loses in a minute of full fan. None where nobody can tell.
    """
    run = curve.run
    held = run.in_state("working", "rewarming") & _seen(run) & ~np.isnan(run.plate_mc)
    held &= (run.heat_permille > 0) & (run.product_mc <= curve.kind.cap_mc)
    blown = run.in_state("cooling") & _seen(run) & (run.heat_permille == 0)
    blown &= ~np.isnan(run.room_mc) & (run.product_mc > FULL_FAN_OVER_MC)
    if min(np.count_nonzero(held), np.count_nonzero(blown)) < LEAST_READINGS:
        return None
    line = _line(run.heat_permille[held] / 1000, (run.plate_mc - run.product_mc)[held] / 1000)
    over_k = (run.product_mc - run.room_mc)[blown] / 1000
    if line is None or over_k.min() <= 0.5:
        return None
    fan = _line(run.at_ms[blown] / MINUTE_MS, np.log(over_k))
    return None if fan is None else (Usual(*line, -fan[1] * curve.mass_g / 1000), held, blown)


def _line(x: Floats, y: Floats) -> tuple[float, float] | None:
    """Where the line of least squares lies at 0, and its slope."""
    spread = x - x.mean()
    if not (spread**2).sum():
        return None
    slope = float((spread * y).sum() / (spread**2).sum())
    return float(y.mean()) - slope * float(x.mean()), slope


def _against(curve: Curve, usual: Usual | None) -> dict[str, Sign]:
    """The rig now against its good batches: probe against probe, stirring, fan."""
    now = habits(curve)
    if now is None or usual is None:
        return {}
    shown, held, blown = now
    run = curve.run
    plate_k = shown.plate_k - usual.plate_k
    return {
        "probe_high_k": _stretch(run, held, -plate_k),
        "probe_low_k": _stretch(run, held, plate_k),
        "gap_share": _stretch(run, held, shown.gap_k / usual.gap_k - 1),
        "fan_lost_share": _stretch(run, blown, 1 - shown.fan_share / usual.fan_share),
    }
