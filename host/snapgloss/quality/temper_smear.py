"""The smear test: dip a knife and see how it sets. A maker's first check, the curve beside it.

Sets without streaks in 3 to 5 minutes in a room of 20 to 22 °C: common practice, no source. In
another room the minutes say less, and streaks decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_span, show_temperature

SET_LEAST_S, SET_MOST_S = 180, 300
GIVE_UP_S = 600
ROOM_LOW_MC, ROOM_HIGH_MC = 20_000, 22_000
ROOM_LEAST_MC, ROOM_MOST_MC = 10_000, 35_000

Smear = Literal["good", "streaks", "slow", "early", "not set", "unsure"]


@dataclass(frozen=True, slots=True)
class SmearTest:
    """What the knife showed. `set_s`: seconds until it set, None = not within GIVE_UP_S.

    Raises InputError for a room that is none and for a time that cannot be.
    """

    room_mc: int
    set_s: int | None
    streaks: bool = False

    def __post_init__(self) -> None:
        if not ROOM_LEAST_MC <= self.room_mc <= ROOM_MOST_MC:
            raise InputError(
                f"The room at {show_temperature(self.room_mc)} is not one to judge a knife in.",
                "Measure the room again, or go to one of 20 to 22 °C.",
            )
        if self.set_s is not None and not 0 < self.set_s <= GIVE_UP_S:
            raise InputError(
                f"The knife cannot have set in {show_span(self.set_s)}.",
                "Give the time from the dip, at most 10 min, or never.",
            )

    @property
    def room_suits(self) -> bool:
        """True in a room where the minutes can be judged."""
        return ROOM_LOW_MC <= self.room_mc <= ROOM_HIGH_MC

    @property
    def result(self) -> Smear:
        """What it means: streaks first, then the minutes, and those only in a room that suits."""
        if self.set_s is None:
            return "not set" if self.room_mc <= ROOM_HIGH_MC else "unsure"
        if self.streaks:
            return "streaks"
        if not self.room_suits:
            return "unsure"
        if self.set_s > SET_MOST_S:
            return "slow"
        return "early" if self.set_s < SET_LEAST_S else "good"


WORDS = {
    "good": "Set in {took} at {room} without streaks: as it should.",
    "streaks": "Set in {took} at {room}, with streaks: not in temper; stir, seed or scrape, and "
    "dip again.",
    "slow": "Set only in {took} at {room}: too few crystals; give it more time or seed, and dip "
    "again.",
    "early": "Set already in {took} at {room}: watch for thickening; pour soon.",
    "not set": "Not set in 10 min at {room}: not in temper; seed it, and dip again.",
    "unsure": "{what} at {room}: no room to judge the minutes in; dip again at 20 to 22 °C.",
}


def smear_sentence(test: SmearTest, fahrenheit: bool = False) -> str:
    """One sentence with the figures in it and what to do."""
    took = show_span(test.set_s) if test.set_s is not None else ""
    what = f"Set in {took} without streaks" if took else "Not set in 10 min"
    words = WORDS[test.result]
    if fahrenheit:
        words = words.replace("20 to 22 °C", "68 to 72 °F")
    return words.format(took=took, room=show_temperature(test.room_mc, fahrenheit), what=what)


def guide_lines(room_mc: int, fahrenheit: bool = False) -> list[str]:
    """What to tell a person before the knife is dipped."""
    lines = ["Dip a knife, wipe one side, lay it down away from draught and heat."]
    if not ROOM_LOW_MC <= room_mc <= ROOM_HIGH_MC:
        room = show_temperature(room_mc, fahrenheit)
        best = "68 to 72 °F" if fahrenheit else "20 to 22 °C"
        lines.append(f"The room is at {room}; minutes are judged at {best}, streaks anywhere.")
    return lines


def agreement(test: SmearTest, curve_place: str, borderline: bool) -> str:
    """A sentence when knife and curve differ: the knife is what has been tried; else empty."""
    good = test.result in ("good", "early")
    if test.result == "unsure" or borderline or good == (curve_place == "in"):
        return ""
    if test.result == "early" and curve_place == "over":
        return ""
    return "Knife and curve differ: go by the knife, and keep the curve with the graded bars."
