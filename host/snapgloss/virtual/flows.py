"""Arithmetic of bodies that exchange heat within one step, stable for any step."""

from __future__ import annotations

import math


def chain_c(
    first_a: float,
    first_r: float,
    middle_a: float,
    middle_r: float,
    last_a: float,
    last_r: float,
    first_g: float,
    last_g: float,
) -> tuple[float, float, float]:
    """Temperatures of three bodies in a row after one implicit step.

    Each body has `a` T = `r` + the flow from its neighbours; `a` holds its heat over the step,
    all its conductances and its loss (W/K), `r` its old heat and its sources (W). `first_g` and
    `last_g` (W/K) join the middle to either side. The middle's `a` must include both.
    """
    first_f = first_g / first_a
    last_f = last_g / last_a
    middle_c = (middle_r + first_f * first_r + last_f * last_r) / (
        middle_a - first_f * first_g - last_f * last_g
    )
    first_c = (first_r + first_g * middle_c) / first_a
    return first_c, middle_c, (last_r + last_g * middle_c) / last_a


def lag_share(dt_s: float, lag_s: float) -> float:
    """Share (0..1) of its way that a first-order probe of `lag_s` goes within `dt_s`."""
    return 1.0 if lag_s <= 0.0 else 1.0 - math.exp(-dt_s / lag_s)
