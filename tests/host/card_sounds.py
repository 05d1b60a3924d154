"""Simulated snaps: a crack, and a few notes of the bar that die away, in a room with noise."""

import io

import numpy as np
from scipy.io import wavfile

RATE_HZ = 48_000


def snap_sound(
    seed: int, middle_hz: float = 3000.0, loud: float = 0.3, room: float = 0.001, at_s: float = 1.0
) -> np.ndarray:
    """Two and a half seconds; the hand's distance varies by a tenth or so, the pitch by 3 %."""
    rng = np.random.default_rng(seed)
    seconds = np.arange(round(2.5 * RATE_HZ)) / RATE_HZ
    sound = rng.normal(0, room, len(seconds)) + 2 * room * np.sin(2 * np.pi * 50 * seconds)
    since = seconds - at_s
    after = since >= 0
    tone = np.zeros(len(seconds))
    for share, level, dies_s in ((0.6, 1.0, 0.012), (1.0, 0.8, 0.008), (1.7, 0.5, 0.005)):
        note_hz = middle_hz * share * (1 + rng.normal(0, 0.03))
        struck = level * (1 + rng.normal(0, 0.1))
        turns = 2 * np.pi * (note_hz * since[after] + rng.uniform())
        tone[after] += struck * np.exp(-since[after] / dies_s) * np.sin(turns)
    return sound + loud * tone / 2.3 / (1 + rng.normal(0, 0.1))


def wav_of(samples: np.ndarray, kind: str = "int16", rate_hz: int = RATE_HZ) -> bytes:
    """The samples, from -1 to 1, as a WAV file of a kind."""
    kept = io.BytesIO()
    if kind == "uint8":
        raw = np.round(samples * 127 + 128).astype(np.uint8)
    elif kind.startswith("int"):
        raw = np.round(samples * np.iinfo(kind).max).astype(kind)
    else:
        raw = samples.astype(kind)
    wavfile.write(kept, rate_hz, raw)
    return kept.getvalue()
