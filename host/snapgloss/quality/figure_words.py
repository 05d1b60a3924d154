"""What a person calls each figure of a batch, with its unit."""

import re
from collections.abc import Iterable

FIGURE_WORDS = {
    "lowest_c": "lowest point, °C",
    "peak_rewarm_c": "peak on the rewarm or after seeding, °C",
    "overshoot_c": "above the working target, °C",
    "minutes_working": "work, min",
    "minutes_in_window": "in the window, min",
    "minutes_under": "under the window, min",
    "minutes_over": "over the window, min",
    "minutes_missing": "work without a reading, min",
    "minutes_unrecorded": "work not recorded, min",
    "minutes_hands_in": "hands in the bowl, min",
    "working_lowest_c": "lowest while working, °C",
    "working_highest_c": "highest while working, °C",
    "longest_gap_s": "longest gap, s",
    "hold_rms_c": "off the target, root mean square, °C",
    "wall_peak_c": "hottest plate in rewarm and work, °C",
    "switch_count": "heat switched",
    "work_began_s": "work began after, s",
    "minutes_total": "from start to end, min",
    "seed_min": "seed in after, min",
    "seed_g": "seed, g",
    "melt_c_per_min": "melt, °C a minute",
    "fall_c_per_min": "cooling, °C a minute",
    "rewarm_c_per_min": "rewarm, °C a minute",
    "pour_minutes": "pouring, min",
    "pour_in_window_share": "share of pouring inside the window",
    "gap_count": "gaps",
    "minutes_lost": "lost in gaps, min",
    "full_heat_min": "full heat, min",
    "energy_wh": "energy, Wh",
    "room_c": "room, °C",
}

STEP_WORDS = {
    "began_s": "began after, s",
    "reached_s": "reached its temperature after, s",
    "ended_s": "ended after, s",
    "reach_min": "until its temperature was reached, min",
    "under_min": "under its band, min",
    "in_min": "inside its band, min",
    "over_min": "over its band, min",
}
DIFFERENCES = (
    "overshoot_c", "hold_rms_c", "melt_c_per_min", "fall_c_per_min", "rewarm_c_per_min",
)  # fmt: skip
"""Figures in °C that tell how far two temperatures lie apart: 1 °C is 1.8 °F, without the 32."""
_STEP = re.compile(r"step_(\d{1,2})_(\w+)")


def is_figure(name: str) -> bool:
    """Whether a batch may have a figure of that name."""
    return bool(words_of(name))


def words_of(name: str, fahrenheit: bool = False) -> str:
    """What a person calls a figure, of a step, too; empty for no figure."""
    step = _STEP.fullmatch(name)
    if step is None:
        words = FIGURE_WORDS.get(name, "")
        return words.replace("°C", "°F") if fahrenheit else words
    words = STEP_WORDS.get(step[2], "")
    return f"step {int(step[1])} {words}" if words else ""


def is_temperature(name: str) -> bool:
    """Whether a figure is a temperature, and no difference of two."""
    return name.endswith("_c") and name not in DIFFERENCES


def is_in_degrees(name: str) -> bool:
    """Whether a figure is a temperature, or a difference of two."""
    return is_temperature(name) or name in DIFFERENCES


def in_f(name: str, value: float) -> float:
    """A figure as a person reads it who thinks in °F; what has no degrees stays as it is."""
    if not is_in_degrees(name):
        return value
    return value * 1.8 + (0 if name in DIFFERENCES else 32)


def in_order(names: Iterable[str]) -> list[str]:
    """Names as the page of figures has them, then step by step."""
    first, kinds = list(FIGURE_WORDS), list(STEP_WORDS)

    def place(name: str) -> tuple[int, int, str]:
        step = _STEP.fullmatch(name)
        if step is None:
            return (0, first.index(name) if name in first else len(first), name)
        return (int(step[1]), kinds.index(step[2]) if step[2] in kinds else len(kinds), name)

    return sorted(names, key=place)
