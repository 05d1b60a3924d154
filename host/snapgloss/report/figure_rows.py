"""The figures of a run as rows of a name and a value, for the table and the picture's head."""

from snapgloss.base.units import show_difference, show_temperature
from snapgloss.quality.words import in_window, of_working, outside, probe_row, show_minutes
from snapgloss.report.picture import RunPicture

LOWEST = "Lowest point"
LOWEST_SEEDED = "Lowest before work"
PEAK_REWARM = "Peak on the rewarm"
PEAK_SEEDED = "Highest after seeding"
OVERSHOOT = "Above the working target by"


def figure_rows(run: RunPicture, fahrenheit: bool) -> list[tuple[str, str]]:
    """The figures a maker asks for, named and with their units."""
    f = run.figures

    def at(celsius: float | None) -> str:
        return show_temperature(None if celsius is None else round(celsius * 1000), fahrenheit)

    def by(kelvin: float | None) -> str:
        return "no reading" if kelvin is None else show_difference(kelvin, fahrenheit, 2)

    window = f"{at(run.row.window_low_mc / 1000)} to {at(run.row.window_high_mc / 1000)}"
    rewarmed = any(step.state == "rewarming" for step in f.steps)
    rows = [
        ("Window for working", window),
        ("In the window", in_window(f)),
        ("Outside it", outside(f) or ("never" if f.minutes_working else "no working time")),
        (LOWEST if rewarmed else LOWEST_SEEDED, at(f.lowest_c)),
        (PEAK_REWARM if rewarmed else PEAK_SEEDED, at(f.peak_rewarm_c)),
        (OVERSHOOT, by(f.overshoot_c)),
        ("Held the target within (rms)", by(f.hold_rms_c)),
        ("Probe", probe_row(run.is_log, fahrenheit, run.probe_mc)),
        ("Longest gap in the record", _gap(f.longest_gap_s)),
    ]
    if not run.is_by_hand:
        rows.insert(7, ("Hottest plate, rewarm and work", at(f.wall_peak_c)))
        rows.append(("Heat switched", f"{f.switch_count} times"))
    if f.energy_wh is not None and not run.is_by_hand:
        rows.append(("Heat used", f"{f.energy_wh:.0f} Wh"))
    if f.room_c is not None:
        rows.append(("Room, on average", at(f.room_c)))
    if f.minutes_hands_in > 0:
        rows.insert(3, ("Hands in the bowl", show_minutes(f.minutes_hands_in)))
    if f.minutes_unrecorded > 0:
        rows.insert(3, ("Of the work not recorded", show_minutes(f.minutes_unrecorded)))
    if f.pour_minutes and f.pour_in_window_share is not None:
        inside = of_working(f.pour_minutes * f.pour_in_window_share, f.pour_minutes)
        rows.insert(2, ("Of the pouring in the window", inside))
    return rows


def _gap(seconds: float) -> str:
    return show_minutes(seconds / 60) if seconds else "none"
