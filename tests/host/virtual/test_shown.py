"""The rig's display in a terminal."""

from rigwire.messages import MISSING_MC
from rigwire.states import STATES
from rigwire.tables import PROMPTS
from snapgloss.virtual import exchange as ex
from snapgloss.virtual.shown import picture


def _answer(
    product_mc: int, state: str, prompt: str = "none", value: int = MISSING_MC
) -> list[str]:
    answer = [0] * len(ex.TO_PLANT)
    answer[ex.SHOWN_MC], answer[ex.STATE_NO] = product_mc, STATES.index(state)
    answer[ex.PROMPT_NO], answer[ex.SHOWN_VALUE] = PROMPTS.index(prompt), value
    answer[ex.LEFT_S] = 600
    return picture(tuple(answer))


def test_the_display_is_drawn_in_32_columns_and_8_rows() -> None:
    """31.5 in digits four rows high, what to do, the target and ten minutes."""
    box = _answer(31_500, "working", "none", 31_500)
    assert [len(line) for line in box] == [34] * 10
    assert box[1:5] == [
        "│▀▀▀▀█     █   ██▀▀▀ ▀C          │",
        "│▄▄▄▄█     █   ██▄▄▄             │",
        "│▀▀▀▀█     █    ▀▀▀█             │",
        "│▄▄▄▄█     █ ▄ ▄▄▄▄█             │",
    ]
    assert box[5].startswith("│w o r k ")
    assert "1 0   m i n" in box[8]


def test_seed_and_the_stop_button_are_asked_for_in_words() -> None:
    """What waits for a person stands where the state stood."""
    assert "S e e d   i n   n o w" in "".join(_answer(33_500, "seeding", "seed_in", 120))
    said = "".join(_answer(21_000, "ready", "press_stop"))
    assert "P r e s s   s t o p" in said
    assert "t h e n   s t a r t" in said


def test_no_reading_is_said() -> None:
    """Never a 0 for a missing reading."""
    assert "n o   r e a d i n g" in "".join(_answer(MISSING_MC, "off"))
