"""The picture of a pour clock: the day as lanes, the moments as words."""

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from snapgloss.base.clock_times import show_time
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.planned import RIGHT, sheet
from snapgloss.report.schedule_picture import STATES
from snapgloss.schedules.planning import Plan
from snapgloss.schedules.pouring import PourClock

LANES = ("bowl", "moulds", "refrigerator", "pour")
_HEIGHT = 0.62
_TOP, _ROWS = -0.65, 4  # rows of words above the first lane
_CHARS = 118  # fit side by side
_TICKS_MIN = (10, 15, 20, 30, 60, 120)
_MOST_TICKS = 10


def draw_pour(clock: PourClock, plan: Plan, title: str) -> Figure:
    """Return the picture of a day; `title` such as "48 bars of 60 g at 10:00"."""
    figure = sheet(title, _words(clock), height=5.5)
    axes = figure.add_axes((0.115, 0.12, RIGHT - 0.115, 0.68))
    bare(axes)
    first, last = clock.moments[0].at_min, max(m.at_min for m in clock.moments)
    margin = 0.03 * (last - first)
    axes.set_xlim(first - margin, last + margin)
    axes.set_ylim(len(LANES) - 0.4, _TOP - 0.5 * _ROWS)
    axes.set_yticks(range(len(LANES)), LANES)
    axes.tick_params(axis="y", labelsize=10.5, labelcolor=p.INK.light)
    _hours(axes, first, last)
    _bowl(axes, clock, plan)
    _beside(axes, clock)
    _moments(axes, clock)
    return figure


def _words(clock: PourClock) -> str:
    told = f"Filling takes {clock.pour_min:.0f} min; it stays pourable for about "
    return f"{told}{clock.good_min:.0f} min (estimate)"


def _hours(axes: Axes, first: float, last: float) -> None:
    step = next((s for s in _TICKS_MIN if (last - first) / s <= _MOST_TICKS), _TICKS_MIN[-1])
    ticks = range(int(first // step + 1) * step, int(last) + 1, step)
    axes.set_xticks(list(ticks), [show_time(t)[:5] for t in ticks])
    for tick in ticks:
        axes.axvline(tick, color=p.RULE.light, linewidth=0.7, zorder=0)


def _bar(
    axes: Axes, lane: str, begin: float, end: float, colour: p.Colour, words: str = "",
    ink: p.Colour = p.INK,
) -> None:  # fmt: skip
    row = LANES.index(lane)
    axes.barh(row, end - begin, _HEIGHT, begin, color=colour.light, linewidth=0)
    left, right = axes.get_xlim()
    if words and (end - begin) / (right - left) * _CHARS > len(words) + 1:
        box = {"boxstyle": "square,pad=0.1", "facecolor": colour.light, "edgecolor": "none"}
        axes.text((begin + end) / 2, row, words, ha="center", va="center", size=9, zorder=4,
                  color=ink.light, bbox=box)  # fmt: skip


def _bowl(axes: Axes, clock: PourClock, plan: Plan) -> None:
    """Steps from the plug on; the head start is drawn as part of the melt."""
    begin = clock.at("plug in")
    at = clock.at("pour") - plan.pour_at_min
    for number, row in enumerate(plan.rows):
        end = at + row.minutes
        if row.kind == "work":
            end = clock.at("pour") + max(clock.good_min, clock.pour_min)
        colour = (p.STEP_A, p.STEP_B)[number % 2]
        _bar(axes, "bowl", begin, end, colour, STEP_WORDS.get(STATES[row.kind], row.kind))
        begin = at = end


def _beside(axes: Axes, clock: PourClock) -> None:
    pour, filled = clock.at("pour"), clock.at("last mould")
    _bar(axes, "moulds", clock.at("moulds out"), pour, p.STEP_A, "out, polished, warmed")
    _bar(axes, "moulds", pour, filled, p.STEP_B, "filled")
    _bar(axes, "refrigerator", clock.at("refrigerator on"), pour, p.STEP_A, "cooling down")
    out = [moment.at_min for moment in clock.moments if moment.key == "last out"]
    _bar(axes, "refrigerator", pour, out[0] if out else filled, p.FAN, "bars set", p.PAPER)
    good = pour + clock.good_min
    _bar(axes, "pour", pour, min(filled, good), p.WINDOW_INK, "filling", p.PAPER)
    if filled > good:
        _bar(axes, "pour", good, filled, p.OVER, "thick", p.PAPER)
    else:
        _bar(axes, "pour", filled, good, p.WINDOW, "still pourable", p.WINDOW_INK)


MARKS = {"plug in": "plug in", "moulds out": "moulds out, refrigerator on", "seed": "seed in",
         "pour": "pour", "thick": "thick from here", "last mould": "last mould",
         "last out": "last turned out"}  # fmt: skip


def _moments(axes: Axes, clock: PourClock) -> None:
    """Time and words over the lanes, each in the lowest row where it meets no other.

    They begin at their line, or end at it where the picture ends.
    """
    left, right = axes.get_xlim()
    ends = [left - 1.0] * _ROWS
    for moment in clock.moments:
        if moment.key not in MARKS:
            continue
        words = f"{show_time(moment.at_min)[:5]} {MARKS[moment.key]}"
        width = (len(words) + 1) * (right - left) / _CHARS
        fits = moment.at_min + width <= right
        begin = moment.at_min if fits else moment.at_min - width
        row = next((n for n in range(_ROWS) if begin > ends[n]), _ROWS - 1)
        ends[row] = begin + width
        height = _TOP - 0.45 * row
        axes.plot([moment.at_min] * 2, [height, len(LANES) - 0.6], color=p.CHOCOLATE.light,
                  linewidth=1.0, zorder=3)  # fmt: skip
        axes.text(
            moment.at_min, height, words, ha="left" if fits else "right", va="center",
            size=9.5, color=p.INK.light, zorder=5,
            bbox={"boxstyle": "square,pad=0.15", "facecolor": p.PAPER.light, "edgecolor": "none"},
        )  # fmt: skip
