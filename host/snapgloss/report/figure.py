"""The picture of one run: steps along the top, the curve, a close look at the window, and what
the heat and fan did. Drawn without pyplot, so nothing global is touched."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.words import PROBE_UNCERTAINTY_MC, probe_words, verdict
from snapgloss.report import palette as p
from snapgloss.report.axes import bare, set_minutes, set_room
from snapgloss.report.curves import Curves, curves_of, degrees, gaps_min, in_columns
from snapgloss.report.marks import marks_of, rows_of
from snapgloss.report.picture import RunPicture

SIZE_INCH = (10.5, 7.4)
HEADER_SHARE = 0.115
_ROWS = (0.42, 4.0, 1.9, 0.85)
_SMALL, _BODY, _HEAD = 8.5, 9.5, 15


def draw(run: RunPicture, fahrenheit: bool = False, header: bool = True) -> Figure:
    """A matplotlib Figure of the run; `header` puts title and verdict on it (the HTML has its
    own). A run without readings gives the same picture, empty, saying so."""
    figure = Figure(figsize=SIZE_INCH, facecolor=p.PAPER.light)
    FigureCanvasAgg(figure)
    top = 1 - HEADER_SHARE if header else 0.985
    grid = figure.add_gridspec(
        4, 1, height_ratios=_ROWS, hspace=0.09, left=0.07, right=0.98, top=top, bottom=0.065
    )
    steps, main, close, strip = (figure.add_subplot(grid[row]) for row in range(4))
    for axes in (steps, main, close, strip):
        bare(axes)
    if header:
        _header(figure, run, fahrenheit)
    if not any(r.at_ms >= run.zero_ms for r in run.readings):
        main.text(0.5, 0.5, "nothing was recorded", transform=main.transAxes, ha="center")
        return figure
    curves = curves_of(run.readings, run.zero_ms, fahrenheit)
    _steps(steps, run, float(curves.minutes[-1]))
    _main(main, run, curves, fahrenheit)
    _close(close, run, curves, fahrenheit)
    _strip(strip, curves)
    for axes in (main, close, strip):
        _step_lines(axes, run)
        _gaps(axes, run)
    for axes in (steps, main, close, strip):
        set_minutes(axes, float(curves.minutes[-1]), labelled=axes is strip)
    return figure


def _header(figure: Figure, run: RunPicture, fahrenheit: bool) -> None:
    # User text: a "$" in a name must not start a formula.
    figure.text(
        0.07, 0.975, run.title, size=_HEAD, weight="bold", va="top", color=p.INK.light,
        parse_math=False,
    )  # fmt: skip
    words = f"{verdict(run.figures)}  ·  {probe_words(fahrenheit=fahrenheit)}"
    figure.text(0.07, 0.927, words, size=10.5, va="top", color=p.INK.light)
    if run.row.simulated:
        figure.text(
            0.98, 0.975, "SIMULATED", size=11, weight="bold", va="top", ha="right",
            color=p.PAPER.light,
            bbox={"boxstyle": "round,pad=0.4", "facecolor": p.OVER.light, "edgecolor": "none"},
        )  # fmt: skip


def _steps(axes: Axes, run: RunPicture, total_min: float) -> None:
    """A ribbon of named steps; a name too long for its step stands upright."""
    axes.set_ylim(0, 1)
    axes.set_yticks([])
    for number, step in enumerate(run.figures.steps):
        begin, end = step.began_s / 60, step.ended_s / 60
        face = (p.STEP_A, p.STEP_B)[number % 2].light
        axes.axvspan(begin, end, facecolor=face, edgecolor="none")
        words = STEP_WORDS.get(step.state, step.state)
        room_chars = (end - begin) / max(total_min, 1e-9) * 95
        if room_chars < 1.6:
            continue
        upright = room_chars < len(words) + 1
        axes.text(
            (begin + end) / 2, 0.5, words, ha="center", va="center_baseline",
            size=7.5 if upright else _BODY, rotation=90 if upright else 0, color=p.INK.light,
        )  # fmt: skip


def _step_lines(axes: Axes, run: RunPicture) -> None:
    for step in run.figures.steps[1:]:
        axes.axvline(step.began_s / 60, color=p.RULE.light, linewidth=0.8, zorder=0)


def _gaps(axes: Axes, run: RunPicture) -> None:
    for begin, end in gaps_min(run.readings, run.zero_ms):
        axes.axvspan(
            begin, end, facecolor="none", edgecolor=p.LOST.light, hatch="////", linewidth=0
        )


def _window(axes: Axes, run: RunPicture, fahrenheit: bool) -> tuple[float, float]:
    edges = (run.row.window_low_mc, run.row.window_high_mc)
    low, high = (float(degrees(edge, fahrenheit)) for edge in edges)
    axes.axhspan(low, high, facecolor=p.WINDOW.light, edgecolor="none", zorder=0)
    return low, high


def _main(axes: Axes, run: RunPicture, curves: Curves, fahrenheit: bool) -> None:
    _window(axes, run, fahrenheit)
    axes.plot(
        curves.minutes, curves.target, color=p.TARGET.light, linewidth=1.0,
        linestyle=(0, (4, 3)), label="target",
    )  # fmt: skip
    if not np.all(np.isnan(curves.plate)):
        axes.plot(curves.minutes, curves.plate, color=p.PLATE.light, linewidth=0.9, label="plate")
    axes.plot(
        curves.minutes, curves.chocolate, color=p.CHOCOLATE.light, linewidth=2.2,
        label="chocolate",
    )  # fmt: skip
    axes.set_ylabel(f"°{'F' if fahrenheit else 'C'}", rotation=0, labelpad=12, va="center")
    marks = marks_of(run.events, run.zero_ms)
    rows = rows_of(marks, float(curves.minutes[-1]) or 1.0)
    set_room(axes, [curves.chocolate, curves.plate, curves.target], rows)
    for mark, (row, left) in zip(marks, rows, strict=True):
        _mark(axes, curves, mark.minute, mark.words, row, left, mark.stop)
    axes.legend(
        loc="lower right", frameon=False, fontsize=_SMALL, labelcolor=p.INK.light,
        ncols=3, handlelength=1.8, borderaxespad=0.3,
    )  # fmt: skip


def _mark(
    axes: Axes, curves: Curves, minute: float, words: str, row: int, left: bool, stop: bool
) -> None:
    """A dot on the curve, a stem up to the words."""
    level = 0.955 - 0.065 * row
    colour = p.OVER.light if stop else p.INK.light
    known = ~np.isnan(curves.chocolate)
    height = (
        float(np.interp(minute, curves.minutes[known], curves.chocolate[known]))
        if (known.any())
        else axes.get_ylim()[0]
    )
    top = axes.get_ylim()[0] + level * (axes.get_ylim()[1] - axes.get_ylim()[0])
    axes.plot([minute, minute], [height, top], color=colour, linewidth=0.8, zorder=1)
    axes.plot([minute], [height], marker="o", markersize=6, color=colour, zorder=5)
    axes.annotate(
        words, (minute, top), xytext=(-4 if left else 4, 0), textcoords="offset points",
        ha="right" if left else "left", va="center", size=_BODY, color=colour,
    )  # fmt: skip


def _close(axes: Axes, run: RunPicture, curves: Curves, fahrenheit: bool) -> None:
    """The window from near, with what lay over and under it in the work filled in."""
    low, high = _window(axes, run, fahrenheit)
    margin = max(1.3 * (high - low), 1.8 if fahrenheit else 1.0)
    axes.set_ylim(low - margin, high + margin)
    axes.plot(
        curves.minutes, curves.target, color=p.TARGET.light, linewidth=1.0, linestyle=(0, (4, 3))
    )
    axes.plot(curves.minutes, curves.chocolate, color=p.CHOCOLATE.light, linewidth=1.6)
    working = curves.minutes >= _work_minute(run)
    for edge, colour, outside in (
        (high, p.OVER.light, curves.chocolate > high),
        (low, p.UNDER.light, curves.chocolate < low),
    ):
        axes.fill_between(
            curves.minutes, curves.chocolate, edge, where=outside & working, color=colour,
            alpha=0.45, linewidth=0,
        )  # fmt: skip
    axes.set_yticks([low, high], [f"{low:.1f}", f"{high:.1f}"])
    axes.text(
        0.008, (low + high) / 2, "window", transform=axes.get_yaxis_transform(), va="center",
        size=_BODY, color=p.WINDOW_INK.light,
    )  # fmt: skip
    _probe_bar(axes, (low + high) / 2, fahrenheit)


def _work_minute(run: RunPicture) -> float:
    """Where the window begins to count: the first working step; beyond the end if none."""
    began = [step.began_s / 60 for step in run.figures.steps if step.state == "working"]
    return min(began, default=float("inf"))


def _probe_bar(axes: Axes, middle: float, fahrenheit: bool) -> None:
    """How far the probe may be off, to scale beside the window."""
    half = PROBE_UNCERTAINTY_MC / 1000 * (1.8 if fahrenheit else 1.0)
    across = axes.get_yaxis_transform()
    axes.errorbar(
        [0.105], [middle], yerr=half, color=p.QUIET.light, capsize=4, linewidth=1.2,
        transform=across,
    )  # fmt: skip
    axes.text(
        0.118, middle, probe_words(fahrenheit=fahrenheit), transform=across, va="center",
        size=_SMALL, color=p.QUIET.light,
    )  # fmt: skip


def _strip(axes: Axes, curves: Curves) -> None:
    """Heat above, fan below the middle line, each the mean of a column."""
    for values, sign, colour in ((curves.heat, 1, p.HEAT), (curves.fan, -1, p.FAN)):
        edges, mean = in_columns(curves.minutes, values)
        axes.stairs(sign * np.nan_to_num(mean), edges, fill=True, color=colour.light)
    axes.axhline(0, color=p.RULE.light, linewidth=0.8)
    axes.set_ylim(-108, 108)
    axes.set_yticks([54, -54], ["heat", "fan"])
