"""What the small display shows: numbers for a board, and words for a person from tables."""

from rigfw.numbers import PRESS_STOP, SEED_IN
from rigwire import tables
from rigwire.messages import MISSING_MC


def _made():
    """Words for a person by the numbers of states and prompts; a board keeps no others."""
    from rigwire.states import STATES

    of_state = {
        "locked": "locked",
        "off": "off",
        "ready": "hold start 1-3 s",
        "melting": "melting",
        "resting": "resting",
        "cooling": "cooling",
        "seeding": "seed",
        "rewarming": "warming",
        "working": "work",
        "hands_in": "hands in",
        "testing": "testing",
        "finished": "finished",
        "stopped": "stopped",
    }
    of_prompt = {
        "none": "",
        "lumps_gone": "All lumps gone?",
        "seed_in": "Seed in now",
        "dip_knife": "Dip a knife",
        "pour": "Pour",
        "press_stop": "Press stop once",
    }
    words = tuple([of_state[state] for state in STATES])
    return words, tuple([of_prompt[prompt] for prompt in tables.PROMPTS])


STATE_WORDS, PROMPT_WORDS = _made()

del _made

PRESS, THEN_PRESS = "press start", "then press start"
HANDS_WORDS = (
    # Why the batch stands, and what brings it back; the first five are the causes of `hands`.
    ("", ""),
    ("pedal down", ""),
    ("put bowl back", ""),
    ("hands in, or is the probe out?", PRESS),
    ("stirrer stands still", PRESS),
    ("is the probe in the chocolate?", PRESS),
    # After ten minutes: pedal, bowl, neither.
    ("let pedal go", THEN_PRESS),
    ("put bowl back", THEN_PRESS),
    ("go on?", PRESS),
)
LATE_PEDAL = 6
LATE_BOWL = 7
LATE = 8


class Display:
    """`value` is the figure of the prompt, else the target in mC; `hands_no` the row of
    HANDS_WORDS, 0 outside a pause; `words` why a rig is locked."""

    __slots__ = (
        "hands_no",
        "left_s",
        "product_mc",
        "prompt_no",
        "state_no",
        "stop_code",
        "value",
        "words",
    )

    def __init__(self):
        self.product_mc = self.value = MISSING_MC
        self.state_no = self.prompt_no = self.stop_code = self.hands_no = 0
        self.left_s = -1
        self.words = ""


def lines(display):
    """Four lines of words for a display of at least 20 columns. Allocates."""
    return (
        _degrees(display.product_mc),
        _what(display),
        _figure(display),
        _left(display),
    )


def _degrees(value_mc):
    if value_mc == MISSING_MC:
        return "no reading"
    tenths = (value_mc + 50) // 100
    sign = "-" if tenths < 0 else ""
    return "%s%d.%d C" % (sign, abs(tenths) // 10, abs(tenths) % 10)


def _what(display):
    if display.words:
        return display.words
    if display.stop_code:
        return tables.stop_words(display.stop_code)
    asked = HANDS_WORDS[display.hands_no][0] or PROMPT_WORDS[display.prompt_no]
    return asked or STATE_WORDS[display.state_no]


def _left(display):
    if display.left_s < 0 or HANDS_WORDS[display.hands_no][1]:
        return ""
    return str((display.left_s + 59) // 60) + " min"


def _figure(display):
    if HANDS_WORDS[display.hands_no][1]:
        return HANDS_WORDS[display.hands_no][1]
    if display.prompt_no == PRESS_STOP:
        return "then start"
    if display.prompt_no == SEED_IN:
        return "%d g" % display.value
    return "" if display.value == MISSING_MC else "to " + _degrees(display.value)
