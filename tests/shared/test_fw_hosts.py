"""Computers that come back, two at once, a full flash, a clock that wraps, rooms out of reach."""

from fw_fakes import FakeClock, FakeKeep, Plant, Rig, kinds
from rigwire.schedule import Schedule, Step, digest


def _work(mass_g=1000):
    step = Step("work", 31500, 7200, 1000, 36000)
    return Schedule("Lantern 72", "kept", "in_temper", mass_g, 55000, [step])


def _never_heats(rig, seconds):
    for _ in range(4 * seconds):
        rig.one_pass()
        assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)


def test_a_host_that_returns_starts_nothing():
    """After a reset it asks again for what it knows: a window, no heat, no lease, no test."""
    keep = FakeKeep()
    rig = Rig(schedule=_work(), plant=Plant(1000, 31.4), keep=keep)
    rig.start()
    rig.run(30)
    rig = Rig(schedule=_work(), plant=Plant(1000, 24.0), keep=keep)
    _never_heats(rig, 20)
    assert rig.ask("lease", 300, 0, 1000).name == "no"
    assert rig.ask("ask_start", digest(rig.body)).name == "ok"
    _never_heats(rig, 170)
    assert rig.ask("ask_start", "00000000").name == "no"
    _never_heats(rig, 30)
    assert rig.state() == "off"


def test_two_hosts_at_once_start_nothing_and_both_may_turn_off():
    """One asks for a batch, the other for a test, again and again; then either turns off."""
    rig = Rig(schedule=_work(), plant=Plant(1000, 31.0))
    rig.run(2)
    name = rig.load()
    for number in range(100, 160, 2):
        rig.ask_as(number, "ask_start", name)
        rig.ask_as(number + 1, "ask_test", 1000, 0, 0, 50000, 60)
        assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    assert rig.ask_as(200, "off").name == "ok"
    assert rig.state() == "off"
    assert rig.ask_as(201, "ask_start", name).name == "ok"
    rig.press(1.5)
    assert rig.state() == "working"
    assert rig.ask_as(202, "ask_test", 1000, 0, 0, 50000, 60).name == "no"
    assert rig.ask_as(203, "off").name == "ok"
    _never_heats(rig, 20)


def test_a_full_flash_changes_neither_heat_nor_limits():
    """Pass by pass the same outputs as with a flash that takes everything; the batch goes on."""
    rigs = []
    for is_full in (False, True):
        keep = FakeKeep()
        rig = Rig(schedule=_work(), plant=Plant(1000, 31.0), keep=keep)
        rig.start()
        keep.is_full = is_full
        rigs.append(rig)
    for _ in range(4 * 700):
        for rig in rigs:
            rig.one_pass()
        good, full = rigs
        assert (good.board.heat_on, good.state()) == (full.board.heat_on, full.state())
    assert len(full.app.kept._keep.writes) > len(full.app.kept._keep.files)
    assert full.faults == []


def test_a_batch_and_its_limits_run_alike_across_the_wrap_of_the_clock():
    """The count begins anew 46 s after the press: the same events, each within one reading.

    Both begin at the same place of the minute: windows of the switch lie on the clock, and where
    in them a batch begins may move its landing by a few seconds.
    """
    seen = []
    wraps_ms = FakeClock.WRAP - 60000
    for begin_ms in (wraps_ms % 60000, wraps_ms):
        rig = Rig(now=begin_ms, schedule=_work(), plant=Plant(1000, 31.0), attended_limit_s=300)
        rig.start()
        rig.run(320)
        assert "withheld" in kinds(rig)
        seen.append([(rig.clock.diff(row[0], begin_ms), row[1], row[2]) for row in rig.events()])
    before, across = seen
    assert [row[1:] for row in before] == [row[1:] for row in across]
    for at, row in enumerate(before):
        assert abs(row[0] - across[at][0]) <= 1000, row


def test_heat_keeps_its_limits_in_a_room_of_40_and_of_5_degrees():
    """At 40 nothing heats above the target; at 5 all heat keeps plate and chocolate in bounds."""
    for room_c in (40.0, 5.0):
        rig = Rig(schedule=_work(), plant=Plant(1000, 31.5, room_c=room_c))
        rig.start()
        for _ in range(4 * 1800):
            rig.one_pass()
            assert rig.plant.product_c <= 31.9 or not rig.board.heat_on, room_c
            assert rig.plant.plate_c <= 36.5 or not rig.board.heat_on, room_c
