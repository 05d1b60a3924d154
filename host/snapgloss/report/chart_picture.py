"""The picture of a figure over many batches: the values above, their moving ranges below."""

from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from snapgloss.quality.charts import Chart
from snapgloss.quality.figure_words import words_of
from snapgloss.quality.log_doubts import left_out_words
from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.write import write_png
from snapgloss.runs.repeating import Repeated, in_fahrenheit

_MOST_TICKS = 16


def draw_chart(found: Repeated, fahrenheit: bool = False) -> Figure:
    """A matplotlib Figure of one chart."""
    found = in_fahrenheit(found) if fahrenheit else found
    figure = Figure(figsize=(10.5, 6.2), facecolor=p.PAPER.light)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(
        2, 1, height_ratios=(2.4, 1), hspace=0.12, left=0.08, right=0.9, top=0.82, bottom=0.09
    )
    upper, lower = (figure.add_subplot(grid[row]) for row in range(2))
    words = words_of(found.figure, fahrenheit)
    simulated = ", simulated" if found.kind.simulated else ""
    figure.text(
        0.08, 0.965, f"{found.kind.chocolate}, {found.kind.rig}{simulated}: {words}",
        size=15, weight="bold", va="top", color=p.INK.light, parse_math=False,
    )  # fmt: skip
    figure.text(0.08, 0.9, found.chart.words, size=11, va="top", color=p.INK.light)
    for axes in (upper, lower):
        bare(axes)
        axes.set_xlim(-0.5, len(found.runs) - 0.5)
    _values(upper, found.chart)
    _ranges(lower, found.chart)
    if found.change is not None and found.first_after is not None:
        _change(upper, found.first_after)
        lower.axvline(found.first_after - 0.5, color=p.INK.light, linestyle=(0, (4, 3)))
        figure.text(0.9, 0.9, found.change.words, size=9.5, va="top", ha="right",
                    color=p.QUIET.light)  # fmt: skip
    step = max(1, -(-len(found.runs) // _MOST_TICKS))
    upper.set_xticks([])
    lower.set_xticks(range(0, len(found.runs), step), [str(run) for run in found.runs[::step]])
    lower.set_xlabel("run", color=p.QUIET.light)
    figure.text(0.08, 0.012, left_out_words(found.left_out), size=9.5, color=p.INK.light)
    return figure


def write_chart(found: Repeated, path: Path, fahrenheit: bool = False) -> None:
    """Write the picture as PNG. Raises StoreError when it cannot be written."""
    write_png(path, draw_chart(found, fahrenheit))


def _values(axes: Axes, chart: Chart) -> None:
    if chart.low is not None and chart.high is not None:
        axes.axhspan(chart.low, chart.high, color=p.WINDOW.light, zorder=0)
        for level in (chart.low, chart.high):
            _level(axes, level)
    _level(axes, chart.mean)
    axes.plot(chart.values, color=p.CHOCOLATE.light, marker="o", markersize=4, linewidth=1.2)
    for rule, marker in (("outside", "D"), ("row", "s"), ("jump", "^")):
        at = [signal.at for signal in chart.signals if signal.rule == rule]
        axes.plot(
            at, [chart.values[n] for n in at], marker, color=p.OVER.light,
            markersize={"outside": 11, "row": 7, "jump": 7}[rule], fillstyle="none" if rule ==
            "outside" else "full",
            label={"outside": "outside", "row": "8 on one side", "jump": "jump"}[rule],
        )  # fmt: skip
    if chart.signals:
        axes.legend(loc="lower left", frameon=False, ncols=3, fontsize=9,
                    bbox_to_anchor=(-0.01, 0.99), labelcolor=p.INK.light)  # fmt: skip


def _change(axes: Axes, first_after: int) -> None:
    """A line between the last batch before a change and the first after it."""
    axes.axvline(first_after - 0.5, color=p.INK.light, linewidth=1.2, linestyle=(0, (4, 3)))
    axes.annotate(
        "change", (first_after - 0.5, 1), xycoords=("data", "axes fraction"), xytext=(4, -3),
        textcoords="offset points", va="top", size=9.5, color=p.INK.light,
    )  # fmt: skip


def _ranges(axes: Axes, chart: Chart) -> None:
    ranges = [abs(b - a) for a, b in zip(chart.values, chart.values[1:], strict=False)]
    axes.plot(
        range(1, len(chart.values)), ranges, color=p.PLATE.light, marker="o", markersize=3,
        linewidth=1,
    )  # fmt: skip
    if chart.range_high is not None:
        _level(axes, chart.range_high)
    if chart.mean_range is not None:
        _level(axes, chart.mean_range)
    axes.set_ylim(bottom=0)
    axes.set_ylabel("from batch\nto batch")


def _level(axes: Axes, value: float) -> None:
    axes.axhline(value, color=p.RULE.light, linewidth=1, zorder=1)
    axes.text(
        1.005, value, f"{value:.3g}", transform=axes.get_yaxis_transform(), va="center", size=9,
        color=p.QUIET.light,
    )  # fmt: skip
