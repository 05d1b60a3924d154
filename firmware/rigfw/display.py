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


class Display:
    """Numbers only. `value` is the figure of the prompt, else the target in mC."""

    __slots__ = ("left_s", "product_mc", "prompt_no", "state_no", "stop_code", "value")

    def __init__(self):
        self.product_mc = self.value = MISSING_MC
        self.state_no = self.prompt_no = self.stop_code = 0
        self.left_s = -1


def lines(display):
    """Four lines of words for a display of at least 20 columns. Allocates."""
    return (
        _degrees(display.product_mc),
        _what(display),
        _figure(display),
        "" if display.left_s < 0 else str((display.left_s + 59) // 60) + " min",
    )


def _degrees(value_mc):
    if value_mc == MISSING_MC:
        return "no reading"
    tenths = (value_mc + 50) // 100
    sign = "-" if tenths < 0 else ""
    return "%s%d.%d C" % (sign, abs(tenths) // 10, abs(tenths) % 10)


def _what(display):
    if display.stop_code:
        return tables.stop_words(display.stop_code)
    return PROMPT_WORDS[display.prompt_no] or STATE_WORDS[display.state_no]


def _figure(display):
    if display.prompt_no == PRESS_STOP:
        return "then start"
    if display.prompt_no == SEED_IN:
        return "%d g" % display.value
    return "" if display.value == MISSING_MC else "to " + _degrees(display.value)
