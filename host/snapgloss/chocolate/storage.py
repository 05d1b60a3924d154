"""How finished chocolate keeps: warmth, swings, damp, odours, and the freezer.

Figures: 18-20 degC and under 50 % of humidity, bloom from 27-32 degC or from swings (Cook,
Encyclopaedia Britannica); 12-20 degC, bloom above 24 (a culinary textbook, 2011). Cycles of 20/33
degC showed bloom by the third and none in 100 days at a steady 20 (Food Structure, abstract). The
limit of a swing is an own choice between the two.
"""

from typing import Literal, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_temperature

WARN_C, ALARM_C = 22.0, 24.0
USUAL_C = (12.0, 20.0)
BEST_MC = (18_000, 20_000)
DAMP_PERCENT, WET_PERCENT = 50.0, 70.0
"""Above 50 % is outside the usual; over 70 % sugar melts in the open (common practice)."""
SWING_WARN_K, SWING_ALARM_K = 3.0, 8.0
"""Between warmest and coolest of a day (own choice; 20 to 29 over 6 h is known to bloom)."""
FREEZING_C = 0.0
FROZEN_OPEN = (
    "Frozen in the open it takes odours and gets wet later. "
    "Wrap it airtight first; thaw it sealed."
)
LOWEST_C, HIGHEST_C = -40.0, 60.0

Level = Literal["well", "warn", "alarm"]
_RANK: dict[Level, int] = {"well": 0, "warn": 1, "alarm": 2}


class Finding(NamedTuple):
    """One thing about a store: `about` one word, `level`, and a sentence for the maker."""

    about: str
    level: Level
    words: str


def judge_store(
    coolest_c: float,
    warmest_c: float,
    humidity_percent: float | None = None,
    odours: bool = False,
    wrapped: bool = False,
    fahrenheit: bool = False,
) -> list[Finding]:
    """Return what is to be said of a store, the worst first; never empty.

    `coolest_c` and `warmest_c` of a day, -40..60; `humidity_percent` over 0 to 100, None = not
    known; `wrapped` airtight. InputError for what cannot be.
    """
    _check(coolest_c, warmest_c, humidity_percent)
    findings = _swing(coolest_c, warmest_c)
    if coolest_c <= FREEZING_C:
        findings += _freezer(wrapped)
    if warmest_c > FREEZING_C:
        findings.append(_warmth(warmest_c, fahrenheit))
    if not wrapped:
        findings += _damp(humidity_percent) + _odour(odours)
    return sorted(findings, key=lambda finding: -_RANK[finding.level])


def worst(findings: list[Finding]) -> Level:
    """Return the worst level of `judge_store`'s answer."""
    return findings[0].level


def _check(coolest_c: float, warmest_c: float, humidity_percent: float | None) -> None:
    if not LOWEST_C <= coolest_c <= warmest_c <= HIGHEST_C:  # NaN fails this too
        raise InputError(
            f"A store of {coolest_c:g} to {warmest_c:g} °C cannot be.",
            f"Give the cooler first, both {LOWEST_C:g} to {HIGHEST_C:g} °C.",
        )
    if humidity_percent is not None and not 0 < humidity_percent <= 100:
        raise InputError(
            f"A humidity of {humidity_percent:g} % cannot be.",
            "Give more than 0 % and at most 100 %.",
        )


def _warmth(warmest_c: float, fahrenheit: bool) -> Finding:
    best = " to ".join(show_temperature(mc, fahrenheit) for mc in BEST_MC)
    if warmest_c >= ALARM_C:
        words = f"Too warm: the fat moves and blooms. Cool it today, to {best}."
        return Finding("warm", "alarm", words)
    if warmest_c >= WARN_C:
        words = f"Warm: it keeps for days, not for months. Aim at {best}."
        return Finding("warm", "warn", words)
    if warmest_c > USUAL_C[1]:
        return Finding("warm", "well", f"Warm enough to watch. {best} is better.")
    return Finding("warm", "well", "Cool enough.")


def _swing(coolest_c: float, warmest_c: float) -> list[Finding]:
    swing_k = warmest_c - coolest_c
    if swing_k >= SWING_ALARM_K:
        return [Finding("swing", "alarm", "It swings: bloom comes by few cycles. Keep it steady.")]
    if swing_k >= SWING_WARN_K:
        return [Finding("swing", "warn", "It swings by day and night. A closed box evens it out.")]
    return []


def _damp(humidity_percent: float | None) -> list[Finding]:
    if humidity_percent is None or humidity_percent <= DAMP_PERCENT:
        return []
    if humidity_percent > WET_PERCENT:
        return [
            Finding("damp", "alarm", "Too damp for open bars: sugar bloom. Wrap them airtight.")
        ]
    return [Finding("damp", "warn", "Damp: wrap the bars, or dry the air to under 50 %.")]


def _odour(odours: bool) -> list[Finding]:
    if not odours:
        return []
    return [Finding("odours", "warn", "Chocolate takes odours: wrap it, or move what smells.")]


def _freezer(wrapped: bool) -> list[Finding]:
    if not wrapped:
        return [Finding("freezer", "alarm", FROZEN_OPEN)]
    return [
        Finding(
            "freezer",
            "well",
            "Thaw it sealed: leave the wrap on until it is as warm as the room.",
        )
    ]
