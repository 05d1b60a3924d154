"""Any bytes at all: frames come out, or text; our own errors and no others."""

from contextlib import suppress

from hypothesis import given
from hypothesis import strategies as st

from rigwire import frames, messages, schedule
from rigwire.errors import FrameRefused, MessageRefused, ScheduleRefused
from rigwire.reader import FrameReader

TEXT = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters='"\\'), max_size=20
)
ARRAY = st.lists(st.integers(-frames.MAX_INTEGER, frames.MAX_INTEGER) | TEXT, max_size=8)


@given(ARRAY)
def test_any_flat_array_survives_the_wire(array: list[int | str]) -> None:
    """Decode is the inverse of encode."""
    assert frames.decode(frames.encode(array)) == array


@given(st.binary(max_size=300))
def test_any_bytes_decode_or_are_refused(data: bytes) -> None:
    """Decode raises FrameRefused or gives an array that encodes to the same bytes."""
    with suppress(FrameRefused):
        assert frames.encode(frames.decode(data)) == data


@given(ARRAY)
def test_any_array_parses_or_is_refused(array: list[int | str]) -> None:
    """Parse raises MessageRefused or gives a message."""
    for direction in (messages.TO_DEVICE, messages.TO_HOST):
        with suppress(MessageRefused):
            assert messages.parse(array, direction) is not None


@given(st.lists(st.binary(max_size=80) | ARRAY.map(frames.encode), max_size=8), st.integers(1, 64))
def test_no_byte_is_lost_between_frames_and_text(pieces: list[bytes], size: int) -> None:
    """Frames, text and what is kept make up the stream again; nothing is invented."""
    stream = b"".join(pieces)
    reader, out = FrameReader(), bytearray()
    for at in range(0, len(stream), size):
        reader.feed(stream[at : at + size], lambda _array, line: out.extend(line), out.extend)
        assert len(reader.pending) < frames.MAX_FRAME_BYTES
    assert bytes(out) + reader.pending == stream


@given(st.binary(max_size=200) | st.text(max_size=100).map(str.encode))
def test_any_text_is_a_schedule_or_refused(body: bytes) -> None:
    """A schedule that is taken is canonical; everything else is ScheduleRefused."""
    with suppress(ScheduleRefused):
        assert schedule.to_body(schedule.from_body(body)) == body
