"""What a rig was taught outlives a reset, for this description alone, and damage is none."""

from fw_fakes import BENCH, FakeKeep, Plant, Rig, cooled_dark
from rigfw import model
from rigfw.config import RigConfig
from rigfw.memory import COUNT, NAME, Memory
from rigfw.regulator import Regulator

CONFIG = RigConfig(**BENCH)
LINE = CONFIG.to_text()


def _learned():
    spread = model.Model(CONFIG, 1000).prior()
    logs = [0.1 * at - 0.4 for at in range(COUNT)]
    return [model.RECORD] + logs + [value for row in spread for value in row]


def _kept():
    keep = FakeKeep()
    keep.board = Rig().board
    Memory(keep, LINE).keep(_learned())
    return keep


def test_what_was_taught_comes_back():
    """Every number within a millionth; the next regulator begins from it."""
    back, before = Memory(_kept(), LINE).recalled(), _learned()
    assert len(back) == len(before)
    assert all(abs(back[at] - before[at]) < 2e-6 for at in range(len(back)))
    assert Regulator(CONFIG, back).learned() == back


def test_nothing_is_recalled_of_what_is_not_whole_or_not_this_rig():
    """No record, every byte damaged, another description, no flash: None."""
    assert Memory(FakeKeep(), LINE).recalled() is None
    assert Memory(None, LINE).recalled() is None
    assert Memory(_kept(), LINE + "x").recalled() is None
    keep = _kept()
    whole = keep.files[NAME]
    for at in range(0, len(whole), 7):
        keep.files[NAME] = whole[:at] + b"~" + whole[at + 1 :]
        assert Memory(keep, LINE).recalled() is None
    for text in (b"", b"1", b"\xff\xfe", whole[:-9]):
        keep.files[NAME] = text
        assert Memory(keep, LINE).recalled() is None


def test_numbers_out_of_range_are_none():
    """A variance under 0, or a figure far outside: None, though the check sum is right."""
    for at, value in ((1 + COUNT, -1.0), (1, 1000.0)):
        learned = _learned()
        learned[at] = value
        keep = _kept()
        Memory(keep, LINE).keep(learned)
        assert Memory(keep, LINE).recalled() is None


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
