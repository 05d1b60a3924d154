"""The picture of a schedule with its forecast: its steps, the way of the chocolate, the limits."""

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from snapgloss.base.units import show_mass, show_span, show_temperature
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.report import palette as p
from snapgloss.report.axes import bare, set_minutes
from snapgloss.report.planned import LEFT, RIGHT, degrees, name_degrees, sheet
from snapgloss.schedules.bowl import RigHeat
from snapgloss.schedules.forecast import StepForecast, course, forecast, total_minutes
from snapgloss.schedules.model import ScheduleFile

STATES = {"melt": "melting", "rest": "resting", "cool": "cooling", "seed": "seeding",
          "rewarm": "rewarming", "work": "working"}  # fmt: skip
_RIBBON_CHARS = 112
_SEEN_SHARE = 0.008  # of the whole: a shorter step is no wider than a line


def draw_schedule(
    schedule: ScheduleFile, rig: RigHeat, room_c: float, kind: ChocolateType | None = None,
    fahrenheit: bool = False,
) -> Figure:  # fmt: skip
    """Return the picture. Raises what `forecast` raises."""
    rows = forecast(schedule, rig, room_c, kind)
    minutes, celsius = course(schedule, rig, room_c, kind)
    figure = sheet(_title(schedule), _words(schedule, rows, room_c, fahrenheit))
    grid = figure.add_gridspec(
        2, 1, height_ratios=(0.7, 6), hspace=0.06, left=LEFT, right=RIGHT, top=0.85, bottom=0.1
    )
    ribbon, main = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    for axes in (ribbon, main):
        bare(axes)
    _ribbon(ribbon, rows)
    _limits(main, schedule, kind or schedule.chocolate_type, rows, fahrenheit)
    main.plot(
        minutes, [degrees(c, fahrenheit) for c in celsius], color=p.CHOCOLATE.light, linewidth=2.4
    )
    _room(main, room_c, fahrenheit)
    _marks(main, schedule, rows, fahrenheit)
    name_degrees(main, fahrenheit)
    for axes in (ribbon, main):
        set_minutes(axes, total_minutes(rows), labelled=axes is main)
    return figure


def _title(schedule: ScheduleFile) -> str:
    return f"{schedule.chocolate}, {show_mass(schedule.mass_g)}, {schedule.method}"


def _words(
    schedule: ScheduleFile, rows: list[StepForecast], room_c: float, fahrenheit: bool
) -> str:
    room = show_temperature(round(room_c * 1000), fahrenheit)
    pour_min = total_minutes(rows[:-1]) + rows[-1].reach_min
    seed = f", {show_mass(schedule.seed_g)} of seed" if schedule.seed_g else ""
    after = show_span(round(pour_min) * 60)
    return f"Ready to pour after {after} in a room of {room}{seed}"


def _ribbon(axes: Axes, rows: list[StepForecast]) -> None:
    """Named steps side by side; a name too long for its step stands upright."""
    axes.set_ylim(0, 1)
    axes.set_yticks([])
    begun, whole, number = 0.0, total_minutes(rows), 0
    for row in rows:
        if row.minutes < whole * _SEEN_SHARE:
            continue
        face = (p.STEP_A, p.STEP_B)[number % 2].light
        axes.axvspan(begun, begun + row.minutes, facecolor=face, edgecolor="none")
        words = STEP_WORDS.get(STATES[row.kind], row.kind)
        upright = row.minutes / whole * _RIBBON_CHARS < len(words) + 1
        axes.text(
            begun + row.minutes / 2, 0.5, words, ha="center", va="center", color=p.INK.light,
            size=7.5 if upright else 9.5, rotation=90 if upright else 0,
        )  # fmt: skip
        begun, number = begun + row.minutes, number + 1


def _limits(
    axes: Axes, schedule: ScheduleFile, kind: ChocolateType, rows: list[StepForecast],
    fahrenheit: bool,
) -> None:  # fmt: skip
    """The window over the whole width; cap and wall from where crystals are in the bowl."""
    low, high = (
        degrees(mc / 1000, fahrenheit) for mc in (schedule.window.low_mc, schedule.window.high_mc)
    )
    axes.axhspan(low, high, facecolor=p.WINDOW.light, edgecolor="none", zorder=0)
    axes.text(0.012, (low + high) / 2, "window", transform=axes.get_yaxis_transform(),
              va="center", size=9.5, color=p.WINDOW_INK.light)  # fmt: skip
    from_min, whole = _crystals_from(schedule, rows), total_minutes(rows)
    wall = degrees(kind.wall_mc / 1000, fahrenheit)
    axes.plot([from_min, whole], [wall, wall], color=p.PLATE.light, linewidth=1.4)
    axes.annotate(
        f"wall at most {show_temperature(kind.wall_mc, fahrenheit)}", (whole, wall), ha="right",
        va="bottom", xytext=(0, 3), textcoords="offset points", size=9, color=p.PLATE.light,
    )  # fmt: skip


def _crystals_from(schedule: ScheduleFile, rows: list[StepForecast]) -> float:
    """Minutes from the start until crystals are in the bowl: the seed, the low point, or 0."""
    if schedule.method == "kept":
        return 0.0
    if schedule.method == "seeded":
        at = next(i for i, row in enumerate(rows) if row.kind == "seed")
        return total_minutes(rows[:at]) + rows[at].reach_min
    low = min(step.target_mc for step in schedule.steps if step.kind == "cool")
    at = next(i for i, step in enumerate(schedule.steps) if step.target_mc == low)
    return total_minutes(rows[:at]) + rows[at].reach_min


def _room(axes: Axes, room_c: float, fahrenheit: bool) -> None:
    room = degrees(room_c, fahrenheit)
    axes.axhline(room, color=p.RULE.light, linewidth=1.0)
    axes.annotate(
        "room", (1, room), xycoords=axes.get_yaxis_transform(), ha="right", va="bottom",
        xytext=(0, 2), textcoords="offset points", size=9, color=p.QUIET.light,
    )  # fmt: skip


def _marks(axes: Axes, schedule: ScheduleFile, rows: list[StepForecast], fahrenheit: bool) -> None:
    """A dot with its temperature where each target is reached; nothing where it stays the same."""
    begun, before = 0.0, None
    for number, (step, row) in enumerate(zip(schedule.steps, rows, strict=True)):
        if step.target_mc != before:
            at = degrees(step.target_mc / 1000, fahrenheit)
            later = [one.target_mc for one in schedule.steps[number + 1 :]]
            low = bool(later) and max(later) > step.target_mc
            axes.plot([begun + row.reach_min], [at], "o", markersize=6, color=p.CHOCOLATE.light)
            axes.annotate(
                show_temperature(step.target_mc, fahrenheit), (begun + row.reach_min, at),
                xytext=(5, -15 if low else 8), textcoords="offset points", size=9.5,
                color=p.INK.light,
            )  # fmt: skip
        before = step.target_mc
        begun += row.minutes
    low_end, high_end = axes.get_ylim()
    axes.set_ylim(low_end, high_end + 0.08 * (high_end - low_end))
