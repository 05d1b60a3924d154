"""A rig in commissioning, and the person at it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from rigfw.commissioned import UNPROVED_W
from snapgloss.base.errors import LinkError
from snapgloss.base.person import Person
from snapgloss.link.client import RigLink
from snapgloss.rigs.description import RigDescription
from snapgloss.runs.commission_drive import Drive, Told, whole
from snapgloss.runs.leases import StepPlan

WATER_J_PER_KG_K = 4186.0  # at 15 degC, by the old definition of the calorie (from memory)
PLATE_MC = 60_000
STUCK_S = 3600


def held_of(rig: RigDescription) -> float:
    """Return J/K of 1 kg of water in the bowl of a rig, bowl and plate included."""
    from snapgloss.rigs.sizing_heat import BOWL_J_PER_K

    return WATER_J_PER_KG_K + BOWL_J_PER_K + rig.plate_j_per_k


class Hands(Person, Protocol):
    """The person at the rig. `pulls_cable` False: the port is let go, all the same to the rig."""

    pulls_cable: bool

    def begin(self, key: str) -> None:
        """A step begins: what the last one changed is put right again."""
        ...


class PassedOverError(Exception):
    """The person passes the step over, in the midst of what the rig measures."""


@dataclass
class Place:
    """A rig, the person at it, and how to open its link anew.

    `held_j_per_k` is the heat capacity of what is in the bowl, bowl and plate included. `remark`
    is what a measure has to say beside its figure.
    """

    link: RigLink
    hands: Hands
    rig: RigDescription
    reopen: Callable[[], RigLink]
    held_j_per_k: float
    stuck_s: int = STUCK_S
    remark: str = ""

    def drive(self, key: str, heat_permille: int, most_s: int = 120, **more: int) -> Told:
        """Heat and stir within a press, and tell the person when to act."""
        plan = StepPlan(heat_permille, 0, 200, PLATE_MC, most_s)
        act = self.actor(key) if key else None
        return whole(Drive(self.link, plan, self.hands, act, **more).run(), key)

    def actor(self, key: str) -> Callable[[], None]:
        """What tells the person that it is time to do what the step says."""
        return lambda: self._act(key)

    def figure(self, words: str, unit: str) -> float:
        """What an instrument shows. Raises PassedOverError."""
        found = self.hands.figure(words, unit)
        if found is None:
            raise PassedOverError
        return found

    def _act(self, key: str) -> None:
        self.hands.act(key)
        if key == "cable_out" and not self.hands.pulls_cable:
            self.link.close()
            raise LinkError("The cable is out.", "Plug it in again.")

    def low_permille(self) -> int:
        """The share of this heater that an unproved rig gets anyway."""
        return min(1000, UNPROVED_W * 1000 // self.rig.heater_w)
