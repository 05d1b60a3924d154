"""How much faster a rig's clock runs than this computer's, from when its readings arrive.

A reading is late by what the line takes, never early. So of each stretch only the reading that
was least late counts, and a line through those is the drift: its slope is the median of all slopes
between two of them (Theil 1950, Sen 1968), which a stretch that was late as a whole does not move.
"""

import statistics
import threading
from itertools import combinations
from typing import NamedTuple

from snapgloss.base.units import show_span

STRETCH_S = 60.0
STRETCHES_MOST = 120  # then two become one: the work stays the same however long a batch is
STRETCHES_LEAST = 5
STOOD_STILL_S = 1.0  # earlier than ever before by so much: this computer slept meanwhile
LEAST_SD_S = 0.0003  # the rig tells whole milliseconds
BOUND_PPM = 500.0
"""Crystals of boards keep within 30 to 100 ppm (from memory); 500 ppm are 1.8 s an hour."""


class Drift(NamedTuple):
    """`ppm` positive: the rig's clock is fast; `doubt_ppm` is one standard deviation."""

    ppm: float
    doubt_ppm: float
    over_s: float

    @property
    def is_beyond(self) -> bool:
        """True when it is surely more than a crystal's."""
        return abs(self.ppm) - 2 * self.doubt_ppm > BOUND_PPM

    @property
    def words(self) -> str:
        """A sentence; the doubt in it is two standard deviations."""
        which = "fast" if self.ppm >= 0 else "slow"
        doubt, span = max(1, 2 * self.doubt_ppm), show_span(round(self.over_s))
        said = (
            f"The rig's clock is {abs(self.ppm):.0f} ppm {which} beside this computer's "
            f"(give or take {doubt:.0f}, over {span})."
        )
        if not self.is_beyond:
            return said
        off_s = abs(self.ppm) * 3600e-6
        return (
            f"{said} That is {off_s:.1f} s an hour, more than a sound board's: have it looked at."
        )


class DriftWatch:
    """Takes the moments of readings that were pushed, from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.begin_anew()

    def begin_anew(self) -> None:
        """Another boot, whose clock began at 0."""
        with self._lock:
            self._forget()

    def _forget(self) -> None:
        self._least: list[tuple[float, float]] = []  # of each stretch: rig's seconds, lateness
        self._stretch_s, self._ends_s = STRETCH_S, float("-inf")

    def take(self, rig_s: float, here_s: float) -> None:
        """A reading of the rig's second `rig_s` arrived at `here_s` of this computer's clock."""
        late_s = here_s - rig_s
        with self._lock:
            if self._least and late_s < self._earliest_s() - STOOD_STILL_S:
                self._forget()
            if rig_s >= self._ends_s:
                self._ends_s = rig_s + self._stretch_s
                self._least.append((rig_s, late_s))
                self._shorten()
            elif late_s < self._least[-1][1]:
                self._least[-1] = (rig_s, late_s)

    def _earliest_s(self) -> float:
        return min(late_s for _, late_s in self._least)

    def _shorten(self) -> None:
        if len(self._least) > STRETCHES_MOST:
            pairs = zip(self._least[:-1:2], self._least[1:-1:2], strict=True)
            self._least = [min(pair, key=lambda one: one[1]) for pair in pairs] + self._least[-1:]
            self._stretch_s *= 2

    def drift(self) -> Drift | None:
        """Return the drift so far; None before some minutes were heard."""
        with self._lock:
            least = list(self._least)
        if len(least) < STRETCHES_LEAST:
            return None
        slopes = [(b - a) / (t - s) for (s, a), (t, b) in combinations(least, 2)]
        slope, over_s = statistics.median(slopes), least[-1][0] - least[0][0]
        rest_s = [late_s - slope * rig_s for rig_s, late_s in least]
        middle_s = statistics.median(rest_s)
        # Of evenly spaced points; 1.4826 makes a median deviation a standard deviation.
        sd_s = 1.4826 * statistics.median(abs(one - middle_s) for one in rest_s)
        doubt = max(sd_s, LEAST_SD_S) * (12 / len(least)) ** 0.5 / over_s
        return Drift(-1e6 * slope / (1 + slope), 1e6 * doubt, over_s)
