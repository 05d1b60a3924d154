"""Plain sentences from figures. They speak of temperatures and times only: whether chocolate is
in temper is for the knife and the bars to say."""

import math

from snapgloss.base.units import show_difference
from snapgloss.quality.figures import RunFigures

PROBE_UNCERTAINTY_MC = 500
"""Of a probe nobody has calibrated: the DS18B20 data sheet gives ±0.5 °C from -10 to +85 °C."""


def verdict(figures: RunFigures) -> str:
    """One sentence, such as "stayed 41 of 42 minutes in the window".

    Rounded so that it never flatters: when any part of the work was outside the window the two
    numbers differ, the time inside rounded down and the whole rounded up. Readings that are
    missing are outside. Time that was not recorded is said apart.
    """
    if figures.minutes_working <= 0:
        return "never came to the working temperature" + _unrecorded(figures)
    return f"stayed {in_window(figures)} in the window" + _unrecorded(figures)


def sentence(said: str) -> str:
    """ "Stayed 41 of 42 minutes in the window." of a verdict; empty for none."""
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def in_window(figures: RunFigures) -> str:
    """ "41 of 42 minutes", rounded as in `verdict`; "no working time" when there was none."""
    return of_working(figures.minutes_in_window, figures.minutes_working)


def of_working(minutes_in_window: float, minutes_working: float) -> str:
    """The same from the two figures alone."""
    whole_s, inside_s = minutes_working * 60, minutes_in_window * 60
    if whole_s <= 0:
        return "no working time"
    inside, whole, unit = _counts(inside_s, whole_s)
    return f"{inside} of {whole} {unit}"


def _counts(inside_s: float, whole_s: float) -> tuple[int, int, str]:
    """Whole minutes, or seconds when the work was under two minutes."""
    size_s, unit = (60, "minutes") if whole_s >= 120 else (1, "seconds")
    if inside_s >= whole_s - 1e-6:
        whole = max(1, round(whole_s / size_s))
        return whole, whole, unit
    return math.floor(inside_s / size_s + 1e-9), math.ceil(whole_s / size_s - 1e-9), unit


def _unrecorded(figures: RunFigures) -> str:
    if figures.minutes_unrecorded <= 0:
        return ""
    return f"; {show_minutes(figures.minutes_unrecorded)} more not recorded"


def outside(figures: RunFigures) -> str:
    """Where the time outside the window went: "6 s under, 2 min over"; empty when none."""
    named = (
        (figures.minutes_under, "under"),
        (figures.minutes_over, "over"),
        (figures.minutes_missing, "without a reading"),
    )
    return ", ".join(f"{show_minutes(minutes)} {word}" for minutes, word in named if minutes > 0)


def show_minutes(minutes: float) -> str:
    """A span for people: seconds under two minutes, else minutes, hours from 100 min on."""
    seconds = minutes * 60
    if seconds < 119.5:
        return f"{max(1, round(seconds))} s" if seconds > 0 else "0 s"
    whole = round(minutes)
    if whole < 100:
        return f"{whole} min"
    return f"{whole // 60} h {whole % 60:02d} min"


def probe_words(uncertainty_mc: int = PROBE_UNCERTAINTY_MC, fahrenheit: bool = False) -> str:
    """How far the probe itself may be off: "probe within ±0.5 °C"; a calibrated one to 0.01 °C."""
    places = 1 if uncertainty_mc == PROBE_UNCERTAINTY_MC else 2
    return f"probe within ±{show_difference(uncertainty_mc / 1000, fahrenheit, places)}"


def probe_row(
    is_log: bool, fahrenheit: bool = False, uncertainty_mc: int = PROBE_UNCERTAINTY_MC
) -> str:
    """How far the probe of a run may be off, for a table; nobody knows a logger's."""
    if is_log:
        return "a logger's, not known how good"
    return probe_words(uncertainty_mc, fahrenheit).removeprefix("probe ")


def probe_caution(low_mc: int, high_mc: int, uncertainty_mc: int = PROBE_UNCERTAINTY_MC) -> str:
    """A sentence for when the probe may be off by half the window or more; else empty."""
    if uncertainty_mc * 2 < high_mc - low_mc:
        return ""
    return (
        "The probe may be off by as much as half the window: check it against a thermometer you "
        "trust, and go by the knife."
    )
