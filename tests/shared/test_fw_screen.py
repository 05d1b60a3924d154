"""The small display on a model of its chip: what a person would see, and when.

The bars of digits are checked against the usual codes of seven-bar displays (from memory).
"""

from fw_displaychip import DisplayChip
from fw_fakes import FakeClock
from fw_framebuf import Frame, StandIn
from rigfw import display as words
from rigfw.drivers import bigdigits
from rigfw.drivers.screen import Screen, draw, wrapped
from rigwire import views

LINES = ("31.5 C", "work", "to 31.5 C", "12 min")


class _Rig:
    """A screen on its chip, pass by pass."""

    def __init__(self):
        self.chip = DisplayChip()
        self.frame = Frame()
        self.clock = FakeClock()
        self.screen = Screen(self.chip, self.frame, self.frame.buffer, self.clock)

    def passes(self, count):
        """So many passes; the transfers of each."""
        seen = []
        for _ in range(count):
            before = self.chip.writes
            self.clock.now = self.clock.add(self.clock.now, 250)
            self.screen.step(self.clock.now)
            seen.append(self.chip.writes - before)
        return seen


def _is_lit(frame, x, y):
    return frame.pixel(x, y) == 1


def test_a_frame_buffer_has_eight_rows_a_byte():
    """Built in or stand-in: point (2, 9) is bit 1 of byte 130; a rectangle is cut at the edge."""
    for make in (Frame, lambda: None):
        frame = make()
        buffer = frame.buffer if frame else bytearray(1024)
        frame = frame or StandIn(buffer, 128, 64)
        frame.fill_rect(2, 9, 1, 1, 1)
        assert [at for at in range(1024) if buffer[at]] == [130] and buffer[130] == 2
        frame.fill_rect(126, 62, 9, 9, 1)
        assert bytes(buffer[1020:]) == bytes([0, 0, 0xC0, 0xC0])
        frame.fill_rect(2, 9, 1, 1, 0)
        assert buffer[130] == 0


def test_the_bars_of_each_digit():
    """Middle of each of the seven bars lit as the usual table says, gfedcba."""
    codes = (0x3F, 0x06, 0x5B, 0x4F, 0x66, 0x6D, 0x7D, 0x07, 0x7F, 0x6F)
    middles = ((9, 2), (17, 9), (17, 22), (9, 29), (2, 22), (2, 9), (9, 15))
    for digit in range(10):
        frame = Frame()
        bigdigits.draw(frame, str(digit), 0, 0)
        lit = 0
        for at in range(7):
            lit |= _is_lit(frame, *middles[at]) << at
        assert lit == codes[digit], digit


def test_the_temperature_is_large():
    """Digits of 32 rows, and the longest number still has room for its unit."""
    frame = Frame()
    draw(frame, ("88.8 C", "", "", ""))
    rows = [y for y in range(64) if any([_is_lit(frame, x, y) for x in range(60)])]
    assert rows == list(range(32))
    for number in ("-10.5 C", "100.5 C"):
        draw(frame, (number, "", "", ""))
        assert frame.words[0][0] == "C"


def test_the_picture_says_what_to_do_and_how_long():
    """Unit, what, target at the left, time at the right of the last row."""
    frame = Frame()
    draw(frame, LINES)
    assert frame.words == [("C", 87, 0), ("work", 0, 36), ("to 31.5 C", 0, 56), ("12 min", 80, 56)]


def test_a_missing_reading_is_said_in_words():
    """No digits, no unit."""
    frame = Frame()
    draw(frame, ("no reading", "off", "", ""))
    assert frame.words == [("no reading", 0, 8), ("off", 0, 36)]


def test_every_sentence_of_the_rig_fits():
    """All stops, prompts and states with the longest figure and time: inside, no word lost."""
    sentences = [row[2] for row in views.STOPS] + list(words.PROMPT_WORDS)
    sentences += [row[0] for row in words.HANDS_WORDS]
    for sentence in sentences + list(words.STATE_WORDS):
        assert len(wrapped(sentence, 16)) <= 4, sentence
        assert " ".join(wrapped(sentence, 16)) == sentence
        frame = Frame()
        draw(frame, ("-10.5 C", sentence, "to 131.5 C", "240 min"))
        shown = " ".join([text for text, x, y in frame.words if (x == 0 and y < 56) or y == 56])
        assert sentence in shown


