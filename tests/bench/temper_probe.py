"""What a maker's probe would make of a sample: lag, noise, steps, gaps, and curves of no use.

Simulated; nothing of snapgloss is imported.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
PROBE_STEP_C = 0.0625  # the finest step of a 12-bit DS18B20, by its data sheet


@dataclass(frozen=True)
class Log:
    """What the check is given: seconds, readings, and the bath as its maker wrote it down."""

    seconds: Floats
    celsius: Floats
    bath_c: float | None


@dataclass(frozen=True)
class Sample:
    """One sample without noise or lag, once a second from the dip on, and the truth about it."""

    axis_c: Floats
    probe_c: Floats
    tau_s: float
    bath_c: float
    room_c: float
    turn_s: int
    """Where the curve bends: the maximum of its slope."""


def usable_log(sample: Sample, rng: np.random.Generator) -> Log:
    """A log that a careful maker might keep."""
    end_s = len(sample.probe_c)
    whole = rng.random() >= 0.15
    if not whole:
        # A log that ends early is of use once the sample cools again.
        warmest_s = sample.turn_s + int(np.argmax(sample.axis_c[sample.turn_s :]))
        least_s = max(sample.turn_s + sample.tau_s, warmest_s + sample.tau_s / 2)
        end_s = min(end_s, round(least_s + sample.tau_s * rng.uniform(0.0, 1.0)))
    at_c = _lagged(sample.probe_c[:end_s], rng.uniform(4.0, 30.0))
    seconds = np.arange(len(at_c), dtype=float)
    begin = rng.choice(["at once", "late", "early"], p=[0.4, 0.3, 0.3])
    if begin == "late":
        late_s = round(rng.uniform(0.05, 0.35) * sample.tau_s)
        seconds, at_c = seconds[late_s:], at_c[late_s:]
    elif begin == "early":
        early_s = round(rng.uniform(10, 120))
        warm = at_c[0] + 0.002 * np.arange(early_s, 0, -1)
        seconds, at_c = np.arange(len(at_c) + early_s, dtype=float), np.concatenate([warm, at_c])
    log = _logged(seconds - seconds[0], at_c, sample, rng)
    # Who does not measure the cold has to leave the tube in it to the end.
    unstated = whole and rng.random() < 0.05
    return Log(log.seconds, log.celsius, None) if unstated else log


def _lagged(at_c: Floats, lag_s: float) -> Floats:
    """First-order lag; the probe went in with the sample, warm."""
    keep = np.exp(-1.0 / lag_s)
    out = np.empty_like(at_c)
    held = at_c[0]
    for second, value in enumerate(at_c):
        held = value + (held - value) * keep
        out[second] = held
    return out


def _logged(
    seconds: Floats, at_c: Floats, sample: Sample, rng: np.random.Generator, noise_c: float = 0.0
) -> Log:
    """Stem, offset, period, noise, steps, dropouts, wrong readings, and the bath as stated."""
    stem = rng.uniform(0.0, 0.03)
    at_c = at_c + stem * (sample.room_c - at_c) + rng.normal(0.0, 0.15)
    every_s = int(rng.choice([1, 1, 1, 2, 5]))
    seconds, at_c = seconds[::every_s], at_c[::every_s].copy()
    at_c += rng.normal(0.0, noise_c or np.exp(rng.uniform(np.log(0.003), np.log(0.06))), len(at_c))
    step_c = rng.choice([PROBE_STEP_C, PROBE_STEP_C, 0.01, 0.001])
    at_c = np.round(at_c / step_c) * step_c
    for place in rng.integers(0, len(at_c), rng.integers(0, 4)):
        at_c[place] = rng.choice([85.0, -127.0, at_c[place] + rng.uniform(2, 10)])
    return _with_gaps(Log(seconds, at_c, stated_bath(sample.bath_c, rng)), rng)


def stated_bath(bath_c: float, rng: np.random.Generator) -> float:
    """Within half a degree, as a rule; one in ten quite wrong."""
    if rng.random() < 0.1:
        wrong_c = rng.choice([-1, 1]) * rng.uniform(1.5, 3.0)
    else:
        wrong_c = rng.normal(0.0, 0.3)
    return float(np.round(bath_c + wrong_c, 1))


def _with_gaps(log: Log, rng: np.random.Generator) -> Log:
    """Rows that are missing, rows that are not a number, and one or two holes of up to 40 s."""
    seconds, at_c = log.seconds, log.celsius.copy()
    at_c[rng.random(len(at_c)) < rng.uniform(0.0, 0.03)] = np.nan
    keep = rng.random(len(at_c)) >= rng.uniform(0.0, 0.05)
    for _ in range(rng.integers(0, 3)):
        hole_s = rng.uniform(5, 40)
        begin_s = rng.uniform(0, seconds[-1])
        keep &= (seconds < begin_s) | (seconds > begin_s + hole_s)
    return Log(seconds[keep], at_c[keep], log.bath_c)


def _never_dipped(sample: Sample, rng: np.random.Generator) -> Log:
    at_c = sample.room_c + rng.uniform(0, 9) * np.exp(-np.arange(900) / rng.uniform(3000, 9000))
    return _logged(np.arange(900.0), at_c, sample, rng)


def _cut_off(sample: Sample, rng: np.random.Generator) -> Log:
    end_s = max(20, round(sample.turn_s * rng.uniform(0.2, 0.8)))
    return _logged(np.arange(float(end_s)), sample.probe_c[:end_s], sample, rng)


def _does_not_set(sample: Sample, rng: np.random.Generator) -> Log:
    """Warm chocolate without a crystal, or another liquid: it only cools."""
    seconds = np.arange(round(5 * sample.tau_s), dtype=float)
    fall = (30 - sample.bath_c) * np.exp(-seconds / sample.tau_s)
    return _logged(seconds, _lagged(sample.bath_c + fall, rng.uniform(4.0, 30.0)), sample, rng)


def _bare_in_bath(sample: Sample, rng: np.random.Generator) -> Log:
    at_c = sample.bath_c + (30 - sample.bath_c) * np.exp(-np.arange(900) / rng.uniform(5, 25))
    return _logged(np.arange(900.0), at_c, sample, rng)


def _gap_over_the_turn(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    half_s = sample.tau_s * rng.uniform(0.6, 1.0)
    # By the log's own clock the turn may come up to 120 s later, or earlier by 0.35 tau.
    middle_s = sample.turn_s
    keep = (log.seconds < middle_s - half_s - 0.35 * sample.tau_s) | (
        log.seconds > middle_s + half_s + 120
    )
    return Log(log.seconds[keep], log.celsius[keep], log.bath_c)


def _too_noisy(sample: Sample, rng: np.random.Generator) -> Log:
    seconds = np.arange(len(sample.probe_c), dtype=float)
    return _logged(seconds, sample.probe_c, sample, rng, noise_c=rng.uniform(1.0, 2.5))


def _lifted_out(sample: Sample, rng: np.random.Generator) -> Log:
    out_s = round(sample.turn_s * rng.uniform(0.3, 0.75))
    left_c = sample.probe_c[out_s]
    after = np.arange(900)
    warmed = sample.room_c + (left_c - sample.room_c) * np.exp(-after / (5 * sample.tau_s))
    at_c = np.concatenate([sample.probe_c[:out_s], warmed])
    return _logged(np.arange(float(len(at_c))), at_c, sample, rng)


def _begun_too_late(sample: Sample, rng: np.random.Generator) -> Log:
    begin_s = round(sample.turn_s + rng.uniform(0.1, 0.6) * sample.tau_s)
    at_c = sample.probe_c[begin_s:]
    return _logged(np.arange(float(len(at_c))), at_c, sample, rng)


def _stuck(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    from_s = sample.turn_s * rng.uniform(0.3, 0.8)
    at_c = log.celsius.copy()
    after = log.seconds > from_s
    at_c[after] = at_c[after][0]
    return Log(log.seconds, at_c, log.bath_c)


def _few(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    few = np.sort(rng.choice(len(log.seconds), rng.integers(2, 9), replace=False))
    return Log(log.seconds[few], log.celsius[few], log.bath_c)


def _fahrenheit(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    return Log(log.seconds, log.celsius * 9 / 5 + 32, log.bath_c)


def _shuffled(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    seconds = log.seconds.copy()
    at = rng.integers(5, len(seconds) - 5)
    seconds[at:] -= rng.uniform(100, 1000)
    return Log(seconds, log.celsius, log.bath_c)


def _hardly_a_number(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    at_c = np.where(rng.random(len(log.celsius)) < 0.9, np.nan, log.celsius)
    at_c[len(at_c) // 4 :] = np.nan
    return Log(log.seconds, at_c, log.bath_c)


def _too_seldom(sample: Sample, rng: np.random.Generator) -> Log:
    log = usable_log(sample, rng)
    kept = np.searchsorted(log.seconds, np.arange(0, log.seconds[-1], rng.uniform(90, 180)))
    return Log(log.seconds[kept], log.celsius[kept], log.bath_c)


UNUSABLE: dict[str, Callable[[Sample, np.random.Generator], Log]] = {
    "never dipped": _never_dipped,
    "cut off": _cut_off,
    "does not set": _does_not_set,
    "bare in the bath": _bare_in_bath,
    "gap over the turn": _gap_over_the_turn,
    "too noisy": _too_noisy,
    "lifted out": _lifted_out,
    "begun too late": _begun_too_late,
    "stuck": _stuck,
    "few": _few,
    "Fahrenheit": _fahrenheit,
    "times not rising": _shuffled,
    "hardly a number": _hardly_a_number,
    "too seldom": _too_seldom,
}
