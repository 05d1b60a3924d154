"""From so many bars to so much chocolate in the bowl, and how warm the moulds should be.

Shares of waste and of what stays behind are common practice, no source.
"""

import math
from typing import NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature

SECONDS_SHARE = 0.05
"""Of the bars poured: streaks, bubbles, broken corners."""
SCRAPING_SHARE, SCRAPING_LEAST_G = 0.03, 40
"""Of the batch: what stays on bowl, stirrer and scraper."""
PIECES_MOST, CAVITIES_MOST = 10_000, 500
PIECE_G = (1, 1000)
LOSS_MOST = 0.5
ROUND_UP_G = 10

COLD_MC, BEST_LOW_MC, BEST_HIGH_MC, WARM_MC = 20_000, 22_000, 26_000, 27_000
"""20 to 27 degC, never hotter than the chocolate (published general guidance and practice)."""


class MouldPlan(NamedTuple):
    """Bars wanted and poured, moulds, and the grams that the bowl must hold."""

    pieces: int
    piece_g: int
    cavities: int
    poured: int
    moulds: int
    spare_cavities: int
    chocolate_g: int
    scraping_g: int

    @property
    def batch_g(self) -> int:
        """Return grams in the bowl, up to the next 10."""
        return math.ceil((self.chocolate_g + self.scraping_g) / ROUND_UP_G) * ROUND_UP_G


def show_moulds(count: int) -> str:
    """Return "1 mould" or "7 moulds"."""
    return "1 mould" if count == 1 else f"{count} moulds"


def plan_moulds(
    pieces: int,
    piece_g: int,
    cavities: int,
    seconds_share: float = SECONDS_SHARE,
    scraping_share: float = SCRAPING_SHARE,
) -> MouldPlan:
    """Return what to pour for so many good bars of `piece_g` g in moulds of so many cavities.

    Shares 0..0.5: `seconds_share` of the bars poured are not good, `scraping_share` of the bowl
    stays behind (at least 40 g unless 0 is asked for). InputError for what cannot be.
    """
    _check(pieces, piece_g, cavities, seconds_share, scraping_share)
    poured = math.ceil(round(pieces / (1 - seconds_share), 9))
    moulds = math.ceil(poured / cavities)
    chocolate_g = poured * piece_g
    scraping_g = math.ceil(round(chocolate_g * scraping_share / (1 - scraping_share), 9))
    if scraping_share > 0:
        scraping_g = max(scraping_g, SCRAPING_LEAST_G)
    spare = moulds * cavities - poured
    return MouldPlan(pieces, piece_g, cavities, poured, moulds, spare, chocolate_g, scraping_g)


def judge_mould(mould_mc: int, chocolate_mc: int, fahrenheit: bool = False) -> tuple[bool, str]:
    """Return whether a mould of that temperature may be filled, and a sentence why, milli-degC."""
    shown = show_temperature(mould_mc, fahrenheit)
    if mould_mc > chocolate_mc:
        return False, f"A mould of {shown} is hotter than the chocolate and kills its temper."
    if mould_mc > WARM_MC:
        return False, f"A mould of {shown} is too warm: the bar sets slowly and may stick."
    if mould_mc < COLD_MC:
        return False, f"A mould of {shown} is too cold: a dull skin sets at once, with bubbles."
    if not BEST_LOW_MC <= mould_mc <= BEST_HIGH_MC:
        low, high = (show_temperature(mc, fahrenheit) for mc in (BEST_LOW_MC, BEST_HIGH_MC))
        return True, f"A mould of {shown} can be filled; {low} to {high} is better."
    return True, f"A mould of {shown} is right."


def _check(
    pieces: int, piece_g: int, cavities: int, seconds_share: float, scraping_share: float
) -> None:
    if not 1 <= pieces <= PIECES_MOST:
        raise InputError(f"{pieces} bars cannot be planned.", f"Give 1 to {PIECES_MOST}.")
    if not PIECE_G[0] <= piece_g <= PIECE_G[1]:
        raise InputError(
            f"A bar of {show_mass(piece_g)} cannot be planned.",
            f"Give {PIECE_G[0]} g to {show_mass(PIECE_G[1])}.",
        )
    if not 1 <= cavities <= CAVITIES_MOST:
        raise InputError(
            f"A mould of {cavities} cavities cannot be.", f"Give 1 to {CAVITIES_MOST}."
        )
    for share, what in ((seconds_share, "seconds"), (scraping_share, "what stays in the bowl")):
        if not 0 <= share <= LOSS_MOST:  # NaN fails this too
            raise InputError(
                f"{share * 100:g} % for {what} cannot be planned.",
                f"Give 0 % to {LOSS_MOST * 100:g} %.",
            )
