"""The firmware's own regulator and drive, one of each for a rig, fed as its loop feeds them.

What crosses to the firmware: the label's description (`label.py`), the schedule's steps, readings
and the clock. Interlocks are not in this loop, for they only take power away and have tests of
their own; their bound on the power for a small mass is, for it acts in every batch.
"""

from __future__ import annotations

import inspect
from collections.abc import Sequence

import numpy as np

from rigfw.drive import Drive
from rigfw.journal import Journal
from rigfw.plate import strongest_permille
from rigfw.readings import Readings
from rigfw.regulator import Regulator
from rigwire.messages import MISSING_MC
from travels.label import Label, config_of
from travels.lanes import PASS_MS, Second
from travels.population import Array

CAN_LEARN = "learned" in inspect.signature(Regulator.__init__).parameters


class Board:
    """One rig's firmware. `learned` is what an earlier run on this rig gave back, or None."""

    def __init__(self, label: Label, learned: object = None) -> None:
        config = config_of(label)
        told = {"learned": learned} if CAN_LEARN else {}
        self.regulator = Regulator(config, **told)
        self.drive = Drive(config, Journal())
        self.readings = Readings()
        self._strongest = strongest_permille(config, label.mass_g, 0)
        self.regulator.begin(label.mass_g)
        self._heat = self._fan = 0

    def demand(self, product_mc: int, further_mc: tuple[int, int], target_mc: int, step,
               passed_ms: int) -> None:  # fmt: skip
        """One new reading, `passed_ms` after the last; `further_mc` are plate and room."""
        readings, drive = self.readings, self.drive
        readings.product_mc = product_mc
        readings.plate_mc, readings.room_mc = further_mc
        delivered = min(1000, 1000 * drive.heat_on_ms // passed_ms)
        blown = min(1000, drive.blown_permille_ms // passed_ms)
        drive.heat_on_ms = drive.blown_permille_ms = 0
        self.regulator.demand(readings, target_mc, step, delivered, passed_ms, blown)
        self._heat = min(self.regulator.heat_permille, self._strongest)
        self._fan = self.regulator.fan_permille

    def rest(self) -> None:
        """Hands in the bowl, or the end: no demand."""
        self.regulator.rest()
        self._heat = self._fan = 0

    def power(self) -> tuple[int, int]:
        """Return heater switch (0, 1) and fan (0..1000) for the pass that begins."""
        self.drive.power(self._heat, self._fan, True, PASS_MS)
        outputs = self.drive.outputs
        return outputs.heat_on, outputs.fan_permille


class Firmware:
    """The firmware on every lane of a group."""

    def __init__(self, labels: Sequence[Label], learned: Sequence[object] | None = None) -> None:
        learned = learned or [None] * len(labels)
        self.boards = [Board(*pair) for pair in zip(labels, learned, strict=True)]
        self._is_over = [False] * len(labels)
        self.heat = np.zeros(len(labels))
        self.fan = np.zeros(len(labels))

    def demand(self, second: Second) -> None:
        """Give each lane its reading, where one came."""
        for at, board in enumerate(self.boards):
            if second.at_rest[at]:
                board.rest()
                self._is_over[at] = self.heat[at] == self.fan[at] == 0.0 and second.is_done[at]
            elif second.is_fresh[at]:
                step = second.steps[at]
                further_mc = (int(second.plate_mc[at]), int(second.room_mc[at]))
                board.demand(
                    int(second.product_mc[at]),
                    further_mc,
                    int(second.target_mc[at]),
                    step,
                    int(second.passed_ms[at]),
                )

    def switch(self) -> tuple[Array, Array]:
        """Return heater (0, 1) and fan (0..1) for the pass that begins."""
        for at, board in enumerate(self.boards):
            if not self._is_over[at]:
                self.heat[at], fan_permille = board.power()
                self.fan[at] = fan_permille / 1000.0
        return self.heat.copy(), self.fan.copy()

    def tell_added(self, at: int, grams: int) -> None:
        """A person said that seed went in; a regulator that cannot use it is not told."""
        added = getattr(self.boards[at].regulator, "added", None)
        if added:
            added(grams)

    def learned(self) -> list[object]:
        """Return what each regulator learned, None where it cannot learn."""
        regulators = [board.regulator for board in self.boards]
        return [one.learned() if CAN_LEARN else None for one in regulators]


def no_reading(count: int) -> Array:
    """Return what a probe gives that is not fitted."""
    return np.full(count, MISSING_MC)
