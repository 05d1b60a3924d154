"""Readings by column, for figures over a whole run: ten thousand readings in a millisecond each.

Whole numbers of milli-degrees, ms and permille are exact as floats (below 2**53).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.records import FLAG_LOGGED, Reading
from snapgloss.quality.spans import GAP_OVER_MS, gap_at_pace_ms

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]
WHOLE = ("at_ms", "step_no", "flags", "heat_permille")
WITH_GAPS = ("target_mc", "product_mc", "plate_mc", "room_mc")
NAMES = (*WHOLE, *WITH_GAPS, "state")
"""The columns there are, by their names in Reading."""
_NONE = tuple(() for _ in Reading._fields)


class Columns:
    """The readings of a run in order, a missing value as NaN: no comparison with it is true.

    `span_ms` is the time a reading stands for, until the next one, 0 for the last; `gap` says
    where that is more than between two readings.
    """

    def __init__(self, readings: Sequence[Reading]) -> None:
        values = list(zip(*readings, strict=True)) or _NONE
        self._fill(dict(zip(Reading._fields, values, strict=True)))

    @classmethod
    def by_name(cls, columns: Mapping[str, Sequence[Any]]) -> Self:
        """Of the columns in NAMES, for which no reading need be made; `room_mc` may be missing,
        which no picture shows."""
        made = cls.__new__(cls)
        made._fill(columns)
        return made

    def _fill(self, columns: Mapping[str, Sequence[Any]]) -> None:
        self.at_ms: Ints = np.array(columns["at_ms"], dtype=np.int64)
        self.step_no: Ints = np.array(columns["step_no"], dtype=np.int64)
        self.flags: Ints = np.array(columns["flags"], dtype=np.int64)
        self.heat_permille: Ints = np.array(columns["heat_permille"], dtype=np.int64)
        self.target_mc: Floats = np.array(columns["target_mc"], dtype=np.float64)
        self.product_mc: Floats = np.array(columns["product_mc"], dtype=np.float64)
        self.plate_mc: Floats = np.array(columns["plate_mc"], dtype=np.float64)
        self.room_mc: Floats = np.array(columns.get("room_mc", ()), dtype=np.float64)
        self.span_ms: Ints = np.diff(self.at_ms, append=self.at_ms[-1:])
        self.gap: Mask = self.span_ms > self._gap_over_ms()
        numbers: defaultdict[str, int] = defaultdict(lambda: len(numbers))
        self._state = np.array([numbers[state] for state in columns["state"]], dtype=np.int64)
        self._numbers = dict(numbers)
        self.states = tuple(numbers)

    def _gap_over_ms(self) -> int:
        if len(self.at_ms) < 2 or not self.flags[0] & FLAG_LOGGED:
            return GAP_OVER_MS
        return gap_at_pace_ms(self.span_ms[:-1].tolist())

    def in_state(self, *states: str) -> Mask:
        """Where the rig was in one of the states."""
        found = np.zeros(len(self.at_ms), dtype=np.bool_)
        for state in states:
            found |= self._state == self._numbers.get(state, -1)
        return found

    def state(self, at: int) -> str:
        """The state of one reading."""
        return self.states[int(self._state[at])]

    def first_ms(self, where: Mask) -> int | None:
        """When the first of the readings was taken that are marked; None when none is."""
        return int(self.at_ms[where.argmax()]) if where.any() else None

    def total_ms(self, where: Mask) -> int:
        """The time that the marked readings stand for, together."""
        return int(self.span_ms[where].sum())

    def start_ms(self) -> int:
        """When the run began: the first reading inside a step, else the first; 0 if none."""
        begun_ms = self.first_ms(self.step_no > 0)
        first_ms = self.at_ms[:1].sum()
        return int(first_ms) if begun_ms is None else begun_ms


def known(values: Floats) -> Floats:
    """The values without those that are missing."""
    return values[~np.isnan(values)]


def highest_c(values_mc: Floats) -> float | None:
    """The highest in degC; None when all are missing."""
    there = known(values_mc)
    return float(there.max()) / 1000 if len(there) else None


def lowest_c(values_mc: Floats) -> float | None:
    """The lowest in degC; None when all are missing."""
    there = known(values_mc)
    return float(there.min()) / 1000 if len(there) else None
