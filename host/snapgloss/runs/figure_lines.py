"""The figures of a run as a person reads them, a label and a value each."""

from collections.abc import Iterator

from snapgloss.base.units import show_difference, show_temperature
from snapgloss.quality.words import of_working, probe_row, show_minutes
from snapgloss.runs.listing import RunDetails

TEMPERATURES = (
    ("lowest_c", "Lowest before work"),
    ("working_lowest_c", "Lowest while working"),
    ("working_highest_c", "Highest while working"),
    ("wall_peak_c", "Plate at most, from the rewarm on"),
)
SPANS = (
    ("minutes_total", "From start to end"),
    ("minutes_under", "Under it"),
    ("minutes_over", "Over it"),
    ("minutes_unrecorded", "Not recorded"),
)
SPREADS = (
    ("overshoot_c", "Above the working target at most"),
    ("hold_rms_c", "Off the target, root mean square"),
)


def figure_lines(details: RunDetails, fahrenheit: bool = False) -> Iterator[tuple[str, str]]:
    """Give a label and a value of each figure that is known; of a run without any, nothing."""
    figures = details.figures
    peak = "Highest after seeding" if details.summary.method == "seeded" else "Peak on the rewarm"
    for name, label in (*TEMPERATURES, ("peak_rewarm_c", peak)):
        value = figures.get(name)
        if value is not None:
            yield label, show_temperature(round(value * 1000), fahrenheit)
    for name, label in SPREADS:
        value = figures.get(name)
        if value is not None:
            yield label, show_difference(value, fahrenheit, 2)
    if figures:
        inside, working = figures.get("minutes_in_window"), figures.get("minutes_working")
        yield "In the window", of_working(inside or 0.0, working or 0.0)
    for name, label in SPANS:
        value = figures.get(name)
        if value:
            yield label, show_minutes(value)
    if figures:
        gap_s = figures.get("longest_gap_s")
        yield "Longest gap in the record", show_minutes(gap_s / 60) if gap_s else "none"
        yield "Probe", probe_row(not details.firmware, fahrenheit, details.probe_mc)
