"""May cold bars be turned out now, and if not, when."""

import math
from typing import NamedTuple

from snapgloss.base.units import show_temperature
from snapgloss.chocolate.moist_air import TurnOut, turn_out
from snapgloss.chocolate.setting import bar_of
from snapgloss.chocolate.thaw import warm_minutes

THICKNESS_M = 7e-3
EACH_G = 60


class Answer(NamedTuple):
    """What the air says, and minutes until the bars are warm enough; None where none help."""

    air: TurnOut
    wait_min: float | None

    def words(self, fahrenheit: bool = False) -> str:
        """The answer in a line or two."""
        air = self.air
        dew, safe = (
            show_temperature(round(c * 1000), fahrenheit) for c in (air.dew_c, air.safe_c)
        )
        if air.answer == "not set":
            return "Not set: back into the cold. So warm a bar does not come out of its mould."
        if air.answer == "now":
            return f"Turn out now: the dew point is {dew}."
        if self.wait_min is None:
            return (
                f"Do not turn out: the dew point is {dew}.\n"
                f"A bar stays dry from {safe} on. Dry or cool the room."
            )
        return (
            f"Wait about {math.ceil(self.wait_min)} min, the room is damp: the dew point is "
            f"{dew}.\nTurn out when the bars are at {safe}."
        )


def ask(
    bar_mc: int, room_mc: int, humidity_permille: int, depression_k: float = 0.0,
    each_g: int = EACH_G,
) -> Answer:  # fmt: skip
    """Ask for bars of `each_g` g at `bar_mc` milli-degC, in a room.

    `depression_k`: how far milk fat lowers their melting. Raises InputError for what cannot be.
    """
    bar_c, room_c = bar_mc / 1000, room_mc / 1000
    found = turn_out(bar_c, room_c, humidity_permille / 10, depression_k)
    if found.answer != "wait":
        return Answer(found, None)
    bar = bar_of(each_g, THICKNESS_M, 2 * each_g)
    return Answer(found, warm_minutes(bar, bar_c, found.safe_c, room_c))