def test_a_sentence_of_four_rows_takes_the_last_row():
    """Why it stopped is worth more than the target."""
    frame = Frame()
    draw(frame, ("31.5 C", "the rig's configuration is missing or damaged", "to 5.0 C", "1 min"))
    assert [text for text, _, y in frame.words if y == 56] == ["damaged"]


def test_a_long_time_gives_up_its_unit_for_the_target():
    """ "to 131.5 C" and "240 min" would touch."""
    frame = Frame()
    draw(frame, ("31.5 C", "work", "to 131.5 C", "240 min"))
    assert frame.words[-2:] == [("to 131.5 C", 0, 56), ("240m", 96, 56)]


def test_words_are_broken_at_spaces():
    """Sixteen letters a row; a word that is longer is cut."""
    text = "the stop button is pressed or its wire is open"
    assert wrapped(text, 16) == ["the stop button", "is pressed or", "its wire is open"]
    assert wrapped("", 16) == []
    assert wrapped("a bcdefghij", 4) == ["a", "bcde"]


def test_one_page_a_pass():
    """Settings, eight blank pages, the picture drawn, then its pages: two transfers a pass."""
    rig = _Rig()
    rig.screen.show(LINES)
    seen = rig.passes(40)
    assert seen[:10] == [1] + [2] * 8 + [0]
    assert max(seen) == 2
    assert rig.chip.is_on
    assert rig.chip.memory == rig.frame.buffer
    assert any(rig.chip.memory)


def test_only_what_changed_is_sent():
    """Another last digit: its four pages, drawn in one pass, and nothing more."""
    rig = _Rig()
    rig.screen.show(LINES)
    rig.passes(40)
    rig.screen.show(("31.6 C", "work", "to 31.5 C", "12 min"))
    seen = rig.passes(8)
    assert seen[0] == 0
    assert 1 <= seen.count(2) <= 4
    assert rig.chip.memory == rig.frame.buffer


def test_a_picture_is_whole_before_the_next_is_drawn():
    """New lines in every pass: at each drawing the display has all of the last picture."""
    rig = _Rig()
    drawn = []
    fill = rig.frame.fill

    def noted(colour):
        drawn.append(rig.chip.memory == rig.frame.buffer)
        fill(colour)

    rig.frame.fill = noted
    for number in range(80):
        rig.screen.show(("%d.5 C" % (20 + number % 30), "work", "", "%d min" % number))
        rig.passes(1)
    assert len(drawn) > 5 and all(drawn)


def test_a_display_that_is_not_there_costs_one_try_in_five_seconds():
    """No exception, no other transfer; it is shown once it is plugged in."""
    rig = _Rig()
    rig.chip.is_there = False
    rig.screen.show(LINES)
    seen = rig.passes(41)
    assert [at for at in range(41) if seen[at]] == [0, 20, 40]
    assert not rig.screen.is_there
    rig.chip.is_there = True
    rig.passes(60)
    assert rig.screen.is_there
    assert rig.chip.memory == rig.frame.buffer and any(rig.chip.memory)


def test_a_display_that_fails_in_the_middle_is_whole_again():
    """Away in the middle of a picture: within five seconds and ten passes all is there."""
    rig = _Rig()
    rig.screen.show(LINES)
    rig.passes(5)
    rig.chip.is_there = False
    assert rig.passes(10) == [1] + [0] * 9
    rig.chip.is_there = True
    rig.chip.memory = bytearray([0x55] * 1024)
    rig.passes(60)
    assert rig.chip.memory == rig.frame.buffer


def test_a_display_that_forgot_is_right_again_within_half_a_minute():
    """Its memory is lost without an error: 30 s and nine passes at most."""
    rig = _Rig()
    rig.screen.show(LINES)
    rig.passes(40)
    rig.chip.memory = bytearray(1024)
    rig.chip.is_on = False
    rig.passes(129)
    assert rig.chip.is_on
    assert rig.chip.memory == rig.frame.buffer


def test_the_refresh_goes_on_across_the_wrap_of_the_clock():
    """Begun 10 s before the wrap: settings again after it."""
    rig = _Rig()
    rig.clock.now = FakeClock.WRAP - 10000
    assert rig.passes(200).count(1) == 2


def test_nothing_to_show_is_a_blank_display():
    """Before the first lines: what the chip had at its start is cleared."""
    rig = _Rig()
    rig.passes(10)
    assert rig.chip.memory == bytearray(1024)
