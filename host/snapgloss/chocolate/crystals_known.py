"""Every figure of the crystal model with its status: known, assumed, or to be fitted."""

from __future__ import annotations

from typing import Literal, NamedTuple

from snapgloss.chocolate.crystals import (
    DEFAULT_RATES,
    LATENT_U_J_PER_KG,
    LATENT_V_J_PER_KG,
    MELT_U_C,
    MELT_V_C,
    CrystalRates,
)
from snapgloss.chocolate.heat import MILK_FAT_K_PER_PERCENT
from snapgloss.chocolate.observer import FORGET_C, SWAP_S, WALL_SHARE

BATCHES = "within 1.5 °C from batch to batch"
Status = Literal["known", "assumed", "to be fitted", "fitted"]


class Figure(NamedTuple):
    """One figure: its value with the unit, its status, and how far it may be off, or whence."""

    name: str
    value: str
    status: Status
    words: str


def figures(
    rates: CrystalRates = DEFAULT_RATES,
    fitted_sd: float | None = None,
    fat: tuple[float, str, bool] | None = None,
) -> list[Figure]:
    """Return the figures; `fitted_sd` is the standard error of log growth once it is fitted.

    `fat`: the share of the chocolate (0..1) that growth was fitted with, where it comes from in
    words, and whether it is known.
    """
    growth: Status = "to be fitted" if fitted_sd is None else "fitted"
    sure = "by cooling curves" if fitted_sd is None else f"±{100 * fitted_sd:.0f} %, by curves"
    return [
        *([] if fat is None else [_fat(*fat)]),
        Figure("melting of form V", f"{MELT_V_C:g} °C", "known", BATCHES),
        Figure("melting of form IV", f"{MELT_U_C:g} °C", "known", BATCHES),
        Figure("heat of form V", f"{LATENT_V_J_PER_KG / 1e3:g} kJ/kg fat", "known", "±10 %"),
        Figure("heat of form IV", f"{LATENT_U_J_PER_KG / 1e3:g} kJ/kg fat", "known",
               "±10 %, from memory"),
        Figure("milk fat lowers by", f"{MILK_FAT_K_PER_PERCENT:g} K per 1 %", "assumed",
               "0.066 to 0.10"),
        Figure("what can be set", "a table over temperature", "assumed",
               "±5 points, from memory"),
        Figure("growth of form V", f"{rates.grow_v:.2f} per min", growth, sure),
        Figure("its exponents", "1.5, 1/3, 2/3", "assumed", "kept fixed"),
        Figure("form V by stirring", f"{rates.nucleate_v:g} per min", "to be fitted",
               "by batches without seed; by practice until then"),
        Figure("growth of form IV", f"{rates.grow_u:g} per min", "assumed", "matters below 22 °C"),
        Figure("birth of form IV", f"{rates.nucleate_u:g} per min", "assumed",
               "matters below 22 °C"),
        Figure("form IV to V", f"{rates.convert:g} per min", "assumed", "order of magnitude"),
        Figure("melting", f"{rates.melt_v:g} per min and K", "assumed", "weakly known"),
        Figure("wall layer", f"{100 * WALL_SHARE:g} %, renewed in {SWAP_S:g} s", "assumed",
               "nothing measured"),
        Figure("forgotten", f"from {FORGET_C:g} °C for 5 min", "assumed", "common practice"),
    ]  # fmt: skip


def _fat(share: float, words: str, is_known: bool) -> Figure:
    return Figure("fat", f"{100 * share:.3g} %", "known" if is_known else "assumed", words)
