"""How many trays a refrigerator takes at once, by its cooling power.

A balance of heat: what the trays give off until their bars are released must not be more than the
machine carries away beyond its own losses in that time; otherwise its air warms and nothing sets
as planned. Cooling power is of the machine as it stands, warm room and opened door included: a
kitchen refrigerator carries away 50 to 150 W while it runs (from memory), so measure it.
"""

import math
from typing import NamedTuple

from snapgloss.base.errors import InputError

OWN_SHARE = 0.4
"""Of the cooling power, for walls and an opened door (assumption)."""
POWER_MOST_W = 20_000.0


class TrayLoad(NamedTuple):
    """`at_once` trays together, or one more each `each_min` minutes without end.

    `tray_j` heat of one tray until its bars are released; `spare_w` what the machine has for it.
    """

    at_once: int
    each_min: float
    tray_j: float
    spare_w: float


def trays_at_once(
    cooling_w: float, bar_j: float, bars_per_tray: int, released_min: float,
    own_share: float = OWN_SHARE,
) -> TrayLoad:  # fmt: skip
    """Return how many trays go in together, 0 if not even one.

    `cooling_w` over 0; `bar_j` heat of one bar and its mould until released, J;
    `released_min` minutes until then; `own_share` 0..0.95 of the power goes to walls and door.
    """
    if not 0 < cooling_w <= POWER_MOST_W:  # NaN fails this too
        raise InputError(
            f"A refrigerator of {cooling_w:g} W of cooling cannot be.",
            f"Give more than 0 W and at most {POWER_MOST_W:g} W.",
        )
    if bars_per_tray < 1 or bar_j <= 0 or released_min <= 0 or not 0 <= own_share <= 0.95:
        raise InputError("A tray without bars, heat or time cannot be.", "Check the figures.")
    spare_w = cooling_w * (1 - own_share)
    tray_j = bar_j * bars_per_tray
    at_once = math.floor(spare_w * released_min * 60 / tray_j)
    return TrayLoad(at_once, tray_j / spare_w / 60, tray_j, spare_w)
