"""A recorded snap: how loud it is, and where the middle of its sound lies.

Both are relative: a tablet's microphone has no known gain, and a hand no known distance. They
compare bars that were broken the same way, on one tablet, in one session.
"""

import io
import struct
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from snapgloss.base.errors import InputError
from snapgloss.quality.kept_bar import SOUND_MOST_BYTES

Samples = NDArray[np.floating[Any]]

LONGEST_S, SHORTEST_S = 30.0, 0.4
RATES_HZ = (16_000, 192_000)
BAND_HZ = (200.0, 16_000.0)  # under it hands and machines, over it what a recorder leaves out
STANDS_OUT_DB = 12.0
_BEFORE_S, _WINDOW_S = 0.005, 0.05
_RINGS_S = 0.25  # after the snap, when the room still sounds
_FULL, _FULL_MOST = 0.999, 3
AGAIN = "Record again: a second of silence, the snap, a second of silence, a hand from the tablet."


@dataclass(frozen=True)
class Snap:
    """`loudness_db` of 50 ms, where a sine of full scale has 0; `over_db` how much louder than
    the room."""

    loudness_db: float
    centroid_hz: float
    over_db: float


def snap_of_sound(content: bytes) -> Snap:
    """The figures of a WAV file. Raises InputError, with what to do, where it has none."""
    samples, rate_hz = read_sound(content)
    return snap_of(samples, rate_hz)


def read_sound(content: bytes) -> tuple[Samples, int]:
    """The samples of a WAV file from -1 to 1, channels averaged, and samples a second.

    Raises InputError for what is no WAV, damaged, too long or too short.
    """
    if len(content) > SOUND_MOST_BYTES:
        raise InputError("The sound is too large: up to 6 MB.", "Record a few seconds only.")
    if content[:4] != b"RIFF" or content[8:12] != b"WAVE":
        raise InputError("This is no WAV file.", "Record on the page, or save the sound as WAV.")
    rate_hz, samples = _decoded(content)
    if samples.ndim == 2:
        samples = samples.mean(axis=1)
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        raise InputError(
            f"The sound has {rate_hz} samples a second.", "Record with 16,000 to 192,000."
        )
    if not SHORTEST_S <= len(samples) / rate_hz <= LONGEST_S:
        raise InputError(f"The sound is {len(samples) / rate_hz:.1f} s long.", AGAIN)
    if not np.isfinite(samples).all() or np.abs(samples).max() > 1e3:
        raise _damaged()
    return samples, rate_hz


def _decoded(content: bytes) -> tuple[int, Samples]:
    """What scipy makes of it: whole numbers become shares of full scale."""
    from scipy.io import wavfile

    faults = (ValueError, TypeError, EOFError, KeyError, IndexError, OverflowError, MemoryError,
              ZeroDivisionError, UnboundLocalError, struct.error)  # fmt: skip
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", wavfile.WavFileWarning)  # pieces that it does not know
        try:
            rate_hz, raw = wavfile.read(io.BytesIO(content))
        except faults as problem:
            raise _damaged() from problem
    if raw.dtype.kind == "f":
        return int(rate_hz), raw.astype(np.float64)
    if raw.dtype == np.uint8:
        return int(rate_hz), raw / 128.0 - 1.0
    if raw.dtype.kind != "i":
        raise _damaged()
    return int(rate_hz), raw / float(2 ** (8 * raw.dtype.itemsize - 1))


def _damaged() -> InputError:
    return InputError("The sound is damaged, or of a kind that is not read here.", AGAIN)


def snap_of(samples: Samples, rate_hz: int) -> Snap:
    """The figures of the loudest moment. Raises InputError where nothing stands out, where it is
    too loud for the recorder, or where there is no silence to compare with."""
    steady = samples - np.mean(samples)
    begin, width = _loudest(steady, rate_hz), round(_WINDOW_S * rate_hz)
    piece = steady[begin : begin + width]
    full = np.abs(samples[begin : begin + width]) >= _FULL
    if full.sum() >= _FULL_MOST:
        raise InputError("The snap was too loud for the recorder.", "Go further away, each time.")
    room = _room(steady, begin, width, rate_hz)
    level, quiet = np.mean(piece**2), np.median(np.mean(room**2, axis=1))
    over_db = 10 * np.log10(level / max(quiet, 1e-14)) if level > 0 else 0.0
    if over_db < STANDS_OUT_DB:
        raise InputError("No snap stands out of the room's noise.", AGAIN)
    centroid_hz = _centroid_hz(piece, room, rate_hz)
    return Snap(float(10 * np.log10(2 * level)), centroid_hz, float(over_db))


def _loudest(samples: Samples, rate_hz: int) -> int:
    """Where the 50 ms begin: just before the loudest 2 ms."""
    short = max(1, round(0.002 * rate_hz))
    power = np.convolve(samples**2, np.ones(short) / short, mode="same")
    begin = int(np.argmax(power)) - round(_BEFORE_S * rate_hz)
    return max(0, min(begin, len(samples) - round(_WINDOW_S * rate_hz)))


def _room(samples: Samples, begin: int, width: int, rate_hz: int) -> Samples:
    """Pieces of 50 ms without the snap, a row for each."""
    after = begin + round(_RINGS_S * rate_hz)
    parts = (samples[: max(0, begin - width)], samples[after:])
    cut = [part[: len(part) // width * width].reshape(-1, width) for part in parts]
    pieces = np.concatenate(cut)
    if len(pieces) < 3:
        raise InputError("There is no silence round the snap.", AGAIN)
    return pieces


def _centroid_hz(piece: Samples, room: Samples, rate_hz: int) -> float:
    """Mean frequency by power, of what the snap adds to the room's sound.

    The periodogram of scipy, its edges tapered over a tenth.
    """
    from scipy.signal import periodogram

    hertz, power = periodogram(piece, rate_hz, window=("tukey", 0.1))
    _, around = periodogram(room, rate_hz, window=("tukey", 0.1), axis=1)
    power = np.maximum(0.0, power - around.mean(axis=0))
    inside = (hertz >= BAND_HZ[0]) & (hertz <= BAND_HZ[1])
    total = power[inside].sum()
    if total <= 0:
        raise InputError("No snap stands out of the room's noise.", AGAIN)
    return float((hertz[inside] * power[inside]).sum() / total)
