"""What a slot of the rig's description must be to the letter, whatever its check sum says."""

from fw_fakes import bench
from rigfw import slots
from rigfw.config import ConfigRefused
from rigwire.frames import crc_hex

LINE = "line|1"


def _line(heater_w):
    return bench(heater_w=heater_w).to_text()


def _with_sum(body):
    return body + "|" + crc_hex(body.encode())


def test_a_whole_slot_is_its_generation_and_its_line():
    """One to six digits."""
    for generation in (0, 7, 100000, 999999):
        assert slots.from_slot(slots.to_slot(generation, LINE)) == (generation, LINE)


def test_what_is_no_slot_is_none():
    """Nothing, another head, another sum, no number, too great a one, not its one form."""
    good = slots.to_slot(7, LINE)
    for text in (
        None, 7, "", good[:-1], good[:-1] + "g", _with_sum("shot|7|" + LINE),
        _with_sum("slot|x|" + LINE), _with_sum("slot||" + LINE), _with_sum("slot|07|" + LINE),
        _with_sum("slot|1000000|" + LINE), _with_sum("slot|-7|" + LINE),
        _with_sum("slot|1\u00b2|" + LINE), _with_sum("slot|\u0667|" + LINE),
    ):  # fmt: skip
        assert slots.from_slot(text) is None, text


def test_two_of_one_age_must_be_the_same():
    """The same line twice is one description; another line of the same age is none."""
    line = _line(100)
    twice = [slots.to_slot(3, line)] * 2
    assert slots.newest(twice).heater_w == 100
    for other, expected in ((slots.to_slot(3, _line(90)), None),
                            (slots.to_slot(4, _line(90)), 90)):  # fmt: skip
        try:
            heater_w = slots.newest([twice[0], other]).heater_w
        except ConfigRefused as refusal:
            assert "differ" in refusal.reason
            heater_w = None
        assert heater_w == expected
