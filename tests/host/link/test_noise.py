"""Whatever comes over the line, the link goes on: the next good reading arrives."""

from hypothesis import given, settings
from hypothesis import strategies as st

from rigwire import frames, messages, views
from snapgloss.base.records import Reading
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig

NAMES = [row[0] for row in views.TABLE] + ["news", ""]
SMALL = st.integers(-3, 20) | st.integers(-frames.MAX_INTEGER, frames.MAX_INTEGER)
TEXT = st.text(st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"\\'))
VALUES = st.lists(SMALL | TEXT.filter(lambda text: len(text) <= 20), max_size=14)
ARRAYS = st.tuples(st.sampled_from(NAMES), VALUES).map(lambda pair: [pair[0], *pair[1]])
GOOD = (9_000, 3, 1, 48_000, 31_500, 40_000, 21_000, 700, 0, 200, 0)


def frame(array: list[int | str]) -> bytes:
    """A good frame of any array that fits into one."""
    try:
        return bytes(frames.encode(array))
    except frames.FrameRefused:
        return b"too long\n"


def last_reading_after(noise: list[bytes]) -> Reading | None:
    """Send noise, then one good reading far ahead of any in it; return the last reading taken."""
    rig = ScriptedRig()
    link = RigLink(rig, ScriptedClock(rig))
    for data in noise:
        rig.send(data)
    rig.settle()
    link.take()
    link.follow_from(7, 0)
    rig.send(b"\n" + messages.encode("reading", 7, GOOD))
    rig.settle()
    taken = [one for one in link.take() if isinstance(one, Reading)]
    link.take_console()
    link.close()
    return taken[-1] if taken else None


@settings(max_examples=60, deadline=None)
@given(st.lists(st.binary(max_size=300), max_size=6))
def test_any_bytes(noise: list[bytes]) -> None:
    """Bytes that are no frames are console text; the reader does not lose the next frame."""
    reading = last_reading_after(noise)
    assert reading is not None
    assert (reading.seq, reading.product_mc) == (7, 31_500)


@settings(max_examples=100, deadline=None)
@given(st.lists(ARRAYS.map(frame), max_size=6))
def test_any_frames(noise: list[bytes]) -> None:
    """Good frames with any name and values, asked for or not, disturb nothing either."""
    reading = last_reading_after(noise)
    assert reading is not None
    assert (reading.seq, reading.at_ms) == (7, 9_000)
