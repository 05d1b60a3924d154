"""The proof of a commissioned rig: nothing but its one line gives full heat."""

from rigfw.commissioned import FULL, HEAD, cap_permille, proof_text
from rigwire.frames import crc_hex

RIG_TEXT = "rig|2|100|500"


def test_the_line_is_head_description_and_its_own_check_sum():
    """Three parts, the last over the first two."""
    body = "proof|1|" + crc_hex(RIG_TEXT.encode())
    assert HEAD == "proof|1|"
    assert proof_text(RIG_TEXT) == body + "|" + crc_hex(body.encode())


def test_only_texts_can_agree():
    """Neither bytes nor nothing on either side is a proof, and nothing is raised."""
    good = proof_text(RIG_TEXT)
    assert cap_permille(good, RIG_TEXT, 100) == FULL
    for text, rig_text in (
        (None, None), (None, RIG_TEXT), (good, None), (good.encode(), RIG_TEXT),
        (good, RIG_TEXT.encode()), ("", RIG_TEXT), (good + " ", RIG_TEXT),
    ):  # fmt: skip
        assert cap_permille(text, rig_text, 100) == 200, (text, rig_text)


def test_twenty_watts_whatever_the_heater():
    """Rounded down; a heater of 20 W and less keeps all, one of 21 W does not."""
    for heater_w, permille in ((0, 1000), (1, 1000), (20, 1000), (21, 952), (40, 500), (999, 20)):
        assert cap_permille("", RIG_TEXT, heater_w) == permille
