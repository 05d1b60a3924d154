"""What a rig was taught outlives a reset, for this description alone, and damage is none."""

from array import array

from fw_fakes import BENCH, FakeKeep, Plant, Rig, cooled_dark
from rigfw.config import RigConfig
from rigfw.memory import FIGURES, NAME, Memory, is_sound, put, taken
from rigfw.model import ALL, STATES, Model, zeros
from rigfw.regulator import Regulator
from rigwire.frames import crc_hex

CONFIG = RigConfig(**BENCH)
LINE = CONFIG.to_text()


class _Taught:
    """A regulator that was taught these figures."""

    def __init__(self, figures):
        self._figures = figures

    def learned(self):
        return self._figures


def _learned():
    rates = Model(CONFIG)
    rates.begin(1000)
    x, p = zeros(ALL), [zeros(ALL) for _ in range(ALL)]
    for at in range(STATES, ALL):
        x[at] = 0.1 * at - 0.9
    rates.prior(p)
    return taken(x, p)


def _kept(figures=None):
    keep = FakeKeep()
    keep.board = Rig().board
    Memory(keep, LINE).keep_of(_Taught(figures or _learned()))
    return keep


def test_what_was_taught_comes_back():
    """Every number to the bit; the next regulator begins from it."""
    back, before = Memory(_kept(), LINE).recalled(), _learned()
    assert len(before) == FIGURES
    assert list(back) == list(before)
    assert list(Regulator(CONFIG, back).learned()) == list(before)


def test_the_covariance_is_put_back_whole():
    """One half is kept, and both come back, each figure in its place."""
    x, p = zeros(ALL), [zeros(ALL) for _ in range(ALL)]
    put(_learned(), x, p)
    assert list(taken(x, p)) == list(_learned())
    for row in range(STATES, ALL):
        assert p[row][row] >= 0.0
        assert [p[row][at] for at in range(STATES)] == [0.0] * STATES
        assert all(p[row][at] == p[at][row] for at in range(STATES, ALL))


def test_nothing_is_recalled_of_what_is_not_whole_or_not_this_rig():
    """No record, every byte damaged, another description, no flash: None."""
    assert Memory(FakeKeep(), LINE).recalled() is None
    assert Memory(None, LINE).recalled() is None
    assert Memory(_kept(), LINE + "x").recalled() is None
    keep = _kept()
    whole = keep.files[NAME]
    for at in range(0, len(whole), 7):
        other = bytes([whole[at] ^ 1])
        keep.files[NAME] = whole[:at] + other + whole[at + 1 :]
        assert Memory(keep, LINE).recalled() is None
    for damaged in (b"", b"1", b"\xff\xfe", whole[:-9], whole[:-8], whole + b"0"):
        keep.files[NAME] = damaged
        assert Memory(keep, LINE).recalled() is None


def test_a_record_whose_numbers_meant_something_else_is_none():
    """As it was written before records had a form: whole, of this rig, and not believed."""
    keep = _kept()
    body = crc_hex(LINE.encode()).encode() + keep.files[NAME][8:-8]
    keep.files[NAME] = body + crc_hex(body).encode()
    assert Memory(keep, LINE).recalled() is None


def test_numbers_out_of_range_are_none():
    """A figure far outside, no number, too few, too many: not sound, not kept."""
    for value in (101.0, -101.0, float("inf"), float("nan")):
        learned = _learned()
        learned[FIGURES - 1] = value
        assert not is_sound(learned)
        assert NAME not in _kept(learned).files
        assert Regulator(CONFIG, learned).learned() is None
    short = _learned()[1:]
    for figures in (None, short, array("f", [0.0] * (FIGURES + 1))):
        assert not is_sound(figures)
        assert Regulator(CONFIG, figures).learned() is None


def test_a_variance_under_0_is_none():
    """No covariance has one."""
    for at in range(ALL - STATES):
        learned = _learned()
        learned[ALL - STATES + at * (at + 1) // 2 + at] = -1e-3
        assert not is_sound(learned)


def test_a_batch_that_is_over_is_kept_without_heat_and_known_after_a_reset():
    """Melting, then off: one write while the heater is off; the next App has it."""
    keep = FakeKeep()
    rig = Rig(schedule=cooled_dark(), plant=Plant(start_c=30.0), keep=keep)
    rig.start()
    rig.run(600)
    assert NAME not in keep.files
    rig.app.off()
    rig.run(2)
    assert [heat for name, heat in keep.writes if name == NAME] == [0]
    again = Rig(keep=keep)
    assert again.app.regulator.learned() is not None
    assert Rig(keep=FakeKeep()).app.regulator.learned() is None
