"""What a DS18B20 makes of a temperature: sixteenths of a degree, noise, slow drift.

Noise is counter-based: a pure function of (seed, channel, device time since start). Nothing is
remembered between calls, so the same seed gives the same readings at any speed and in any order.
Device time wraps like the device's own; pass the milliseconds since the batch began.
"""

from __future__ import annotations

import math

PRODUCT, PLATE, ROOM = 0, 1, 2
"""Channels."""

LOWEST_C, HIGHEST_C = -55.0, 125.0
"""Range of the part (its data sheet)."""

NOISE_C = 0.03
"""Standard deviation of the noise in K before rounding (assumption: half a step)."""
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
) -> int | None:
    """The reading in milli-degC, a multiple of 62.5 rounded down; None when there is none.

    `true_c` is what the element has (None = it does not answer); `at_ms` (>= 0) the device time
    of the conversion since start. None as well outside -55..125 degC.
    """
    if true_c is None:
        return None
    shown_c = true_c + noise_c * noise(seed, channel, at_ms)
    shown_c += drift_c * drift(seed, channel, at_ms)
    if not LOWEST_C <= shown_c <= HIGHEST_C:
        return None
    return math.floor(shown_c * 16.0 + 0.5) * 125 // 2
