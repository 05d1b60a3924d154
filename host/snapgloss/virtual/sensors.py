"""What a probe makes of a temperature: its steps, noise, slow drift. A DS18B20, if not said else.

Noise is counter-based: a pure function of (seed, channel, device time since start). Nothing is
remembered between calls, so the same seed gives the same readings at any speed and in any order.
Device time wraps like the device's own; pass the milliseconds since the batch began.
"""

from __future__ import annotations

import math
from typing import NamedTuple

PRODUCT, PLATE, ROOM, SAMPLE = 0, 1, 2, 3
"""Channels."""

LOWEST_C, HIGHEST_C = -55.0, 125.0
"""Range of the part (its data sheet)."""

NOISE_C = 0.03
"""Standard deviation of the noise in K before rounding (assumption: half a step)."""


class Kind(NamedTuple):
    """A kind of probe: the step of its figures and the standard deviation of its noise, K."""

    step_c: float
    noise_c: float


DS18B20 = Kind(1 / 16, NOISE_C)
KINDS = {
    "ds18b20": DS18B20,
    # A step of the RP2040's converter is 0.023 K at 30 degC with 10 kilohm (calculated); a mean of
    # many is finer, its noise an assumption.
    "ntc": Kind(0.01, 0.05),
    # Nominal resolution of a MAX31865: 1/32 K (its data sheet, from memory); noise: assumption.
    "pt100": Kind(1 / 32, 0.03),
}
DRIFT_C = 0.05
"""Greatest slow drift in K (assumption)."""
DRIFT_MS = 1_200_000
"""Milliseconds between the knots of the drift."""

_WORD = 0xFFFFFFFFFFFFFFFF


def mixed(seed: int, channel: int, count: int) -> int:
    """64 well-mixed bits of the three numbers (a multiply-and-shift finaliser)."""
    word = (seed * 0x9E3779B97F4A7C15 + channel * 0xD1B54A32D192ED03 + count) & _WORD
    word = ((word ^ (word >> 30)) * 0xBF58476D1CE4E5B9) & _WORD
    word = ((word ^ (word >> 27)) * 0x94D049BB133111EB) & _WORD
    return word ^ (word >> 31)


def noise(seed: int, channel: int, at_ms: int) -> float:
    """Bell-shaped noise of standard deviation 1, within +-3.5: four uniform numbers summed."""
    bits = mixed(seed, channel, at_ms)
    total = (bits & 0xFFFF) + (bits >> 16 & 0xFFFF) + (bits >> 32 & 0xFFFF) + (bits >> 48)
    return (total / 65536.0 - 2.0) * math.sqrt(3.0)


def drift(seed: int, channel: int, at_ms: int) -> float:
    """Slow wander within -1..1, smooth, zero at the start."""
    knot, past = divmod(at_ms, DRIFT_MS)
    before = _knot(seed, channel, knot)
    x = past / DRIFT_MS
    return before + (_knot(seed, channel, knot + 1) - before) * x * x * (3.0 - 2.0 * x)


def _knot(seed: int, channel: int, knot: int) -> float:
    if knot <= 0:
        return 0.0
    return (mixed(seed ^ 0x5EED, channel, knot) >> 11) / 4503599627370496.0 - 1.0


def reading_mc(
    true_c: float | None,
    seed: int,
    channel: int,
    at_ms: int,
    *,
    noise_c: float = NOISE_C,
    drift_c: float = DRIFT_C,
    step_c: float = DS18B20.step_c,
) -> int | None:
    """The reading in milli-degC, a multiple of `step_c` rounded down; None when there is none.

    `true_c` is what the element has (None = it does not answer); `at_ms` (>= 0) the device time
    of the conversion since start. None as well outside -55..125 degC.
    """
    if true_c is None:
        return None
    shown_c = true_c + noise_c * noise(seed, channel, at_ms)
    shown_c += drift_c * drift(seed, channel, at_ms)
    if not LOWEST_C <= shown_c <= HIGHEST_C:
        return None
    return math.floor(math.floor(shown_c / step_c + 0.5) * step_c * 1000.0 + 1e-6)
