"""A cooling curve as it comes, reading by reading: when it begins, and when it says enough.

The dip is noticed, nobody has to tap: a probe that was in warm chocolate and then falls. From then
on the curve is read again every LOOK_S, and the answer counts once it holds still.
"""

from __future__ import annotations

import math
from collections import deque
from typing import Literal

from snapgloss.chocolate.curve import CurveFeatures, features_of
from snapgloss.chocolate.curve_readings import COLDEST_C, WARMEST_C, CurveNotUsable

Phase = Literal["waiting", "cooling", "done", "refused"]

WARM_C = 23.0
"""A sample goes in at 28 to 33 °C, or was caught a little later; below this it is a room."""
OUT_C, OUT_RISE_C, OUT_READINGS = 25.0, 3.0, 10
"""So many in a row warmer than this, and risen so far: somebody has taken it out."""
DIP_C, NEAR_C = 1.5, 0.3
"""A fall by DIP_C begins a curve, at the last reading within NEAR_C of the warmest."""
BEFORE_S = 240.0
LOOK_S, FIRST_LOOK_S = 15.0, 180.0
HOLDS_S, HOLDS_R = 60.0, 0.01
"""The set ratio has to stay within HOLDS_R for so long."""
AFTER_TURN = 1.0
"""Time constants behind the turn that have to be seen."""
COLD_C = 20.0
"""A sample that was colder than this has been in the cold."""
GIVE_UP_S = 2700.0


class LiveCurve:
    """One curve at a time. `phase` says how far it is; `words` why it was refused.

    `seconds` and `celsius` hold the curve from the dip on, nan for a missing reading. A curve that
    is done or refused makes room for the next with the next dip. One that never `was_cold` is
    perhaps only a probe that was lifted out.
    """

    def __init__(self, cold_c: float | None = None) -> None:
        self._cold_c = cold_c
        self._begin_anew()

    def _begin_anew(self) -> None:
        self.phase: Phase = "waiting"
        self._lowest_c = math.inf
        self.seconds: list[float] = []
        self.celsius: list[float] = []
        self.features: CurveFeatures | None = None
        self.refusal: CurveNotUsable | None = None
        self._before: deque[tuple[float, float]] = deque()
        self._looked_s = 0.0
        self._ratios: deque[tuple[float, float]] = deque()

    @property
    def was_cold(self) -> bool:
        """True once the sample has been in the cold."""
        return self._lowest_c < COLD_C

    def take(self, at_s: float, celsius: float) -> bool:
        """Take a reading, nan where there is none; True when `phase` has changed.

        `at_s` must rise; CurveNotUsable is never raised here.
        """
        phase = self.phase
        if not COLDEST_C <= celsius <= WARMEST_C:  # nan too
            celsius = math.nan
        if phase != "cooling":
            self._wait(at_s, celsius)
        else:
            self.seconds.append(at_s)
            self.celsius.append(celsius)
            self._lowest_c = min(self._lowest_c, celsius)
            self._look(at_s)
        return self.phase != phase

    def _wait(self, at_s: float, celsius: float) -> None:
        """Look for a dip; a missing reading shows none."""
        before = self._before
        before.append((at_s, celsius))
        while at_s - before[0][0] > BEFORE_S:
            before.popleft()
        peak_c = max((c for _, c in before if not math.isnan(c)), default=0.0)
        if peak_c < WARM_C or not celsius < peak_c - DIP_C:
            return
        begin_s = max(s for s, c in before if c >= peak_c - NEAR_C)
        found = [(s, c) for s, c in before if s >= begin_s]
        self._begin_anew()
        self.phase = "cooling"
        self.seconds, self.celsius = [s for s, _ in found], [c for _, c in found]

    def _look(self, at_s: float) -> None:
        since_s = at_s - self.seconds[0]
        known = [one for one in self.celsius[-3 * OUT_READINGS :] if not math.isnan(one)]
        back_c = min(known[-OUT_READINGS:], default=0.0)
        is_out = back_c > max(OUT_C, self._lowest_c + OUT_RISE_C)
        if is_out or since_s > GIVE_UP_S:
            self.finish()
        elif since_s >= FIRST_LOOK_S and at_s - self._looked_s >= LOOK_S:
            self._looked_s = at_s
            self._try(at_s)

    def _try(self, at_s: float) -> None:
        try:
            found = features_of(self.seconds, self.celsius, self._cold_c)
        except CurveNotUsable:
            self._ratios.clear()
            return
        ratios = self._ratios
        ratios.append((at_s, found.set_ratio))
        while len(ratios) > 1 and at_s - ratios[1][0] >= HOLDS_S:
            ratios.popleft()
        spread = max(r for _, r in ratios) - min(r for _, r in ratios)
        seen_s = at_s - found.turn_s
        holds = at_s - ratios[0][0] >= HOLDS_S and spread <= HOLDS_R
        if holds and seen_s >= AFTER_TURN * found.tau_s:
            self.phase, self.features = "done", found

    def finish(self) -> None:
        """No more readings come: an answer, or why there is none; nothing while it waits."""
        if self.phase != "cooling":
            return
        while self._lowest_c < OUT_C and not self.celsius[-1] <= OUT_C:  # after it came out
            self.seconds.pop()
            self.celsius.pop()
        try:
            self.features = features_of(self.seconds, self.celsius, self._cold_c)
            self.phase = "done"
        except CurveNotUsable as refusal:
            self.phase, self.refusal = "refused", refusal
