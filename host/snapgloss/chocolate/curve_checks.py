"""Whether what was seen of a curve can carry a set ratio; each refusal says what to do."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.curve_balance import Balance
from snapgloss.chocolate.curve_readings import CurveNotUsable
from snapgloss.chocolate.curve_smooth import Smooth
from snapgloss.chocolate.curve_turn import Turn

Floats = NDArray[np.float64]

MOST_NOISE = 0.03
"""Of the set ratio, by noise alone."""
MOST_HOLE, LEAST_HOLE_S = 0.5, 60.0
"""A hole up to this share of tau, or this long, is bridged."""
LEAST_OVER_C = 1.2
MOST_TURN = 6.5
"""Share of tau after which no turn was ever seen in trials: later ones are noise at the end."""
LEAST_RISE, LEAST_DROP = 0.3, 0.085
"""Of the slope before and after the turn, over the loss (T_i - T_b) / tau."""
COOLS_AGAIN, WARMS = -0.03, 0.03
"""Slope that the end of the curve has to reach, and may not reach, over the same loss."""


def loss_c_per_s(line: Smooth, turn: Turn, balance: Balance) -> float:
    """Return how fast the sample would cool at its turn without crystals, > 0."""
    return max(float(line.celsius[turn.point]) - balance.bath_c, 0.5) / balance.tau_s


def no_turn() -> CurveNotUsable:
    """Return the refusal of a curve that shows no turn."""
    return CurveNotUsable(
        "it does not bend where chocolate sets",
        "Begin when the tube goes in, and leave it until it is within 2 °C of the cold.",
    )


def check_seen(at_s: Floats, line: Smooth, turn: Turn, balance: Balance) -> None:
    """Raise CurveNotUsable unless turn and balance can be relied on; `at_s` of the readings."""
    loss = loss_c_per_s(line, turn, balance)
    if line.slope_error_c_per_s > MOST_NOISE * loss:
        raise CurveNotUsable("its readings scatter too much", "Check the probe and its cable.")
    turn_s = float(line.seconds[turn.point])
    _check_holes(at_s, turn_s, balance.tau_s)
    if (
        turn_s - at_s[0] > MOST_TURN * balance.tau_s
        or line.celsius[turn.point] - balance.bath_c < LEAST_OVER_C
        or turn.rise_c_per_s < LEAST_RISE * loss
        or turn.drop_c_per_s < LEAST_DROP * loss
    ):
        raise no_turn()
    _check_end(line.slope_c_per_s[turn.point :] / loss)


def _check_end(slope: Floats) -> None:
    """`slope` from the turn on, over the loss: down once, and never up again."""
    lowest = int(np.argmin(slope))
    if slope[lowest] > COOLS_AGAIN or slope[lowest:].max() > WARMS:
        raise CurveNotUsable(
            "the sample does not cool to its end",
            "Leave the tube in the cold until it is within 2 °C of it.",
        )


def _check_holes(at_s: Floats, turn_s: float, tau_s: float) -> None:
    matters = at_s[:-1] < turn_s + tau_s
    longest_s = float(np.max(np.diff(at_s)[matters], initial=0.0))
    if longest_s > max(MOST_HOLE * tau_s, LEAST_HOLE_S):
        raise CurveNotUsable(
            f"{longest_s:.0f} s of it are missing where it matters",
            "Check the probe and its cable.",
        )
