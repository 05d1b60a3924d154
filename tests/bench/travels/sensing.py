"""What a probe makes of a temperature: offset, noise, steps, lost readings, each rig its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from travels.population import Floats, Rigs

BLOCK = 4096


class Sensing:
    """Readings of bowls, once a second. `run` tells one run on a rig from the next: other noise.

    The noise of a rig depends on `seed`, its number and `run` alone, not on what runs beside it.
    """

    def __init__(self, rigs: Rigs, seed: int, runs: NDArray[np.int64]) -> None:
        self._rigs = rigs
        pairs = zip(rigs.index, runs, strict=True)
        self._randoms = [np.random.default_rng([seed, int(k), int(run)]) for k, run in pairs]
        self._at = BLOCK
        self._noise_c = self._lost = np.empty((0, 0))

    def read(self, second_c: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Readings in degC of probes at `second_c`, and which of them are lost."""
        if self._at == BLOCK:
            self._refill()
        rigs, at = self._rigs, self._at
        self._at += 1
        raw_c = second_c + rigs.probe_offset_c + rigs.noise_c * self._noise_c[at]
        return np.round(raw_c / rigs.step_c) * rigs.step_c, self._lost[at] < rigs.lost_share

    def _refill(self) -> None:
        self._at = 0
        self._noise_c = np.array([random.standard_normal(BLOCK) for random in self._randoms]).T
        self._lost = np.array([random.uniform(size=BLOCK) for random in self._randoms]).T
