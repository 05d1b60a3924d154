"""The simulated stirrer: what turns, and how blocks of set chocolate jam it."""

from __future__ import annotations

BLOCKS_SHARE = 0.25
"""From this share of the fat in big blocks on, they lie against the stirrer (assumption)."""
JAM_S = 12.0
"""Blocks jam a stirrer that is driven for so long; in pulses it frees itself (assumption)."""


class Stirrer:
    """`turn` gives what really turns. `jams` counts; a jam lasts until the drive is let go.

    `is_turning` is what a tachometer on its shaft says."""

    __slots__ = ("_driven_s", "is_jammed", "is_turning", "jams")

    def __init__(self) -> None:
        self.jams = 0
        self.is_jammed = self.is_turning = False
        self._driven_s = 0.0

    def turn(self, dt_s: float, drive: float, block_share: float) -> float:
        """Share (0..1) of full stirring at `drive` (0..1), with so much of the fat in blocks."""
        if drive <= 0.0:
            self._driven_s = 0.0
            self.is_jammed = self.is_turning = False
            return 0.0
        self._driven_s = self._driven_s + dt_s if block_share > BLOCKS_SHARE else 0.0
        if not self.is_jammed and self._driven_s > JAM_S:
            self.is_jammed = True
            self.jams += 1
        self.is_turning = not self.is_jammed
        return drive if self.is_turning else 0.0
