"""The picture of a bar that sets: how warm it is, how much of it has set, released and set."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from snapgloss.base.units import show_mass, show_temperature
from snapgloss.chocolate.setting import (
    PRACTICE_MIN,
    RELEASED_SHARE,
    Bar,
    Cooling,
    Setting,
    lumped_minutes,
)
from snapgloss.report import palette as p
from snapgloss.report.axes import bare, set_minutes
from snapgloss.report.planned import LEFT, RIGHT, degrees, name_degrees, sheet

PRACTICE_BAND = (15.0, 25.0)
_AFTER = 1.15


def draw_setting(bar: Bar, cooling: Cooling, setting: Setting, fahrenheit: bool = False) -> Figure:
    """Return the picture of one bar in its mould."""
    figure = sheet(_title(bar, cooling, fahrenheit), _words(setting), label="ESTIMATE")
    grid = figure.add_gridspec(
        2, 1, height_ratios=(1.2, 1), hspace=0.14, left=LEFT, right=RIGHT, top=0.84, bottom=0.1
    )
    warm, done = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    last_min = max(setting.minutes[-1], PRACTICE_BAND[1]) * _AFTER
    for axes in (warm, done):
        bare(axes)
        axes.axvspan(*PRACTICE_BAND, facecolor=p.STEP_A.light, edgecolor="none", zorder=0)
        _moments(axes, setting)
        set_minutes(axes, last_min, labelled=axes is done)
    done.set_xlabel("minutes since it was poured", color=p.QUIET.light, size=9)
    _warm(warm, cooling, setting, last_min, fahrenheit)
    _done(done, setting)
    return figure


def _title(bar: Bar, cooling: Cooling, fahrenheit: bool) -> str:
    air = show_temperature(round(cooling.air_c * 1000), fahrenheit)
    thick = f"{bar.thickness_m * 1000:.1f} mm"
    return f"A bar of {show_mass(round(bar.mass_g))}, {thick}, in air of {air}"


def _words(setting: Setting) -> str:
    if setting.released_min is None:
        return "It is not released in this time"
    told = f"Released after about {setting.released_min:.0f} min"
    if setting.set_min is not None:
        told += f", set after {setting.set_min:.0f}"
    return f"{told}; practice says {PRACTICE_MIN:.0f}"


def _moments(axes: Axes, setting: Setting) -> None:
    for minute in (setting.released_min, setting.set_min):
        if minute is not None:
            axes.axvline(minute, color=p.WINDOW_INK.light, linewidth=1.1)


def _warm(
    axes: Axes, cooling: Cooling, setting: Setting, last_min: float, fahrenheit: bool
) -> None:
    shown = np.array([degrees(c, fahrenheit) for c in setting.mean_c])
    face = np.array([degrees(c, fahrenheit) for c in setting.face_c])
    axes.plot(setting.minutes, face, color=p.PLATE.light, linewidth=1.4, label="at the mould")
    axes.plot(setting.minutes, shown, color=p.CHOCOLATE.light, linewidth=2.4, label="bar, mean")
    air = degrees(cooling.air_c, fahrenheit)
    axes.axhline(air, color=p.FAN.light, linewidth=1.2)
    axes.annotate("air", (last_min, air), ha="right", va="bottom", xytext=(-2, 2),
                  textcoords="offset points", size=9, color=p.FAN.light)  # fmt: skip
    name_degrees(axes, fahrenheit)
    axes.legend(
        loc="upper right", framealpha=1, facecolor=p.PAPER.light, edgecolor="none", fontsize=9,
        labelcolor=p.INK.light, ncols=2,
    )  # fmt: skip
    axes.text(
        sum(PRACTICE_BAND) / 2, 0.96, "common practice", va="top", ha="center", size=9,
        color=p.QUIET.light, transform=axes.get_xaxis_transform(),
        bbox={"boxstyle": "square,pad=0.2", "facecolor": p.STEP_A.light, "edgecolor": "none"},
    )  # fmt: skip


def _done(axes: Axes, setting: Setting) -> None:
    axes.fill_between(setting.minutes, 100 * setting.slowest_share, 100 * setting.set_share,
                      color=p.CHOCOLATE.light, alpha=0.25, linewidth=0)  # fmt: skip
    axes.plot(setting.minutes, 100 * setting.set_share, color=p.CHOCOLATE.light, linewidth=2.4)
    axes.set_ylim(0, 108)
    axes.set_yticks([0, 50, 100 * RELEASED_SHARE, 100])
    axes.set_ylabel("%\nset", rotation=0, labelpad=12, va="center")
    for minute, words in ((setting.released_min, "released"), (setting.set_min, "set")):
        if minute is not None:
            axes.annotate(words, (minute, 6), xytext=(4, 0), textcoords="offset points", size=10,
                          color=p.WINDOW_INK.light)  # fmt: skip


def lumped_words(bar: Bar, cooling: Cooling) -> str:
    """Return a sentence of the coarse balance, or that the air is too warm for it."""
    minutes = lumped_minutes(bar, cooling, cooling.air_c + 4)
    return f"As one mass, all heat out but 4 °C: about {minutes:.0f} min."
