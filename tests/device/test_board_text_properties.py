"""Whatever lies in a board's files, also under a good sum: used as it says, or refused."""

import binascii

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigfw import codelist, commissioned, describe, slots
from rigfw.config import ConfigRefused, RigConfig
from rigfw.memory import Memory
from rigfw.upload import UploadRefused
from rigwire.frames import crc_hex
from snapgloss.rigs.description import BENCH_RIG

LINE = BENCH_RIG.to_config_text()
TEXT = st.one_of(st.none(), st.binary(max_size=60), st.text(max_size=120))
STRANGE = ["", "-0", "007", "1²", "٣", "1e3", "9" * 30]
FIGURE = st.one_of(st.integers(-2, 100_000).map(str), st.sampled_from(STRANGE))
PARTS = LINE.split("|")


def summed(body: str) -> str:
    """Under a good check sum."""
    return body + "|" + crc_hex(body.encode())


@given(TEXT)
def test_any_content_is_refused(text: object) -> None:
    """No slot, no description, no list of files, and no more than the heat of an unproved rig."""
    assert slots.from_slot(text) is None
    with pytest.raises(ConfigRefused):
        slots.newest([text, text])
    with pytest.raises(ConfigRefused):
        describe.fields_of(text)
    assert codelist.why_unfit(text, lambda _name: None)
    assert commissioned.cap_permille(text, LINE, 100) == 200


@given(st.text(alphabet="slot|0123456789²٣-x", max_size=30), st.integers(0, 999_999))
def test_any_slot_under_a_good_sum_is_one_or_none(body: str, generation: int) -> None:
    """What is taken is written again as it stood."""
    for text in (summed(body), summed("slot|" + body), slots.to_slot(generation, LINE)):
        found = slots.from_slot(text)
        assert found is None or slots.to_slot(*found) == text


@given(st.lists(st.tuples(st.integers(2, len(PARTS) - 2), FIGURE), max_size=4))
def test_any_figures_of_a_description_are_a_rig_or_a_refusal(
    changed: list[tuple[int, str]],
) -> None:
    """Its words fit the display; a rig that is taken says the same again."""
    parts = PARTS[:-1]
    for at, figure in changed:
        parts[at] = figure
    text = summed("|".join(parts))
    try:
        rig = RigConfig.from_text(text)
    except ConfigRefused as refusal:
        assert refusal.reason
        return
    assert rig.to_text() == text


class Keep:
    """A flash that remembers the last thing it was given."""

    kept = b""

    def read(self, _name: str) -> bytes:
        """What is there."""
        return self.kept

    def write(self, _name: str, data: bytes) -> bool:
        """Keep it."""
        self.kept = bytes(data)
        return True


@given(st.one_of(st.binary(max_size=200), st.text(max_size=60)), st.booleans())
def test_what_a_host_learned_is_taken_or_refused(record: bytes | str, signed: bool) -> None:
    """Refused, nothing is kept; at boot, whatever lies there is figures or nothing."""
    keep = Keep()
    memory = Memory(keep, LINE)
    if isinstance(record, bytes):
        head = memory._head if signed else b""
        body = head + record
        record = binascii.b2a_base64(body + crc_hex(body).encode(), newline=False).decode()
    try:
        figures = memory.take(record)
    except UploadRefused:
        assert keep.kept == b""
    else:
        assert memory.recalled() == figures


@given(st.binary(max_size=200))
def test_what_lies_in_the_memory_of_a_rig_is_figures_or_nothing(data: bytes) -> None:
    """Any bytes, also those that begin as this rig's own."""
    keep = Keep()
    memory = Memory(keep, LINE)
    for body in (data, memory._head + data):
        for keep.kept in (body, body + crc_hex(body).encode()):
            found = memory.recalled()
            assert found is None or len(found) * 4 == len(body) - 8
