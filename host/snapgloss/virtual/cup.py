"""The simulated sample: a few grams of the bowl's chocolate in a tube, cooling in a cold block.

The person fills the tube a minute after work began, once a batch (common practice, no source).
The sample is one body with the bowl's crystals in it, at rest; its probe hangs in the room before.
"""

from __future__ import annotations

from snapgloss.chocolate.crystals import Crystals
from snapgloss.chocolate.heat import melting_depression, specific_heat
from snapgloss.virtual.flows import lag_share
from snapgloss.virtual.plant import Plant

SAMPLE_G = 12.0
COOLING_S = 240.0
"""Time constant of 12 g in a tube of 18 mm in a block with its film (assumption: 3 to 5 min)."""
TUBE_SHARE = 0.08
"""Heat the tube holds over that of the sample: 3 g of thin steel (assumption)."""
PROBE_LAG_S = 12.0
FILL_AFTER_MS = 60_000
"""From the moment work begins."""
STEP_S = 0.25
"""One tick; a longer span is cut."""


class Cup:
    """The tube and its probe; `probe_c` is what the element has, degC."""

    def __init__(self, plant: Plant, cold_c: float) -> None:
        self._plant = plant
        self._cold_c = cold_c
        self._crystals: Crystals | None = None
        self._working_since_ms: int | None = None
        self.sample_c = self.probe_c = plant.room_c
        self._lag = lag_share(STEP_S, PROBE_LAG_S)

    def attend(self, at_ms: int, is_working: bool, is_off: bool) -> None:
        """What the person does with the tube: fill it once in a batch, empty it after."""
        if is_off:
            self._working_since_ms = self._crystals = None
        elif is_working and self._working_since_ms is None:
            self._working_since_ms = at_ms
        since_ms = self._working_since_ms
        if self._crystals is None and since_ms is not None and at_ms - since_ms == FILL_AFTER_MS:
            self._fill()

    def _fill(self) -> None:
        bowl = self._plant.crystals
        self.sample_c = self._plant.product_c
        self._crystals = Crystals(
            bowl.v, bowl.u, bowl.n, melting_depression(self._plant.setup.milk_fat_share)
        )
        self._plant.remove(SAMPLE_G)

    def advance(self, dt_s: float) -> None:
        """Let `dt_s` (>= 0) pass in steps of STEP_S at most."""
        while dt_s > 0.0:
            step_s = min(dt_s, STEP_S)
            self._step(step_s)
            dt_s -= step_s

    def _step(self, dt_s: float) -> None:
        if self._crystals is None:
            self.sample_c = self._plant.room_c
        else:
            fat = self._plant.setup.fat_share
            heat_j_per_k = specific_heat(fat) * (1.0 + TUBE_SHARE)
            set_j = fat * self._crystals.step(dt_s, self.sample_c, 0.0)
            share = dt_s / COOLING_S
            warmed_c = self.sample_c + set_j / heat_j_per_k
            self.sample_c = (warmed_c + share * self._cold_c) / (1.0 + share)
        lag = self._lag if dt_s == STEP_S else lag_share(dt_s, PROBE_LAG_S)
        self.probe_c += (self.sample_c - self.probe_c) * lag
