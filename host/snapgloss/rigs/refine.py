"""What a logged batch says of the regulator's own parameters: its learned record, refined.

The regulator learns reading by reading, once. The host has the whole log: least squares over
it, with the regulator's own model (`bowl_model`) and its own doubt of a description, find what
one pass by a filter cannot, since plate, probe and element follow one another and only the shape
of many seconds tells them apart. The result is the record that the regulator itself would keep,
with how its numbers hang together. A fit that does not explain its log is refused, and the rig
keeps what it has learned by itself.
"""

from array import array
from typing import Any, NamedTuple, cast

import numpy as np

from rigfw import memory, model
from rigfw.config import RigConfig
from rigfw.model import ALL, ELEMENT, GAIN, PLATE, PROBE, SECOND, SIGMA, STATES
from snapgloss.base.errors import InputError
from snapgloss.rigs import bowl_model
from snapgloss.rigs.bowl_model import BEGIN, KNOT_S, KNOTS, LEARNED, PLATE_PART
from snapgloss.rigs.heat_model import Array, Log

_memory: Any = memory  # untyped, for it runs on a board as well
NOISE_C = 0.03
"""DS18B20: steps of 0.0625 and as much again for its noise (assumption)."""
LABEL_SD = 0.04
"""Of a heater's watts on its label, the logarithm (own choice)."""
MAINS_SD = 0.028
"""Mains that wander by 4 % to either side (assumption), over minutes and over the batch."""
MAINS_S = (400.0, 1200.0)
BEGIN_SD = (3.0, 8.0, 2.0, 1.0, 0.5)
PART, PART_SD = 0.6, 0.12
LEAST_C = 34.5
"""Melted chocolate sets nothing above the stable form's melting."""
LEAST_S = 600
LEAST_MOVE_C = 5.0
STARTS = ((0.0, 0.0), (0.6, -0.55), (-0.4, 0.6), (0.6, 0.6), (-0.4, -0.55))
"""Plate and probe change places in a worse fit that is a dead end: so many begins."""
SHORT, LONG, BEST = 5, 40, 2
NUDGE = 1e-4
MOST_RMS_C = 0.06
MOST_SPREAD = 12.0
TOGETHER_S = 30
WIDER = 1.3
"""A fit is surer than it should be, mostly where it takes a plate for hotter than it is (own
choice)."""


class Refined(NamedTuple):
    """`figures` is the regulator's record (`rigfw.memory`); `rms_c` of readings about the fit;
    `spread` how much more its half minutes are off than noise alone would be."""

    figures: "array[float]"
    rms_c: float
    spread: float


class _Asked(NamedTuple):
    """One log and rig: readings, `weights` and `mean` of what is known before, bounds."""

    config: RigConfig
    mass_g: int
    log: Log
    mean: Array
    weights: Array
    low: Array
    high: Array


class _Found(NamedTuple):
    """Unknowns, twice the cost, slopes and what is off, each in sigmas."""

    sets: Array
    cost: float
    slopes: Array
    off: Array


def refine(log: Log, config: RigConfig) -> Refined:
    """Return the record that this log teaches on a rig that its board has as `config`.

    Raises InputError when the log is too short or too even, or the fit does not explain it.
    """
    log = _liquid(log)
    asked = _asked(log, config)
    begins = [_begun(asked.mean, *start) for start in STARTS]
    tries = sorted((_fitted(asked, one, SHORT) for one in begins), key=lambda one: one.cost)
    best = min((_fitted(asked, one.sets, LONG) for one in tries[:BEST]), key=lambda one: one.cost)
    off_c = best.off[: int(np.isfinite(log.product_c).sum())] * NOISE_C
    rms_c, spread = float(np.sqrt(np.mean(off_c**2))), _spread(off_c)
    if rms_c > MOST_RMS_C or spread > MOST_SPREAD:
        raise InputError(
            f"The readings lie {rms_c:.3f} °C about the best fit: something else went on.",
            "Nothing to do: the rig keeps what it learned by itself.",
        )
    inverse = np.linalg.inv(best.slopes.T @ best.slopes)
    cov: Array = WIDER**2 * spread * inverse[:PLATE_PART, :PLATE_PART].astype(np.float64)
    figures = _record(best.sets, cov)
    if not _memory.is_sound(figures):
        raise InputError("The fit is out of every range.", "The rig keeps what it learned itself.")
    return Refined(figures, rms_c, spread)


def _liquid(log: Log) -> Log:
    """The log down to where nothing sets yet."""
    sets = np.flatnonzero(log.product_c < LEAST_C)
    end = int(sets[0]) if len(sets) else len(log.product_c)
    known = log.product_c[:end][np.isfinite(log.product_c[:end])]
    if len(known) < LEAST_S or np.ptp(known) < LEAST_MOVE_C:
        raise InputError(
            f"There is too little to learn from: {len(known)} readings of liquid chocolate.",
            f"A run needs {LEAST_S // 60} min and {LEAST_MOVE_C:g} °C: melt and cool once.",
        )
    return log._replace(
        product_c=log.product_c[:end], heat=log.heat[:end], fan=log.fan[:end],
        room_c=log.room_c[:end],
    )  # fmt: skip


