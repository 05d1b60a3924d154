"""The picture of what was learned: the run against the fit, and what they leave between them."""

import numpy as np
from matplotlib.figure import Figure

from snapgloss.report import palette as p
from snapgloss.report.axes import bare
from snapgloss.report.planned import LEFT, RIGHT, degrees, name_degrees, sheet
from snapgloss.rigs.heat_model import Log
from snapgloss.rigs.learn import Fit


def draw_learned(title: str, log: Log, fit: Fit, fahrenheit: bool = False) -> Figure:
    """Return the picture of one run: readings and fit above, their difference below."""
    minutes = np.arange(len(log.product_c)) / 60.0
    words = f"Readings about the fit: {fit.rms_c:.3f} °C rms; dead time {fit.dead_s} s"
    figure = sheet(title, words, label="FIT")
    grid = figure.add_gridspec(
        2, 1, height_ratios=(4, 1.6), hspace=0.12, left=LEFT, right=RIGHT, top=0.85, bottom=0.1
    )
    above, below = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    for axes in (above, below):
        bare(axes)
    seen, fitted = degrees_of(log.product_c, fahrenheit), degrees_of(fit.model_c, fahrenheit)
    above.plot(minutes, seen, color=p.CHOCOLATE.light, linewidth=2.4, label="read")
    above.plot(minutes, fitted, color=p.UNDER.light, linewidth=1.0, label="fit")
    above.legend(frameon=False)
    name_degrees(above, fahrenheit)
    below.plot(minutes, log.product_c - fit.model_c, color=p.QUIET.light, linewidth=0.8)
    below.axhline(0.0, color=p.RULE.light, linewidth=0.8)
    below.set_xlabel("min of liquid chocolate")
    below.set_ylabel("read less fit, °C")
    return figure


def degrees_of(celsius: np.ndarray, fahrenheit: bool) -> list[float]:
    """Return a row of figures for the axis."""
    return [degrees(float(one), fahrenheit) for one in celsius]
