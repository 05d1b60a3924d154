"""The picture of a window: how likely each place comes out right, and how open that is still."""

import math
import textwrap
from collections import Counter
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

from snapgloss.quality.window import STEP_C, Floats, Place
from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.planned import degrees, sheet
from snapgloss.runs.windows import Windowed, few_words, next_words

_LINE, _APART_C = 100, 0.045
_LEVELS = (10, 25, 50, 75, 90)
_RIGHT = LinearSegmentedColormap.from_list(
    "right", [p.PAPER.light, p.WINDOW.light, p.WINDOW_INK.light]
)
_OPEN = LinearSegmentedColormap.from_list("open", [p.PAPER.light, p.STEP_B.light, p.PLATE.light])


def draw_window(one: Windowed, fahrenheit: bool = False) -> Figure:
    """A matplotlib Figure: the map with the batches on it on the left; on the right how open the
    answer is at each place, least where a batch comes out right or wrong for sure. Too few
    batches have neither: only where they were is drawn.
    """
    good = sum(batch.good for batch in one.found.tried)
    title = f"{one.chocolate}: {good} of {len(one.found.tried)} batches right"
    enough = one.found.is_enough
    words = "" if enough else f"{few_words(one.found)} "
    words = textwrap.fill(words + next_words(one, fahrenheit), _LINE)
    figure = sheet(title, words, "SIMULATED" if one.simulated else "ESTIMATE")
    places = figure.add_gridspec(1, 2, left=0.08, right=0.97, top=0.8, bottom=0.15, wspace=0.18)
    low_c, work_c = _shown_range(one)
    right = 100 * one.found.right(low_c, work_c)
    panels = [
        ("Comes out right, of 100", right, _RIGHT),
        ("How open it is: 50 = nobody knows", np.minimum(right, 100 - right), _OPEN),
    ]
    for at, (name, values, colours) in enumerate(panels[: 2 if enough else 1]):
        axes = figure.add_subplot(places[at])
        _frame(axes, one, name if enough else "Tried so far", (low_c, work_c), fahrenheit)
        if enough:
            _surface(axes, (low_c, work_c), values, colours, fahrenheit)
        _batches(axes, one, fahrenheit)
        _next(axes, one, fahrenheit)
        if not at:
            axes.legend(loc="upper left", bbox_to_anchor=(-0.02, -0.12), ncols=4, frameon=False,
                        fontsize=9, labelcolor=p.INK.light)  # fmt: skip
    return figure


def _shown_range(one: Windowed) -> tuple[Floats, Floats]:
    """All that is safe, and all that was tried; the working axis as far as it is safe."""
    tried = [batch.place for batch in one.found.tried]
    lows = [place.low_c for place in tried]
    works = [place.work_c for place in tried]
    (low_least, low_most), (work_least, work_most) = (
        (min([least_mc / 1000, *tried_c]), max([most_mc / 1000, *tried_c]))
        for least_mc, most_mc, tried_c in (
            (one.safe.low_least_mc, one.safe.low_most_mc, lows),
            (one.safe.work_least_mc, one.safe.work_most_mc, works),
        )
    )
    # Points a step of the map apart, or its stairs would show.
    return np.arange(low_least - STEP_C, low_most + 1.5 * STEP_C, STEP_C), np.arange(
        work_least - STEP_C, work_most + 1.5 * STEP_C, STEP_C
    )


def _frame(
    axes: Axes, one: Windowed, name: str, range_c: tuple[Floats, Floats], fahrenheit: bool
) -> None:
    bare(axes)
    unit = f"°{'F' if fahrenheit else 'C'}"
    dwell = " at 5 min" if one.dwell_s is not None else ""
    axes.set_title(name, loc="left", size=11, color=p.INK.light)
    axes.set_xlabel(f"{one.point}{dwell}, {unit}", color=p.QUIET.light)
    axes.set_ylabel(f"work, {unit}", color=p.QUIET.light)
    axes.set_xlim(*(degrees(float(range_c[0][n]), fahrenheit) for n in (0, -1)))
    axes.set_ylim(*(degrees(float(range_c[1][n]), fahrenheit) for n in (0, -1)))
    axes.grid(color=p.RULE.light, linewidth=0.5)
    axes.set_axisbelow(True)


def _surface(
    axes: Axes, range_c: tuple[Floats, Floats], values: Floats,
    colours: LinearSegmentedColormap, fahrenheit: bool,
) -> None:  # fmt: skip
    x, y = (np.array([degrees(float(c), fahrenheit) for c in part]) for part in range_c)
    top = 100 if values.max() > 50 or colours is _RIGHT else 50
    axes.pcolormesh(x, y, values.T, cmap=colours, vmin=0, vmax=top, shading="gouraud", zorder=0)
    lines = axes.contour(x, y, values.T, levels=_LEVELS, colors=p.QUIET.light, linewidths=0.7)
    axes.clabel(lines, fmt="%.0f", fontsize=8)


def _batches(axes: Axes, one: Windowed, fahrenheit: bool) -> None:
    at = _apart([batch.place for batch in one.found.tried])
    for good, marker, colour, words in (
        (True, "o", p.WINDOW_INK, "right"), (False, "X", p.OVER, "not right"),
    ):  # fmt: skip
        own = [c for batch, c in zip(one.found.tried, at, strict=True) if batch.good is good]
        axes.plot(
            [degrees(c.low_c, fahrenheit) for c in own],
            [degrees(c.work_c, fahrenheit) for c in own],
            marker, markersize=8, color=colour.light, markeredgecolor=p.PAPER.light,
            linestyle="none", label=words,
        )  # fmt: skip


def _apart(places: Sequence[Place]) -> list[Place]:
    """Batches at one place lie round it in a spiral, so that each is seen."""
    seen: Counter[tuple[float, float]] = Counter()
    found = []
    for low_c, work_c in places:
        key = (round(low_c, 1), round(work_c, 1))
        turn, out_c = 2.4 * seen[key], _APART_C * math.sqrt(seen[key])
        seen[key] += 1
        found.append(Place(low_c + 1.4 * out_c * math.cos(turn), work_c + out_c * math.sin(turn)))
    return found


def _next(axes: Axes, one: Windowed, fahrenheit: bool) -> None:
    for place, marker, size, words in (
        (one.found.usual, "s", 9, "usual schedule"), (one.suggested.place, "D", 12, "next"),
    ):  # fmt: skip
        axes.plot(
            degrees(place.low_c, fahrenheit), degrees(place.work_c, fahrenheit), marker,
            markersize=size, fillstyle="none", markeredgewidth=1.8, color=p.INK.light,
            linestyle="none", label=words,
        )  # fmt: skip
