"""The slow creep of the working temperature: where the target is, and that the bowl follows."""

from fw_fakes import FakeKeep, Plant, Rig, unwitnessed
from rigfw.kept import Kept, Progress
from rigwire.schedule import CREEP_MOST_MC_PER_H, HOLD_S, Schedule, Step, digest

WALL_MC = 34000


def _creeping(creep_mc_per_h=600, creep_to_mc=32000, hold_s=7200):
    step = Step("work", 31500, hold_s, 1000, WALL_MC, 0, 0, 0, creep_mc_per_h, creep_to_mc)
    return Schedule("Lantern 72", "kept", "in_temper", 2000, 55000, [step])


def _started(schedule, product_mc=31500):
    rig = unwitnessed(Rig(schedule=schedule, attended_limit_s=14400))
    rig.board.product_mc = rig.board.plate_mc = product_mc
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.reached, 2)
    return rig


def test_the_target_rises_with_the_hold_and_stops_at_its_end():
    """0.6 K/h from 31.5: 31.6 after 10 min, 32.0 after 50 min and no more."""
    rig = _started(_creeping())
    sequencer = rig.app.sequencer
    assert sequencer.target_mc == 31500
    for at_s, target_mc in ((600, 31600), (1800, 31800), (3000, 32000), (3600, 32000)):
        rig.board.product_mc = rig.board.plate_mc = target_mc
        rig.run_until(lambda one, at_ms=1000 * at_s: one.app.sequencer.held_ms >= at_ms, 2000)
        assert sequencer.target_mc == target_mc, at_s


def test_a_step_without_creep_stays():
    """Two hours at 31.5."""
    rig = _started(_creeping(0, 31500))
    rig.run(7000)
    assert rig.app.sequencer.target_mc == 31500


def test_the_target_stands_while_hands_are_in():
    """Ten minutes of hands in move it by nothing."""
    rig = _started(_creeping())
    rig.run(600)
    before_mc = rig.app.sequencer.target_mc
    assert before_mc in (31599, 31600)
    rig.board.bowl_present = 0
    rig.run(300)
    assert rig.state() == "hands_in"
    assert rig.app.sequencer.target_mc == before_mc


def test_the_longest_hold_at_the_fastest_rate_stays_in_small_integers():
    """Four hours at 2 K/h are 28,800,000 before the division; a board's small ones end at 2^30."""
    assert HOLD_S[1] * CREEP_MOST_MC_PER_H < 1 << 30
    rig = _started(_creeping(2000, 34000, 14400))
    sequencer = rig.app.sequencer
    sequencer.held_ms = 14400 * 1000 - 1
    sequencer._creep()
    assert sequencer.target_mc == 34000


def test_after_a_power_cut_the_target_is_where_the_clock_is():
    """Cut after 40 min at 31.9: it carries on there, not 0.4 K below."""
    keep = FakeKeep()
    rig = Rig(schedule=_creeping(), keep=keep)
    rig.load()
    Kept(keep).keep_progress(Progress(digest(rig.body), 1, 1, 0, 2400, 31500))
    rig = Rig(keep=keep)
    rig.board.product_mc = rig.board.plate_mc = 31900
    rig.run(3)
    rig.press(1.5)
    rig.run(1)
    sequencer = rig.app.sequencer
    assert (rig.state(), sequencer.reached) == ("working", 1)
    assert 31900 <= sequencer.target_mc <= 31901


def test_the_bowl_follows():
    """2 kg over half an hour at 0.6 K/h: never more than 0.1 K from the target, 0.3 K higher."""
    plant = Plant(start_c=31.5)
    rig = Rig(schedule=_creeping(), plant=plant, attended_limit_s=14400)
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.held_ms >= 1000 * 600, 1200)
    worst_c = 0.0
    for _ in range(4 * 1800):
        rig.one_pass()
        worst_c = max(worst_c, abs(plant.product_c - rig.app.sequencer.target_mc / 1000.0))
    assert worst_c < 0.1
    assert 31.8 < plant.product_c < 31.95
