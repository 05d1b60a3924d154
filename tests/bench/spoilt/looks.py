"""What a maker sees of a bar and writes down: marks, with a person's scatter.

Each mark comes from physical figures alone. `margin` is how far a figure is past where it begins
to show; a person sees it with a scatter of `SCATTER`, overlooks `MISSED` of all marks and sees
`SEEN_WRONGLY` of those that are not there.
"""

from __future__ import annotations

import numpy as np

from spoilt.bars import KNIFE_SMOOTH, Bar
from spoilt.draw import Array, Random

SCATTER, MISSED, SEEN_WRONGLY = 0.25, 0.07, 0.002
UNSTABLE, FEW_SEEDS, LEAST_SKIN_C = 0.03, 2.5e-3, 25.0
RELEASES, FIRM, STRAIN_K, THICK = 0.78, 0.66, 1.5, 0.06
LATE_UNSTABLE = 0.012


def margins(bar: Bar) -> dict[str, Array]:
    """How far each mark is past its limit; 1 is plain to see."""
    unstable = np.log2(np.maximum(bar.face_u, 1e-6) / UNSTABLE)
    few = np.log2(FEW_SEEDS / np.maximum(bar.seeds, 1e-6))
    skin_lost = np.log2(KNIFE_SMOOTH / np.maximum(bar.skin_seeds, 1e-9))
    skin_cold = LEAST_SKIN_C - bar.skin_c
    wet = np.maximum(bar.mould_dew_k, bar.bar_dew_k)
    bad_u = np.maximum(unstable, few)
    stiff = 2 * np.log2(np.maximum(bar.thick, 1e-6) / THICK)
    stuck = (RELEASES - bar.shrunk) / 0.05
    return {
        "film": np.maximum.reduce([unstable, few - 0.5, skin_lost, bar.bar_dew_k - 2.0]),
        "dull": np.maximum.reduce([bad_u, skin_lost, skin_cold, stiff - 2.0]),
        "streaks": np.maximum.reduce([few, unstable - 0.5, skin_cold - 0.5, skin_lost - 0.5]),
        "spots": wet,
        "soft": (FIRM - bar.set_share) / 0.05,
        "no release": stuck,
        "cracks": (bar.strain_k - STRAIN_K) / 0.2,
        "thick": stiff,
        "late bloom": np.maximum(2 * np.log2(bar.bloom), np.log2(
            np.maximum(bar.mean_u, 1e-6) / LATE_UNSTABLE)),
    }  # fmt: skip


def marks_of(bar: Bar, random: Random) -> list[tuple[str, ...]]:
    """The marks of each batch. What is bad at first is melted again: nobody sees it bloom."""
    shown = margins(bar)
    count = len(bar.thick)
    seen = {}
    for name, margin in shown.items():
        there = margin + random.normal(0, SCATTER, count) > 0
        there &= random.random(count) > MISSED
        seen[name] = there | (random.random(count) < SEEN_WRONGLY)
    first = np.any([seen[name] for name in shown if name not in ("late bloom", "thick")], axis=0)
    seen["late bloom"] &= ~first
    return [tuple(name for name in shown if seen[name][lane]) for lane in range(count)]
