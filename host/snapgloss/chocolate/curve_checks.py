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
MOST_NOISE_C = 0.6
"""Of one reading; the worst of probes that still told a set ratio had a tenth of it in trials."""
USUAL_OVER = 0.4
"""Where chocolate sets, as a share of the way from the warmest down to the cold: 20 of 31 to 12
°C. A probe that could tell a turn there does not scatter too much."""
MOST_HOLE, LEAST_HOLE_S = 0.5, 60.0
"""A hole up to this share of tau, or this long, is bridged."""
BEND_NOISE = 3.0
"""A bend of fewer sigmas of the slope is none."""
LEAST_OVER_C = 1.2
FLAT = 0.03
"""Of the whole fall, in the last quarter of a curve: at three time constants it is 0.055."""
MOST_TURN = 6.5
"""Share of tau after which no turn was ever seen in trials: later ones are noise at the end."""
LEAST_RISE, LEAST_DROP = 0.3, 0.085
"""Of the slope before and after the turn, over the loss (T_i - T_b) / tau."""
COOLS_AGAIN, WARMS = -0.03, 0.03
"""Slope that the end of the curve has to reach, and may not reach, over the same loss."""


def set_ratio_of(slope_c_per_s: float, over_c: float, tau_s: float) -> float:
    """Return R = 1 + tau S / (T - T_b) where the sample is `over_c` (> 0) above the cold."""
    return 1 + tau_s * slope_c_per_s / over_c


def loss_c_per_s(line: Smooth, turn: Turn, balance: Balance) -> float:
    """Return how fast the sample would cool at its turn without crystals, > 0."""
    return turn_over_c(line, turn, balance) / balance.tau_s


def turn_over_c(line: Smooth, turn: Turn, balance: Balance) -> float:
    """Return how far the turn lies above the cold, at least 0.5 °C."""
    return max(float(line.celsius[turn.point]) - balance.bath_c, 0.5)


def _usual_loss_c_per_s(line: Smooth, balance: Balance) -> float:
    """How fast it would cool where chocolate as a rule sets."""
    over_c = USUAL_OVER * (float(line.celsius.max()) - balance.bath_c)
    return max(over_c, 0.5) / balance.tau_s


def no_turn() -> CurveNotUsable:
    """Return the refusal of a curve that shows no turn."""
    return CurveNotUsable(
        "it does not bend where chocolate sets",
        "Without seed it only cools. Else begin when the tube goes in, and leave it until it is "
        "within 2 °C of the cold.",
    )


def no_cold(tail: Smooth) -> CurveNotUsable:
    """Return the refusal of a curve whose end does not say how cold the cold is."""
    last = tail.celsius[-(len(tail.celsius) // 4) :]
    if float(np.ptp(last)) < FLAT * float(np.ptp(tail.celsius)):
        return CurveNotUsable(
            "it ends flat: at the cold, or where chocolate sets",
            "Measure the cold and give its temperature. Without seed it only cools.",
        )
    return CurveNotUsable(
        "it ends too early to show how cold the cold is",
        "Measure the cold and give its temperature.",
    )


def scattered() -> CurveNotUsable:
    """Return the refusal of a curve whose readings say too little."""
    return CurveNotUsable("its readings scatter too much", "Check the probe and its cable.")


def check_scatter(noise_c: float) -> None:
    """Raise CurveNotUsable for readings so far off their curve that its parts cannot be found."""
    if noise_c > MOST_NOISE_C:
        raise scattered()


def check_seen(at_s: Floats, line: Smooth, turn: Turn, balance: Balance) -> None:
    """Raise CurveNotUsable unless turn and balance can be relied on; `at_s` of the readings."""
    loss = loss_c_per_s(line, turn, balance)
    over_c = float(line.celsius[turn.point]) - balance.bath_c
    noise = line.slope_error_c_per_s / MOST_NOISE
    if noise > max(loss, _usual_loss_c_per_s(line, balance)):
        raise scattered()
    turn_s = float(line.seconds[turn.point])
    _check_holes(at_s, turn_s, balance.tau_s)
    if noise > loss:
        # A fall without a bend has its "turn" in the noise near the cold: not the probe's fault.
        is_noise = turn.drop_c_per_s < BEND_NOISE * line.slope_error_c_per_s
        raise no_turn() if is_noise or over_c < LEAST_OVER_C else scattered()
    if (
        turn_s - at_s[0] > MOST_TURN * balance.tau_s
        or over_c < LEAST_OVER_C
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
