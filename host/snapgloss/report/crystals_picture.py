"""The picture of what the crystals of a batch were by the model: an estimate, and it says so."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from snapgloss.chocolate.observer import THICK_SHARE, Observed
from snapgloss.quality.observe_run import RunLog
from snapgloss.report import palette as p
from snapgloss.report.axes import bare, set_minutes
from snapgloss.report.curves import Floats
from snapgloss.report.planned import LEFT, RIGHT, degrees, name_degrees, sheet

MOST_PERCENT = 12.0


def draw_crystals(
    title: str, words: str, log: RunLog, found: Observed, fahrenheit: bool = False,
    simulated: bool = False,
) -> Figure:  # fmt: skip
    """Return the picture: stable crystals and seeds above, the chocolate's temperature below."""
    figure = sheet(title, words, label="SIMULATED" if simulated else "ESTIMATE")
    grid = figure.add_gridspec(
        2, 1, height_ratios=(1.6, 1), hspace=0.12, left=LEFT, right=RIGHT, top=0.84, bottom=0.1
    )
    above, below = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    minutes = found.seconds / 60.0
    total_min = float(minutes[-1]) if len(minutes) else 1.0
    for axes, labelled in ((above, False), (below, True)):
        bare(axes)
        set_minutes(axes, total_min, labelled)
    _draw_shares(above, minutes, 100 * found.v, 100 * found.n)
    shown = [degrees(one, fahrenheit) for one in log.product_c]
    below.plot(minutes, shown, color=p.CHOCOLATE.light, linewidth=1.6)
    name_degrees(below, fahrenheit)
    return figure


def _draw_shares(axes: Axes, minutes: Floats, stable: Floats, seeds: Floats) -> None:
    """Both lines with their names at their ends, and what is not known said where it is not."""
    most = float(np.nanmax(np.concatenate([stable, [0.0]])))
    axes.set_ylim(0, min(max(1.2 * most, 6.0), MOST_PERCENT))
    axes.set_ylabel("% of the fat", color=p.QUIET.light)
    axes.axhline(100 * THICK_SHARE, color=p.OVER.light, linewidth=0.8, linestyle=(0, (4, 3)))
    axes.text(0, 100 * THICK_SHARE + 0.12, "thickens", color=p.OVER.light, size=9)
    known = np.flatnonzero(np.isfinite(stable))
    unknown_min = float(minutes[known[0] if len(known) else -1]) if len(minutes) else 0.0
    if unknown_min > 0:
        axes.text(
            0, 0.25, "not known: it has to be hot first", ha="left", size=9,
            color=p.QUIET.light,
        )  # fmt: skip
    for values, colour, width, name in (
        (stable, p.CHOCOLATE.light, 2.2, "stable crystals"),
        (seeds, p.UNDER.light, 1.4, "seeds"),
    ):
        axes.plot(minutes, values, color=colour, linewidth=width)
        if len(known):
            at = known[-1]
            axes.annotate(
                name, (minutes[at], values[at]), xytext=(-4, 6), textcoords="offset points",
                ha="right", color=colour, size=9.5,
            )  # fmt: skip
