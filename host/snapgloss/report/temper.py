"""The picture of a temper check: the sentence, three bands, and the curve itself below.

Beside the curve stands what the sample would do without crystals, so that the heat of setting is
the shaded room between the two. Drawn without pyplot, so nothing global is touched.
"""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import ArrayLike, NDArray

from snapgloss.chocolate.curve_readings import readings_of
from snapgloss.quality.temper_bands import SHADE
from snapgloss.quality.temper_verdict import TemperVerdict, caution_of, sentence_of, strip_share
from snapgloss.report import palette as p
from snapgloss.report.axes import bare

Floats = NDArray[np.float64]

SIZE_INCH = (10.5, 5.6)
_BODY, _HEAD = 9.5, 14


def draw_temper(
    verdict: TemperVerdict, seconds: ArrayLike, celsius: ArrayLike, fahrenheit: bool = False
) -> Figure:
    """A matplotlib Figure of a curve that could be used, and its verdict."""
    figure = Figure(figsize=SIZE_INCH, facecolor=p.PAPER.light)
    FigureCanvasAgg(figure)
    grid = figure.add_gridspec(
        2, 1, height_ratios=(0.9, 4.2), hspace=0.3, left=0.07, right=0.97, top=0.87, bottom=0.1
    )
    strip, curve = (figure.add_subplot(grid[row]) for row in range(2))
    figure.text(
        0.07, 0.955, sentence_of(verdict), size=_HEAD, weight="bold", va="top", color=p.INK.light
    )
    figure.text(
        0.07, 0.892, caution_of(verdict, fahrenheit), size=_BODY, va="top", color=p.QUIET.light
    )
    _strip(strip, verdict)
    _curve(curve, verdict, seconds, celsius, fahrenheit)
    return figure


def _strip(axes: Axes, verdict: TemperVerdict) -> None:
    """Under at the left, over at the right; the shade of each edge is borderline."""
    bare(axes)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)
    axes.set_xticks([])
    axes.set_yticks([])
    bands = verdict.bands
    under, over = strip_share(bands.under_above), strip_share(bands.over_below)
    named = (
        (0.0, under, p.UNDER, "under"),
        (under, over, p.WINDOW_INK, "in temper"),
        (over, 1.0, p.OVER, "over"),
    )
    for begin, end, colour, words in named:
        axes.axvspan(begin, end, 0.0, 0.55, facecolor=colour.light, alpha=0.8, linewidth=0)
        axes.text(
            (begin + end) / 2, 0.275, words, ha="center", va="center", size=11, weight="bold",
            color=p.PAPER.light,
        )  # fmt: skip
    for edge in (bands.under_above, bands.over_below):
        begin, end = strip_share(edge + SHADE), strip_share(edge - SHADE)
        axes.axvspan(begin, end, 0.0, 0.55, facecolor=p.PAPER.light, alpha=0.45, linewidth=0)
    here = strip_share(verdict.features.set_ratio)
    axes.plot([here], [0.74], marker="v", markersize=13, color=p.INK.light, clip_on=False)


def _curve(
    axes: Axes, verdict: TemperVerdict, seconds: ArrayLike, celsius: ArrayLike, fahrenheit: bool
) -> None:
    bare(axes)
    readings = readings_of(seconds, celsius)
    minutes = (readings.seconds - readings.seconds[0]) / 60
    quiet_c = _without_crystals(verdict, readings.seconds, readings.celsius)
    shown, quiet = _scaled(readings.celsius, fahrenheit), _scaled(quiet_c, fahrenheit)
    axes.fill_between(
        minutes, quiet, shown, where=shown > quiet, color=p.HEAT.light, alpha=0.18, linewidth=0
    )
    axes.plot(minutes, quiet, color=p.TARGET.light, linewidth=1.0, linestyle=(0, (4, 3)))
    axes.plot(minutes, shown, color=p.CHOCOLATE.light, linewidth=2.0)
    cold = float(_scaled(np.array([verdict.features.bath_c]), fahrenheit)[0])
    axes.axhline(cold, color=p.FAN.light, linewidth=1.0)
    axes.set_xlim(0, float(minutes[-1]))
    low, high = min(cold, float(shown.min())), float(shown.max())
    axes.set_ylim(low - 0.1 * (high - low), high + 0.05 * (high - low))
    axes.set_ylabel(f"°{'F' if fahrenheit else 'C'}", rotation=0, labelpad=12, va="center")
    axes.set_xlabel("minutes since the log began", color=p.QUIET.light, size=9)
    _words(axes, minutes, shown, quiet, cold)


def _words(axes: Axes, minutes: Floats, shown: Floats, quiet: Floats, cold: float) -> None:
    """Names of the lines, where each has room."""
    widest = int(np.argmax(shown - quiet))
    later = int(0.7 * (len(minutes) - 1))
    points = (
        ("heat of setting", minutes[widest], (shown[widest] + quiet[widest]) / 2, p.INK, 0, 0),
        ("the sample", minutes[later], shown[later], p.CHOCOLATE, 24, 14),
        ("the cold", minutes[-1], cold, p.FAN, -24, -10),
    )
    for words, minute, level, colour, right_pt, up_pt in points:
        axes.annotate(
            words, (minute, level), (right_pt, up_pt), textcoords="offset points", size=_BODY,
            ha="center", va="center", color=colour.light,
        )  # fmt: skip
    # In the corner under the dashed line, where nothing else ever is.
    axes.annotate(
        "without crystals", (minutes[0], cold), (4, 12), textcoords="offset points", size=_BODY,
        ha="left", va="center", color=p.TARGET.light,
    )  # fmt: skip


def _without_crystals(verdict: TemperVerdict, at_s: Floats, at_c: Floats) -> Floats:
    """The fall of the same sample without heat of crystals, from its own dip on."""
    features = verdict.features
    falling = np.flatnonzero(at_c < at_c[:5].max() - 1.0)
    begin = int(falling[0]) if len(falling) else 0
    since_s = np.maximum(at_s - at_s[begin], 0.0)
    start_c = float(at_c[begin])
    quiet = features.bath_c + (start_c - features.bath_c) * np.exp(-since_s / features.tau_s)
    return np.where(at_s < at_s[begin], at_c, np.minimum(quiet, start_c))


def _scaled(at_c: Floats, fahrenheit: bool) -> Floats:
    return at_c * 9 / 5 + 32 if fahrenheit else at_c
