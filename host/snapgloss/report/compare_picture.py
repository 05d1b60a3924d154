"""Batches as strips, one under another: how far each lay over or under its band."""

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from snapgloss.base.units import show_difference, show_mass
from snapgloss.quality.compare import ORDER, Parting, Strip
from snapgloss.quality.event_words import STEP_WORDS
from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.picture import day
from snapgloss.report.write import write_png
from snapgloss.runs.comparing import Compared, apart_words, compared_lines

MOST_C = 3.0
"""Beyond this a strip is full: far from its band is on the way to it."""
_TICKS_MIN = (5, 10, 15, 20, 30, 60, 120)


def write_comparison(found: Compared, path: Path, fahrenheit: bool = False) -> None:
    """Write the picture as PNG. Raises StoreError when it cannot be written."""
    write_png(path, draw_comparison(found, fahrenheit))


def draw_comparison(found: Compared, fahrenheit: bool = False) -> Figure:
    """A matplotlib Figure of the strips, the first run on top."""
    count = len(found.strips)
    lines = compared_lines(found, fahrenheit)[:6]
    head_inch = 0.75 + 0.23 * len(lines)
    height = head_inch + 1.15 * count + 0.75
    figure = Figure(figsize=(10.5, height), facecolor=p.PAPER.light)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(
        count, 1, hspace=0.42, left=0.075, right=0.98, top=1 - head_inch / height - 0.16 / height,
        bottom=0.65 / height,
    )  # fmt: skip
    step = found.align
    figure.text(0.075, 1 - 0.16 / height, f"Side by side from {step} on", size=15,
                weight="bold", va="top", color=p.INK.light)  # fmt: skip
    figure.text(0.075, 1 - 0.5 / height, "\n".join(lines), size=10.5, va="top",
                color=p.INK.light, linespacing=1.35)  # fmt: skip
    begin = min(strip.seconds[0] for strip in found.strips) / 60
    end = max(strip.seconds[-1] for strip in found.strips) / 60
    for number, (row, strip) in enumerate(zip(found.rows, found.strips, strict=True)):
        axes = figure.add_subplot(grid[number])
        part = found.partings[number - 1] if number else None
        title = (
            f"run {row.id} · {row.chocolate}, {show_mass(row.mass_g)}, {day(row.started_utc_ms)}"
        )
        simulated = " · simulated" if row.simulated else ""
        _strip(axes, strip, f"{title}{simulated}", end - begin, fahrenheit)
        _part(axes, part, fahrenheit)
        if row.id in found.left_out:
            axes.set_title("its clock may have jumped", loc="right", size=10, color=p.INK.light,
                           pad=4)  # fmt: skip
        _minutes(axes, begin, end, labelled=number == count - 1, step=step)
    return figure


def _strip(axes: Axes, strip: Strip, title: str, whole_min: float, fahrenheit: bool) -> None:
    """One batch; its band is drawn only for as long as it went: nothing is not inside."""
    bare(axes)
    minutes = strip.seconds / 60
    off = np.clip(strip.off_c, -MOST_C, MOST_C)
    axes.fill_between(minutes[[0, -1]], -0.12, 0.12, facecolor=p.WINDOW.light, linewidth=0)
    for sign, colour in ((1, p.OVER.light), (-1, p.UNDER.light)):
        side = np.where(sign * off > 0, off, 0.0)
        axes.fill_between(minutes, 0, side, where=~np.isnan(off), color=colour, linewidth=0,
                          step="mid")  # fmt: skip
    axes.fill_between(
        minutes, 0, 1, where=np.isnan(strip.off_c), transform=axes.get_xaxis_transform(),
        facecolor="none", edgecolor=p.LOST.light, hatch="////", linewidth=0,
    )  # fmt: skip
    axes.plot(minutes[[0, -1]], [0, 0], color=p.WINDOW_INK.light, linewidth=1)
    axes.axvline(0, color=p.INK.light, linewidth=1.2)
    axes.set_ylim(-MOST_C, MOST_C)
    most = show_difference(MOST_C, fahrenheit, 1 if fahrenheit else 0)
    axes.set_yticks([-MOST_C, 0, MOST_C], [f"-{most}", "band", f"+{most}"])
    axes.set_title(title, loc="left", size=10, color=p.INK.light, pad=4, parse_math=False)
    _step_names(axes, strip, whole_min or 1.0)


def _step_names(axes: Axes, strip: Strip, whole: float) -> None:
    """A line where a step begins, its name beside it where there is room in `whole` minutes."""
    known = strip.states >= 0
    states, minutes = strip.states[known], strip.seconds[known] / 60
    changes = np.flatnonzero(np.diff(states)) + 1
    begins = [0, *changes.tolist()]
    ends = [*changes.tolist(), len(states) - 1]
    for begin, end in zip(begins, ends, strict=True):
        if begin:
            axes.axvline(minutes[begin], color=p.RULE.light, linewidth=1, zorder=0)
        word = STEP_WORDS.get(ORDER[states[begin]], ORDER[states[begin]])
        if (minutes[end] - minutes[begin]) / whole > 0.011 * len(word):
            axes.text(
                minutes[begin] + whole * 0.004, -MOST_C * 0.93, word, size=8.5, va="bottom",
                color=p.INK.light, zorder=6,
                bbox={"boxstyle": "square,pad=0.1", "facecolor": p.PAPER.light, "alpha": 0.85,
                      "edgecolor": "none"},
            )  # fmt: skip


def _part(axes: Axes, part: Parting | None, fahrenheit: bool) -> None:
    if part is None:
        return
    axes.axvline(part.at_s / 60, color=p.INK.light, linewidth=2, linestyle=(0, (2, 1.4)), zorder=5)
    axes.plot(
        part.at_s / 60, 1.06, marker="v", color=p.INK.light, markersize=8, clip_on=False,
        transform=axes.get_xaxis_transform(),
    )  # fmt: skip
    axes.set_title(f"▾ parts here, {apart_words(part, fahrenheit)}", loc="right", size=10,
                   color=p.INK.light, pad=4)  # fmt: skip


def _minutes(axes: Axes, begin: float, end: float, labelled: bool, step: str) -> None:
    axes.set_xlim(begin, end)
    size = next((s for s in _TICKS_MIN if (end - begin) / s <= 14), _TICKS_MIN[-1])
    ticks = np.arange(np.ceil(begin / size) * size, end + 1e-9, size)
    axes.set_xticks(ticks, [f"{t:.0f}" for t in ticks] if labelled else [""] * len(ticks))
    if labelled:
        axes.set_xlabel(f"minutes since {step} began", color=p.QUIET.light, size=9)
