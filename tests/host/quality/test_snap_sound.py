"""How loud and how high a snap is: against pure tones and another reckoning; what is refused."""

import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import welch
from tests.host.card_sounds import RATE_HZ, snap_sound, wav_of

from snapgloss.base.errors import InputError
from snapgloss.quality.snap_sound import read_sound, snap_of, snap_of_sound


def tone(hertz: float, level: float, seconds: float = 2.0, rate_hz: int = RATE_HZ) -> np.ndarray:
    """Silence with 80 ms of a sine in its middle."""
    at = np.arange(round(seconds * rate_hz)) / rate_hz
    inside = np.abs(at - seconds / 2) < 0.04
    return np.where(inside, level * np.sin(2 * np.pi * hertz * at), 0.0)


@pytest.mark.parametrize("hertz", [440.0, 1000.0, 3000.0, 9000.0])
def test_a_pure_tone_has_its_own_frequency_and_level(hertz: float) -> None:
    """A sine of half of full scale: 20 log10(0.5) = -6.02 dB, its middle the sine's.

    The window begins 5 ms before the loudest 2 ms, which are made so 20 ms before the middle.
    """
    samples = tone(hertz, 0.5)
    samples[len(samples) // 2 - 960 :][:96] *= 1.05
    found = snap_of(samples, RATE_HZ)
    assert found.loudness_db == pytest.approx(-6.02, abs=0.1)
    assert found.centroid_hz == pytest.approx(hertz, rel=0.02)


def test_half_as_loud_is_six_decibels_less_and_no_lower() -> None:
    """Twenty times the logarithm of a half; the pitch stays."""
    loud, soft = (snap_of(snap_sound(3, loud=level, room=1e-5), RATE_HZ) for level in (0.4, 0.2))
    assert loud.loudness_db - soft.loudness_db == pytest.approx(6.02, abs=0.05)
    assert loud.centroid_hz == pytest.approx(soft.centroid_hz, rel=0.005)


def test_the_middle_agrees_with_another_reckoning() -> None:
    """Scipy's Welch estimate of the snap alone, of which the mean frequency is taken."""
    for seed in range(5):
        samples = snap_sound(seed, 3000.0, room=1e-5)
        begin = RATE_HZ - round(0.005 * RATE_HZ)
        piece = samples[begin : begin + round(0.05 * RATE_HZ)]
        hertz, power = welch(piece, RATE_HZ, window="boxcar", nperseg=len(piece))
        inside = (hertz >= 200) & (hertz <= 16_000)
        known = (hertz * power)[inside].sum() / power[inside].sum()
        assert snap_of(samples, RATE_HZ).centroid_hz == pytest.approx(known, rel=0.02)


def test_hum_of_the_room_does_not_move_the_middle() -> None:
    """The room's own sound is taken away: 20 dB more of it moves the middle by 3 % at most."""
    quiet = snap_of(snap_sound(4, room=1e-4), RATE_HZ).centroid_hz
    assert snap_of(snap_sound(4, room=1e-3), RATE_HZ).centroid_hz == pytest.approx(quiet, rel=0.03)


def test_a_higher_snap_is_higher() -> None:
    """Monotone in the notes of the bar."""
    heard = [snap_of(snap_sound(5, hertz), RATE_HZ).centroid_hz for hertz in (1500, 3000, 5000)]
    assert heard == sorted(heard)
    assert heard[2] > 2.5 * heard[0]


@pytest.mark.parametrize("kind", ["uint8", "int16", "int32", "float32", "float64"])
def test_each_kind_of_sample_says_the_same(kind: str) -> None:
    """Eight bits are coarse: within a tenth of a dB."""
    found = snap_of_sound(wav_of(snap_sound(6, room=0.003), kind))
    known = snap_of(snap_sound(6, room=0.003), RATE_HZ)
    assert found.loudness_db == pytest.approx(known.loudness_db, abs=0.1)


def test_two_channels_are_averaged() -> None:
    """Left and right the same: as one."""
    samples = snap_sound(7)
    both = snap_of_sound(wav_of(np.stack([samples, samples], axis=1)))
    assert both.loudness_db == pytest.approx(snap_of(samples, RATE_HZ).loudness_db, abs=0.01)


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        (np.zeros(RATE_HZ), "No snap"),
        (np.random.default_rng(1).normal(0, 0.05, 2 * RATE_HZ), "No snap"),
        (np.clip(snap_sound(1, loud=9.0), -1, 1), "too loud"),
        (snap_sound(1)[RATE_HZ - 2000 : RATE_HZ + 18_000], "no silence"),
        (np.zeros(1000), "s long"),
        (np.zeros(31 * RATE_HZ), "s long"),
    ],
)
def test_a_sound_that_says_nothing_is_refused_in_words(samples: np.ndarray, words: str) -> None:
    """Silence, noise, full scale, no silence round it, too short, too long."""
    with pytest.raises(InputError, match=words) as refused:
        snap_of_sound(wav_of(samples))
    assert refused.value.remedy


def test_what_is_no_sound_is_refused() -> None:
    """Other files, a rate of a telephone, numbers that are none, and what is too large."""
    good = wav_of(snap_sound(1))
    nothing = wav_of(np.full(RATE_HZ, np.nan), "float32")
    slow = wav_of(np.zeros(8000), rate_hz=8000)
    for content in (
        b"",
        b"OggS" + bytes(60),
        good[:12],
        good[:40],
        nothing,
        slow,
        bytes(7_000_000),
    ):
        with pytest.raises(InputError):
            read_sound(content)


@pytest.mark.parametrize("claimed", [0, 1, 2**31, 2**32 - 1])
def test_a_size_that_lies_takes_no_memory(claimed: int) -> None:
    """The piece of samples says that it is huge or empty: a sentence, or what is really there."""
    good = wav_of(snap_sound(1))
    at = good.index(b"data") + 4
    lying = good[:at] + struct.pack("<I", claimed) + good[at + 4 :]
    try:
        samples, _ = read_sound(lying)
    except InputError as refused:
        assert refused.remedy
        return
    assert len(samples) <= len(good)


_GOOD = wav_of(snap_sound(2)[RATE_HZ // 2 : 3 * RATE_HZ // 2])


@settings(max_examples=150, deadline=None)
@given(at=st.integers(0, 80), junk=st.binary(max_size=12), ends=st.integers(0, len(_GOOD)))
def test_a_damaged_sound_has_figures_or_a_sentence(at: int, junk: bytes, ends: int) -> None:
    """Its head changed, its end cut off: never another error, never a figure that is none."""
    harmed = (_GOOD[:at] + junk + _GOOD[at + len(junk) :])[:ends]
    try:
        found = snap_of_sound(harmed)
    except InputError as refused:
        assert refused.message
        return
    assert np.isfinite([found.loudness_db, found.centroid_hz, found.over_db]).all()
    assert found.centroid_hz > 0
