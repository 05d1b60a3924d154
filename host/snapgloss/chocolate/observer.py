"""The crystals of a bowl as its log lets them be guessed: stable, unstable, and number of seeds.

Two bodies follow `crystals`: the bulk at the chocolate's temperature, and the thin layer at the
wall at the wall's, where seed dies first; stirring swaps chocolate between them. What was in the
bowl before is not known until it has been forgotten: FORGET_C for FORGET_S. Until then, and after
a hole in the log, every figure is nan.

An **estimate** in every case: for whom it is worth anything, see `observer_fit`. Nothing about
heat or safety may look at it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from snapgloss.base.errors import InputError
from snapgloss.chocolate.crystals import DEFAULT_RATES, CrystalRates, Crystals, swap

Floats = NDArray[np.float64]

FORGET_C, FORGET_S = 40.0, 300.0
"""Hot enough and long enough to erase what was there before (common practice, no source; memory
just above the melting point: van Langevelde et al. 2001)."""
LONGEST_HOLE_S = 120.0
"""A reading stands for no longer than this."""
STEP_S, LEAST_STEP_S = 2.0, 1.5
"""Longest step; readings that come closer together are taken two at a time."""
WALL_SHARE = 0.04
"""Of the chocolate is wall layer (assumption)."""
BULK_SHARE = 1 - WALL_SHARE
SWAP_S, SWAP_STILL_S = 6.0, 15.0
"""The wall layer is renewed so often, stirred and at rest (assumption)."""
LOST_SHARE, THICK_SHARE = 0.2, 0.05
"""Seed counts as lost below a fifth of its peak; over 5 % of the fat the bowl thickens."""
NOTHING = (math.nan, math.nan, math.nan)


class Addition(NamedTuple):
    """Chocolate put in: `share` of all that is in the bowl then, `stable` share of its fat set."""

    at_s: float
    share: float
    stable: float


class Observed(NamedTuple):
    """Shares of the fat at each reading, nan where nothing is known; `n` as in `crystals`."""

    seconds: Floats
    v: Floats
    u: Floats
    n: Floats

    @property
    def seed_lost_s(self) -> float | None:
        """When the number of seeds fell below a fifth of its peak, None when it never did."""
        peak = 0.0
        for at_s, n in zip(self.seconds, self.n, strict=True):
            peak = max(peak, 0.0 if math.isnan(n) else n)
            if n < LOST_SHARE * peak:
                return float(at_s)
        return None

    @property
    def thick_s(self) -> float | None:
        """When more than 5 % of the fat had set stably, None when it never had."""
        thick = np.flatnonzero(self.v > THICK_SHARE)
        return float(self.seconds[thick[0]]) if len(thick) else None


class Observer:
    """Follows one bowl, step by step: live or over a log. `is_known` says whether figures count.

    `depression_k` by milk fat; `start` is the stable share (0..1) of a bowl in temper, None where
    nobody knows what is in it.
    """

    def __init__(
        self,
        depression_k: float = 0.0,
        rates: CrystalRates = DEFAULT_RATES,
        start: float | None = None,
    ) -> None:
        if start is not None and not 0 <= start <= 1:
            raise InputError(f"{start:g} is no share of the fat.", "Give one between 0 and 1.")
        self._bulk = Crystals(start or 0.0, depression_k=depression_k, rates=rates)
        self._wall = Crystals(start or 0.0, depression_k=depression_k, rates=rates)
        self._hot_s = 0.0
        self.is_known = start is not None
        self.freed_j_per_kg = 0.0
        """Heat set free so far, J per kg of fat; less where crystals melted."""

    def forget(self) -> None:
        """What is in the bowl is not known any more: readings are missing."""
        self.is_known = False
        self._hot_s = 0.0

    def step(
        self, dt_s: float, product_c: float, wall_c: float | None = None, shear: float = 0.0
    ) -> None:
        """Advance by `dt_s` (0..2 s) at these temperatures; no `wall_c`: the wall as the bulk."""
        bulk, wall = self._bulk, self._wall
        if not self.is_known:
            self._hot_s = self._hot_s + dt_s if product_c >= FORGET_C else 0.0
            if self._hot_s < FORGET_S:
                return
            self.is_known = True
            for one in (bulk, wall):
                one.v = one.u = one.n = 0.0
        at_wall_c = product_c if wall_c is None else wall_c
        self.freed_j_per_kg += BULK_SHARE * bulk.step(
            dt_s, product_c, shear
        ) + WALL_SHARE * wall.step(dt_s, at_wall_c, shear)
        swap_s = SWAP_S if shear >= 1.0 else SWAP_STILL_S + (SWAP_S - SWAP_STILL_S) * shear
        swap(bulk, BULK_SHARE, wall, WALL_SHARE, WALL_SHARE * dt_s / swap_s)

    def add(self, share: float, stable: float) -> None:
        """Stir in chocolate; see Addition. Its crystals are as many seeds as they have mass."""
        for one in (self._bulk, self._wall):
            one.v += share * (stable - one.v)
            one.u -= share * one.u
            one.n += share * (stable - one.n)

    def figures(self) -> tuple[float, float, float]:
        """Return v, u and n of the whole bowl; nan where nothing is known."""
        if not self.is_known:
            return NOTHING
        bulk, wall = self._bulk, self._wall
        return (
            BULK_SHARE * bulk.v + WALL_SHARE * wall.v,
            BULK_SHARE * bulk.u + WALL_SHARE * wall.u,
            BULK_SHARE * bulk.n + WALL_SHARE * wall.n,
        )

    def bound_j_per_kg(self) -> float:
        """Latent heat given off by what is set now, J per kg of fat."""
        bulk, wall = self._bulk.bound_j_per_kg(), self._wall.bound_j_per_kg()
        return BULK_SHARE * bulk + WALL_SHARE * wall


def observe(
    seconds: ArrayLike,
    product_c: ArrayLike,
    wall_c: ArrayLike,
    shear: ArrayLike,
    additions: Sequence[Addition] = (),
    observer: Observer | None = None,
) -> Observed:
    """Return what the crystals of a logged bowl were, by the model.

    `seconds` rising; `product_c` and `wall_c` in degC, nan where unknown (without a wall the bulk
    stands for it); `shear` 0..1, the stirrer's share; all equally long. `observer` brings rates,
    milk fat and start. Raises InputError for arrays that do not fit together.
    """
    at_s, *columns = _columns(seconds, product_c, wall_c, shear)
    watch = observer or Observer()
    rows: list[tuple[float, float, float]] = []
    left = sorted(additions, reverse=True)
    stepped_s = seen_s = float(at_s[0]) if len(at_s) else 0.0
    last: tuple[float, float | None, float] | None = None
    table = zip(at_s.tolist(), *(one.tolist() for one in columns), strict=True)
    for now_s, chocolate_c, at_wall_c, stirred in table:
        is_added = bool(left) and left[-1].at_s <= now_s
        if now_s - stepped_s < LEAST_STEP_S and rows and not is_added:
            rows.append(rows[-1])
            continue
        if last is not None:
            _pass(watch, now_s - stepped_s, *last)
        while left and left[-1].at_s <= now_s:
            one = left.pop()
            watch.add(one.share, one.stable)
        stepped_s = now_s
        if chocolate_c == chocolate_c:  # noqa: PLR0124 - nan is not itself; isnan takes longer
            known_wall = at_wall_c == at_wall_c  # noqa: PLR0124
            last, seen_s = (chocolate_c, at_wall_c if known_wall else None, stirred), now_s
        elif now_s - seen_s > LONGEST_HOLE_S:
            watch.forget()
        rows.append(watch.figures())
    v, u, n = np.array(rows).reshape(-1, 3).T
    return Observed(at_s, v, u, n)


def _columns(*given: ArrayLike) -> list[Floats]:
    """The columns as arrays, of one length, times rising; stirring is 0..1 and known."""
    at_s, *others = (np.asarray(one, dtype=float) for one in given)
    if at_s.ndim != 1 or any(one.shape != at_s.shape for one in others):
        raise InputError("The columns of this log are not equally long.", "Give one value a row.")
    if not np.all(np.isfinite(at_s)) or np.any(np.diff(at_s) <= 0):
        raise InputError("The times of this log do not rise.", "Give the rows in order of time.")
    return [at_s, *others[:-1], np.clip(np.nan_to_num(others[-1]), 0.0, 1.0)]


def _pass(
    watch: Observer, span_s: float, chocolate_c: float, wall_c: float | None, stirred: float
) -> None:
    """Let the time since the last reading pass, in steps of STEP_S at most."""
    if span_s > LONGEST_HOLE_S:
        watch.forget()
        return
    while span_s > 0.0:
        step_s = span_s if span_s < STEP_S else STEP_S
        watch.step(step_s, chocolate_c, wall_c, stirred)
        span_s -= step_s