def _asked(log: Log, config: RigConfig) -> _Asked:
    mass_g = round(1000 * log.mass_kg)
    knots = bowl_model.knots_of(len(log.heat))
    count = KNOTS + knots
    mean = np.zeros(count)
    first_c = float(np.nanmean(log.product_c[:5]))
    mean[PLATE_PART] = PART
    mean[BEGIN:KNOTS] = first_c + 1.0, 3.0, -1.0, -0.3, float(log.heat[:30].mean())
    weights = np.zeros((count, count))
    weights[:PLATE_PART, :PLATE_PART] = _whitened(_prior(config, mass_g))
    weights[PLATE_PART:KNOTS, PLATE_PART:KNOTS] = np.diag(1.0 / np.array([PART_SD, *BEGIN_SD]))
    weights[KNOTS:, KNOTS:] = _whitened(_mains(knots))
    low, high = np.full(count, -np.inf), np.full(count, np.inf)
    for name in (PLATE, PROBE, ELEMENT):
        at = LEARNED.index(name)
        low[at], high[at] = -0.75, 1.6
    at = LEARNED.index(SECOND)
    low[at], high[at] = -0.2, 0.4
    low[PLATE_PART], high[PLATE_PART] = 0.2, 0.9
    return _Asked(config, mass_g, log, mean, weights, low, high)


def _prior(config: RigConfig, mass_g: int) -> Array:
    """The regulator's own doubt of a description, but that a label is better known."""
    described: Any = model.Model  # untyped, for it runs on a board as well
    rates = described(config)
    rates.begin(mass_g)
    p = [[0.0] * ALL for _ in range(ALL)]
    rates.prior(p)
    p[GAIN][GAIN] += LABEL_SD**2 - SIGMA[GAIN - STATES] ** 2
    return np.array(p)[np.ix_(LEARNED, LEARNED)]


def _mains(knots: int) -> Array:
    at_s = np.arange(knots) * KNOT_S
    apart = (at_s[:, None] - at_s) ** 2
    parts = [np.exp(-0.5 * apart / span_s**2) / len(MAINS_S) for span_s in MAINS_S]
    near: Array = MAINS_SD**2 * (sum(parts) + 1e-3 * np.eye(knots))
    return near


def _whitened(cov: Array) -> Array:
    whitened: Array = np.linalg.inv(np.linalg.cholesky(cov))
    return whitened


def _begun(mean: Array, plate: float, probe: float) -> Array:
    begun = mean.copy()
    begun[LEARNED.index(PLATE)] = plate
    begun[LEARNED.index(PROBE)] = probe
    return begun


def _look(asked: _Asked, at: Array) -> _Found:
    """Cost and slopes there."""
    log = asked.log
    sets = at + NUDGE * np.vstack([np.zeros(len(at)), np.eye(len(at))])
    rates = bowl_model.rates_of(asked.config, asked.mass_g, sets)
    there = np.isfinite(log.product_c)
    model_c = bowl_model.readings_of(sets, rates, log.heat, log.fan)[there]
    off = np.concatenate([
        (model_c[:, 0] - log.product_c[there]) / NOISE_C, asked.weights @ (at - asked.mean),
    ])  # fmt: skip
    slopes = (model_c[:, 1:] - model_c[:, :1]) / (NUDGE * NOISE_C)
    return _Found(at, float(off @ off), np.vstack([slopes, asked.weights]), off)


def _fitted(asked: _Asked, begin: Array, most: int) -> _Found:
    """Levenberg and Marquardt's way down from `begin`, no further than the bounds."""
    best, damping = _look(asked, begin), 1e-3
    for _ in range(most):
        found = _look(asked, _next(asked, best, damping))
        if found.cost >= best.cost:
            damping *= 5.0
            if damping > 1e6:
                break
            continue
        is_flat = best.cost - found.cost < 0.02 and damping < 0.01
        best, damping = found, max(damping / 8.0, 1e-7)
        if is_flat:
            break
    return best


def _next(asked: _Asked, best: _Found, damping: float) -> Array:
    normal, down = best.slopes.T @ best.slopes, best.slopes.T @ best.off
    low, high = (best.sets <= asked.low) & (down > 0), (best.sets >= asked.high) & (down < 0)
    free = ~(low | high)
    within = normal[np.ix_(free, free)]
    after = best.sets.copy()
    after[free] -= np.linalg.solve(within + damping * np.diag(np.diag(within)), down[free])
    return np.clip(after, asked.low, asked.high)


def _spread(off_c: Array) -> float:
    """Return how much more half minutes are off than white noise would be, 1 at the least."""
    whole = len(off_c) // TOGETHER_S * TOGETHER_S
    means = off_c[:whole].reshape(-1, TOGETHER_S).mean(axis=1)
    return max(1.0, float(np.mean(means**2)) * TOGETHER_S / NOISE_C**2)


def _record(sets: Array, cov: Array) -> "array[float]":
    x, p = [0.0] * ALL, [[0.0] * ALL for _ in range(ALL)]
    for row, name in enumerate(LEARNED):
        x[name] = float(sets[row])
        for column, other in enumerate(LEARNED):
            p[name][other] = float(cov[row, column])
    taken: array[float] = _memory.taken(x, p)
    return taken


class _Kept(NamedTuple):
    """What `rigfw.memory` needs of a regulator."""

    figures: "array[float]"

    def learned(self) -> "array[float]":
        return self.figures


class _Page:
    """What `rigfw.memory` needs of a board."""

    record = b""

    def write(self, name: str, data: bytes) -> bool:
        self.record = data if name == _memory.NAME else b""
        return True


def record_of(config: RigConfig, figures: "array[float]") -> bytes:
    """Return the bytes of the board's own record of these figures, bound to its description."""
    page, untyped = _Page(), cast(Any, config)
    _memory.Memory(page, untyped.to_text()).keep_of(_Kept(figures))
    return page.record
