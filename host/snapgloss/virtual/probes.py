"""The simulated probes as elements: each follows what surrounds it with a lag of its own."""

from __future__ import annotations

from snapgloss.virtual.flows import lag_share
from snapgloss.virtual.hazards import PlantFaults
from snapgloss.virtual.setup import PlantSetup

AIR_LAG = 6.0
"""A probe in still air lags this many times more than in chocolate (assumption)."""


class Probes:
    """Chocolate, plate and room probe; what the converters make of them is `sensors`' affair."""

    __slots__ = (
        "_dry",
        "_dt_s",
        "_faults",
        "_lag_factor",
        "_plate",
        "_plate_c",
        "_product_c",
        "_setup",
        "_wet",
    )

    def __init__(self, setup: PlantSetup, faults: PlantFaults, start_c: float) -> None:
        self._setup = setup
        self._faults = faults
        self._product_c = self._plate_c = start_c
        self._dt_s = 0.0
        self._lag_factor = 1.0
        self._wet = self._dry = self._plate = 1.0

    def step(
        self, dt_s: float, product_c: float, plate_c: float, room_c: float, in_air: bool = False
    ) -> None:
        """Follow for `dt_s` (exact for a first-order lag and a constant surrounding).

        `product_c` is what surrounds the chocolate probe, unless it hangs `in_air`.
        """
        faults = self._faults
        if dt_s != self._dt_s or faults.probe_lag_factor != self._lag_factor:
            self._take_step(dt_s)
        self._plate_c += (plate_c - self._plate_c) * self._plate
        if faults.probe_frozen:
            return
        if faults.probe_out or in_air:
            self._product_c += (room_c - self._product_c) * self._dry
        else:
            self._product_c += (product_c - self._product_c) * self._wet

    def _take_step(self, dt_s: float) -> None:
        self._lag_factor = self._faults.probe_lag_factor
        lag_s = self._setup.probe_lag_s * self._lag_factor
        self._wet = lag_share(dt_s, lag_s)
        self._dry = lag_share(dt_s, AIR_LAG * lag_s)
        self._plate = lag_share(dt_s, self._setup.plate_lag_s)
        self._dt_s = dt_s

    def product_c(self) -> float | None:
        """The chocolate probe, with its offset; None when it does not answer."""
        faults = self._faults
        if faults.probe_missing:
            return None
        if faults.probe_forced_c is not None:
            return faults.probe_forced_c
        return self._product_c + self._setup.probe_offset_c + faults.probe_shift_k

    def plate_c(self) -> float | None:
        """The plate probe; None when it does not answer."""
        return None if self._faults.plate_probe_missing else self._plate_c

    def room_c(self, room_c: float) -> float | None:
        """The room probe; None when it does not answer."""
        return None if self._faults.room_probe_missing else room_c
