"""The picture of a pour clock: the day as lanes, the moments as words."""

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from snapgloss.base.clock_times import show_time
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.marks import Mark, Place, rows_of
from snapgloss.report.planned import RIGHT, sheet
from snapgloss.report.schedule_picture import STATES
from snapgloss.schedules.planning import Plan
from snapgloss.schedules.pouring import PourClock

LANES = ("bowl", "moulds", "refrigerator", "pour")
_HEIGHT = 0.62
_TOP, _ROW = -0.65, 0.45  # of the words above the first lane: the lowest row, and from row to row
_LANE_INCH, _HEAD_INCH, _FOOT_INCH = 0.6, 1.0, 0.66
_CHARS = 118  # fit side by side
_TICKS_MIN = (10, 15, 20, 30, 60, 120)
_MOST_TICKS = 10


def draw_pour(clock: PourClock, plan: Plan, title: str) -> Figure:
    """Return the picture of a day; `title` such as "48 bars of 60 g at 10:00"."""
    first, last = clock.moments[0].at_min, max(m.at_min for m in clock.moments)
    margin = 0.03 * (last - first)
    left, right = first - margin, last + margin
    marks = _marks(clock, left)
    places = _close_up(rows_of(marks, right - left))
    low, high = len(LANES) - 0.4, _TOP - _ROW * (max(place.row for place in places) + 0.6)
    inches = _LANE_INCH * (low - high)
    whole = _HEAD_INCH + inches + _FOOT_INCH
    figure = sheet(title, _words(clock), height=whole)
    axes = figure.add_axes((0.115, _FOOT_INCH / whole, RIGHT - 0.115, inches / whole))
    bare(axes)
    axes.set_xlim(left, right)
    axes.set_ylim(low, high)
    axes.set_yticks(range(len(LANES)), LANES)
    axes.tick_params(axis="y", labelsize=10.5, labelcolor=p.INK.light)
    _hours(axes, first, last)
    _bowl(axes, clock, plan)
    _beside(axes, clock)
    _moments(axes, marks, places)
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


def _marks(clock: PourClock, left: float) -> list[Mark]:
    """The moments with their words, in minutes from the left edge."""
    return [
        Mark(m.at_min - left, f"{show_time(m.at_min)[:5]} {MARKS[m.key]}", False)
        for m in clock.moments
        if m.key in MARKS
    ]


def _close_up(places: list[Place]) -> list[Place]:
    """The same places without empty rows between them."""
    used = sorted({place.row for place in places})
    return [place._replace(row=used.index(place.row)) for place in places]


def _moments(axes: Axes, marks: list[Mark], places: list[Place]) -> None:
    """Time and words over the lanes, each where it meets neither words nor the line of another."""
    left, lowest = axes.get_xlim()[0], max(place.row for place in places)
    for mark, place in zip(marks, places, strict=True):
        at_min, height = left + mark.minute, _TOP - _ROW * (lowest - place.row)
        axes.plot([at_min] * 2, [height, len(LANES) - 0.6], color=p.CHOCOLATE.light,
                  linewidth=1.0, zorder=3)  # fmt: skip
        axes.text(
            at_min, height, mark.words, ha="right" if place.left else "left", va="center",
            size=9.5, color=p.INK.light, zorder=5,
            bbox={"boxstyle": "square,pad=0.15", "facecolor": p.PAPER.light, "edgecolor": "none"},
        )  # fmt: skip
