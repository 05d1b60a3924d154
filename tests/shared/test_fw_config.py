"""The rig's description: one canonical line, or locked."""

from fw_fakes import BENCH, FakeBoard, FakeClock, Rig
from rigfw.app import App
from rigfw.config import ConfigRefused, RigConfig
from rigwire.frames import crc_hex
from rigwire.states import STATES

TEXT = "rig|2|100|500|15|1000|4000|8000|55000|70000|3600|250|250|0|1|1|0|0|1|0"


def _refused(text):
    try:
        RigConfig.from_text(text)
    except ConfigRefused as refusal:
        return refusal.reason
    return ""


def test_the_text_is_written_and_read_back():
    """The bench rig is this line, and the line is the bench rig."""
    line = TEXT + "|" + crc_hex(TEXT.encode())
    assert RigConfig(**BENCH).to_text() == line
    assert RigConfig.from_text(line).plate_ceiling_mc == 70000


def test_every_single_bit_flip_is_refused():
    """No damaged byte of the line is taken for a rig."""
    line = RigConfig(**BENCH).to_text()
    for at in range(len(line)):
        for bit in range(7):
            flipped = line[:at] + chr(ord(line[at]) ^ (1 << bit)) + line[at + 1 :]
            assert _refused(flipped), flipped


def test_every_cut_is_refused():
    """A line cut at any byte, or with anything after it, is refused."""
    line = RigConfig(**BENCH).to_text()
    for at in range(len(line)):
        assert _refused(line[:at])
    assert _refused(line + "\n")
    assert _refused(None)


def test_values_outside_the_compiled_limits_are_refused():
    """A good check sum does not help a ceiling above what the firmware allows."""
    for field, value in (
        ("ceiling_mc", 60001),
        ("plate_ceiling_mc", 80001),
        ("attended_limit_s", 14401),
        ("heater_w", 2001),
        ("has_plate", 2),
    ):
        fields = dict(BENCH)
        fields[field] = value
        figures = [fields[name] for name in NAMES]
        body = "rig|2|" + "|".join([str(figure) for figure in figures])
        assert (
            _refused(body + "|" + crc_hex(body.encode())) == field + " is missing or out of range"
        )


def test_figures_that_do_not_go_together_are_refused_in_words():
    """Each is within its range; one step to the other side it is a rig."""
    for changes, words, mended in (
        ({"ceiling_mc": 55001, "plate_ceiling_mc": 55000}, "hotter than the plate",
         {"plate_ceiling_mc": 55001}),
        ({"tacho_pulses": 2}, "no tachometer", {"has_tacho": 1}),
        ({"fan_min_ms": 1000, "fan_loss_mw_per_k": 0}, "no fan", {"fan_loss_mw_per_k": 1}),
        ({"checks_off": 2, "has_plate": 0}, "two probes", {"has_plate": 1}),
        ({"checks_off": 6, "has_plate": 0}, "two probes", {"checks_off": 5}),
        ({"heater_w": 101}, "sense", {"has_sense": 1}),
        ({"heater_w": 101, "has_sense": 1, "has_plate": 0}, "plate probe", {"has_plate": 1}),
        ({"heater_w": 101, "has_sense": 1, "plate_j_per_k": 60}, "too light",
         {"plate_j_per_k": 61}),
    ):  # fmt: skip
        fields = dict(BENCH, **changes)
        figures = [fields[name] for name in NAMES]
        body = "rig|2|" + "|".join([str(figure) for figure in figures])
        assert words in _refused(body + "|" + crc_hex(body.encode())), changes
        RigConfig(**dict(fields, **mended))


def test_a_tachometer_needs_its_pulses():
    """0 of them are out of range, whether it is fitted or not."""
    for has_tacho in (0, 1):
        fields = dict(BENCH, tacho_pulses=0, has_tacho=has_tacho)
        try:
            RigConfig(**fields)
        except ConfigRefused as refusal:
            assert refusal.reason == "tacho_pulses is missing or out of range"
        else:
            raise AssertionError("accepted")


NAMES = (
    "heater_w plate_j_per_k plate_w_per_k loss_mw_per_k fan_loss_mw_per_k probe_lag_ms "
    "ceiling_mc plate_ceiling_mc attended_limit_s min_on_ms min_off_ms fan_min_ms has_plate "
    "has_room has_tacho has_sense tacho_pulses checks_off"
).split()


def test_an_app_without_a_description_is_locked_and_still_answers():
    """Locked from the first pass; hello works; a start is refused with the reason."""
    rig = Rig()
    board = FakeBoard()
    rig.board = board
    rig.clock = FakeClock()
    rig.app = App(board, None, rig.clock, lock_words="no description")
    heard = 0
    for _ in range(8):
        rig.one_pass()
        heard += board.buzzer
    assert heard == 8 and board.lamp in (0, 1)
    assert STATES[rig.app.sequencer.state_no] == "locked"
    assert rig.app.sequencer.stop_code == 11
    assert rig.ask("hello", 1, 0, "t").get("state_no") == 0
    assert rig.ask("ask_start", "00000000").get("words") == "the rig is locked: no description"
    assert rig.ask("off").name == "ok"
    rig.press(1.5)
    assert rig.state() == "locked"
