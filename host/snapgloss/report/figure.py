"""The picture of one run: steps along the top, the curve, a close look at the window, and what
the heat and fan did. Drawn without pyplot, so nothing global is touched."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.quality.words import probe_words
from snapgloss.report import palette as p
from snapgloss.report.axes import bare, set_minutes, set_room
from snapgloss.report.curves import Curves, curves_of, degrees, gaps_min, in_columns
from snapgloss.report.figure_rows import LOWEST, OVERSHOOT, PEAK_REWARM, PEAK_SEEDED, figure_rows
from snapgloss.report.marks import Mark, Place, marks_of, rows_of
from snapgloss.report.picture import RunPicture

SIZE_INCH = (10.5, 7.4)
HEADER_SHARE = 0.135
_IN_HEADER = (LOWEST, PEAK_REWARM, PEAK_SEEDED, OVERSHOOT)
_ROWS = (0.62, 4.0, 1.9, 0.85)
_SEEN_SHARE = 0.002  # of the whole: a shorter step is no wider than a line
_RIBBON_CHARS = 112  # of the steps' names fit side by side
_HEAD_CHARS = 54  # of a title stand beside the label of a simulated run; a longer one shrinks
_SMALL, _BODY, _HEAD = 8.5, 9.5, 15
_OVER_CURVE = {"boxstyle": "square,pad=0.15", "facecolor": p.WINDOW.light, "edgecolor": "none"}
"""Words in the window stay readable where the curve runs behind them."""


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
        _hands_in(axes, curves)
    _blamed(main, run)
    for axes in (steps, main, close, strip):
        set_minutes(axes, float(curves.minutes[-1]), labelled=axes is strip)
    return figure


def _header(figure: Figure, run: RunPicture, fahrenheit: bool) -> None:
    # User text: a "$" in a name must not start a formula.
    size = _HEAD * min(1, _HEAD_CHARS / len(run.title))
    figure.text(
        0.07, 0.975, run.title, size=size, weight="bold", va="top", color=p.INK.light,
        parse_math=False,
    )  # fmt: skip
    probe = "a logger's probe" if run.is_log else probe_words(run.probe_mc, fahrenheit)
    words = f"{run.headline.rstrip('.')}  ·  {probe}"
    figure.text(0.07, 0.929, words, size=11, va="top", color=p.INK.light)
    rows = dict(figure_rows(run, fahrenheit))
    few = "  ·  ".join(f"{name}: {rows[name]}" for name in rows if name in _IN_HEADER)
    figure.text(0.07, 0.897, few, size=_BODY, va="top", color=p.QUIET.light)
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
    seen = [s for s in run.figures.steps if s.ended_s - s.began_s > total_min * 60 * _SEEN_SHARE]
    for number, step in enumerate(seen):
        begin, end = step.began_s / 60, step.ended_s / 60
        face = (p.STEP_A, p.STEP_B)[number % 2].light
        axes.axvspan(begin, end, facecolor=face, edgecolor="none")
        words = STEP_WORDS.get(step.state, step.state)
        room_chars = (end - begin) / max(total_min, 1e-9) * _RIBBON_CHARS
        if room_chars < 1.6:
            continue
        upright = room_chars < len(words) + 1
        axes.text(
            (begin + end) / 2, 0.5, words, ha="center", va="center",
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


def _hands_in(axes: Axes, curves: Curves) -> None:
    """A shade where the bowl was lifted: that time is counted apart."""
    axes.fill_between(
        curves.minutes, 0, 1, where=curves.hands_in == 1, facecolor=p.STEP_B.light, linewidth=0,
        transform=axes.get_xaxis_transform(), zorder=-1,
    )  # fmt: skip


def _blamed(axes: Axes, run: RunPicture) -> None:
    """A shade where the likeliest cause of bad bars is seen, so wide that it can be seen."""
    sign = run.why.causes[0].sign if run.why and run.why.causes else None
    if sign is None or sign.from_ms is None or sign.to_ms is None:
        return
    begin, end = ((at_ms - run.zero_ms) / 60_000 for at_ms in (sign.from_ms, sign.to_ms))
    axes.axvspan(begin, max(end, begin + 1.0), facecolor=p.OVER.light, alpha=0.15, linewidth=0)


def _window(axes: Axes, run: RunPicture, fahrenheit: bool) -> tuple[float, float]:
    edges = (run.row.window_low_mc, run.row.window_high_mc)
    low, high = (float(degrees(edge, fahrenheit)) for edge in edges)
    axes.axhspan(low, high, facecolor=p.WINDOW.light, edgecolor="none", zorder=0)
    return low, high


def _main(axes: Axes, run: RunPicture, curves: Curves, fahrenheit: bool) -> None:
    _window(axes, run, fahrenheit)
    if not np.all(np.isnan(curves.target)):
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
    places = rows_of(marks, float(curves.minutes[-1]) or 1.0)
    set_room(axes, [curves.chocolate, curves.plate, curves.target], places)
    for mark, place in zip(marks, places, strict=True):
        _mark(axes, curves, mark, place)
    axes.legend(
        loc="lower right", frameon=False, fontsize=_SMALL, labelcolor=p.INK.light,
        ncols=3, handlelength=1.8, borderaxespad=0.3,
    )  # fmt: skip


def _mark(axes: Axes, curves: Curves, mark: Mark, place: Place) -> None:
    """A dot on the curve, a stem up to the words."""
    level = 0.955 - 0.065 * place.row
    colour = p.OVER.light if mark.stop else p.INK.light
    bottom, ceiling = axes.get_ylim()
    top = bottom + level * (ceiling - bottom)
    known = ~np.isnan(curves.chocolate)
    height = bottom  # where the chocolate has no reading at all, the stem stands on the floor
    if known.any():
        height = float(np.interp(mark.minute, curves.minutes[known], curves.chocolate[known]))
    axes.plot([mark.minute, mark.minute], [height, top], color=colour, linewidth=0.8, zorder=1)
    axes.plot([mark.minute], [height], marker="o", markersize=6, color=colour, zorder=5)
    axes.annotate(
        mark.words, (mark.minute, top), textcoords="offset points",
        xytext=(-4 if place.left else 4, 0),
        ha="right" if place.left else "left", va="center", size=_BODY, color=colour,
        bbox={"boxstyle": "square,pad=0.15", "facecolor": p.PAPER.light, "edgecolor": "none"},
    )  # fmt: skip


def _close(axes: Axes, run: RunPicture, curves: Curves, fahrenheit: bool) -> None:
    """The window from near, with what lay over and under it in the work filled in."""
    low, high = _window(axes, run, fahrenheit)
    margin = max(1.3 * (high - low), 1.8 if fahrenheit else 1.0)
    axes.set_ylim(low - margin, high + margin)
    near = curves.minutes >= _melted_minute(run)
    target, chocolate = (
        np.where(near, values, np.nan) for values in (curves.target, curves.chocolate)
    )
    axes.plot(curves.minutes, target, color=p.TARGET.light, linewidth=1.0, linestyle=(0, (4, 3)))
    axes.plot(curves.minutes, chocolate, color=p.CHOCOLATE.light, linewidth=1.6)
    began_s = run.figures.work_began_s
    counted = curves.minutes >= (float("inf") if began_s is None else began_s / 60)
    counted &= curves.working == 1
    for edge, colour, outside in (
        (high, p.OVER.light, curves.chocolate > high),
        (low, p.UNDER.light, curves.chocolate < low),
    ):
        axes.fill_between(
            curves.minutes, curves.chocolate, edge, where=outside & counted, color=colour,
            alpha=0.45, linewidth=0,
        )  # fmt: skip
    axes.set_yticks([low, high], [f"{low:.1f}", f"{high:.1f}"])
    axes.text(
        0.008, (low + high) / 2, "window", transform=axes.get_yaxis_transform(), va="center",
        size=_BODY, color=p.WINDOW_INK.light, bbox=_OVER_CURVE, zorder=5,
    )  # fmt: skip
    if not run.is_log:
        _probe_bar(axes, (low + high) / 2, run.probe_mc, fahrenheit)


def _melted_minute(run: RunPicture) -> float:
    """Where the close look begins: after the melt, which only crosses the window."""
    began = [s.began_s / 60 for s in run.figures.steps if s.state not in ("melting", "resting")]
    return min(began, default=0.0)


def _probe_bar(axes: Axes, middle: float, probe_mc: int, fahrenheit: bool) -> None:
    """How far the probe may be off, to scale beside the window."""
    half = probe_mc / 1000 * (1.8 if fahrenheit else 1.0)
    across = axes.get_yaxis_transform()
    axes.errorbar(
        [0.105], [middle], yerr=half, color=p.QUIET.light, capsize=4, linewidth=1.2,
        transform=across,
    )  # fmt: skip
    axes.text(
        0.118, middle, probe_words(probe_mc, fahrenheit), transform=across, va="center",
        size=_SMALL, color=p.QUIET.light, bbox=_OVER_CURVE, zorder=5,
    )  # fmt: skip


def _strip(axes: Axes, curves: Curves) -> None:
    """Heat above, fan below the middle line, each the mean of a column."""
    for values, sign, colour in ((curves.heat, 1, p.HEAT), (curves.fan, -1, p.FAN)):
        edges, mean = in_columns(curves.minutes, values)
        axes.stairs(
            sign * np.nan_to_num(mean),
            edges,
            fill=True,
            facecolor=colour.light,
            edgecolor=colour.light,
            linewidth=1.2,
        )
    axes.axhline(0, color=p.RULE.light, linewidth=0.8)
    axes.set_ylim(-108, 108)
    axes.set_yticks([54, -54], ["heat", "fan"])
