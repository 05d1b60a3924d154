"""What the sequencer fires and when: steps, prompts, seed, hands, done."""

from fw_fakes import Rig, cooled_dark, kinds, seeded_dark, unwitnessed
from rigfw import display as words
from rigfw.numbers import BY_DOUBT, BY_READING, BY_STIRRER, IN_STEP, OFF
from rigfw.sequencer import Sequencer
from rigwire.errors import IllegalTransition
from rigwire.schedule import Schedule, Step
from rigwire.states import EVENTS, STATES
from rigwire.tables import ANSWERED_BY, EVENT_NAMES
from rigwire.views import TRANSITIONS


class _Notes:
    def __init__(self):
        self.rows = []

    def note(self, kind_no, a=0, b=0):
        self.rows.append((EVENT_NAMES[kind_no], a, b))


def _events(rig, name):
    return [row[2:] for row in rig.events() if EVENT_NAMES[row[1]] == name]


def _at_seed_prompt():
    """A seeded batch whose bowl stands at 33.5 and asks for seed."""
    schedule = seeded_dark()
    schedule.steps = schedule.steps[3:]
    rig = Rig(schedule=schedule)
    rig.board.product_mc = rig.board.plate_mc = 33500
    rig.start()
    rig.run(1)
    assert rig.state() == "seeding"
    assert rig.app.sequencer.prompt_no == 2
    return rig


def test_every_pair_fires_as_the_table_says_and_every_other_is_refused():
    """All states by all events: the next state, or IllegalTransition and the same state."""
    table = {(state, event): after for state, event, after in TRANSITIONS}
    for state_no, state in enumerate(STATES):
        for event_no, event in enumerate(EVENTS):
            notes = _Notes()
            sequencer = Sequencer(notes)
            sequencer.state_no = state_no
            try:
                sequencer.fire(event_no)
                after = STATES[sequencer.state_no]
            except IllegalTransition:
                after = None
                assert sequencer.state_no == state_no
                assert notes.rows == []
            assert after == table.get((state, event)), (state, event)


def test_a_change_of_state_is_noted_with_both_states():
    """off from hands_in: one `state` event (1 off, 9 hands_in)."""
    notes = _Notes()
    sequencer = Sequencer(notes)
    sequencer.state_no = STATES.index("working")
    sequencer.fire(EVENTS.index("hands"))
    sequencer.fire(EVENTS.index("off"))
    assert notes.rows == [("state", 9, 8), ("state", 1, 9)]
    assert sequencer.state_no == OFF


def test_step_states_are_those_of_the_table():
    """IN_STEP marks exactly the six step states."""
    marked = [STATES[at] for at in range(len(STATES)) if IN_STEP[at]]
    assert marked == ["melting", "resting", "cooling", "seeding", "rewarming", "working"]


def test_a_whole_schedule_walks_its_steps_and_ends_all_off():
    """A bowl that is always where it should be: steps 1 to 4, holds to the pass, finished."""
    rig = unwitnessed(Rig(schedule=cooled_dark()))
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    began_ms = rig.app.now_ms
    rig.press(0.5)
    for target_mc, state in ((28000, "cooling"), (31500, "rewarming")):
        rig.run_until(lambda one, state=state: one.state() == state, 200)
        while rig.board.product_mc != target_mc:
            step_mc = 400 if target_mc > rig.board.product_mc else -400
            left_mc = target_mc - rig.board.product_mc
            rig.board.product_mc += step_mc if abs(left_mc) > 400 else left_mc
            rig.board.plate_mc = rig.board.product_mc + 3000 * (step_mc > 0)
            rig.run(1)
    rig.run_until(lambda one: one.state() == "finished", 1300)
    board = rig.board
    assert (board.heat_on, board.fan_permille, board.stir_permille) == (0, 0, 0)
    assert [row[0] for row in _events(rig, "step")] == [1, 2, 3, 4]
    assert kinds(rig)[-2:] == ["done", "state"]
    assert rig.clock.diff(rig.app.now_ms, began_ms) < 1600000


def test_the_hold_runs_to_the_pass_from_reached_and_answered():
    """melt: reached, prompt 120 s unanswered, safe default, then 60 s of hold."""
    rig = Rig(schedule=seeded_dark())
    rig.board.product_mc, rig.board.plate_mc = 48000, 48500
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.prompt_no == 1, 2)
    asked = rig.passes
    rig.run_until(lambda one: one.app.sequencer.prompt_no == 0, 130)
    assert (rig.passes - asked) * 250 == 120000
    assert _events(rig, "answered") == [(1, ANSWERED_BY.index("safe_default"))]
    answered = rig.passes
    rig.run_until(lambda one: one.state() == "resting", 70)
    assert (rig.passes - answered) * 250 == 60000


def test_nothing_is_held_before_the_target_is_reached():
    """Melt to 48: at 47.75 for ten minutes no clock runs; at 47.8 it is reached."""
    rig = unwitnessed(Rig(schedule=cooled_dark()))
    rig.board.product_mc = 47750
    rig.board.plate_mc = 55000
    rig.start()
    rig.run(600)
    assert _events(rig, "reached") == []
    assert rig.ask("ask_status").get("left_s") == -1
    rig.board.product_mc = 47800
    rig.run(1)
    assert _events(rig, "reached") == [(1, 47800)]


def test_the_host_can_answer_the_prompt_that_shows_and_no_other():
    """answer(2) while 1 shows is refused; answer(1) starts the hold."""
    rig = Rig(schedule=seeded_dark())
    rig.board.product_mc, rig.board.plate_mc = 48000, 48500
    rig.start()
    rig.run(1)
    assert rig.ask("answer", 2).get("code") == "no_prompt"
    assert rig.ask("answer", 1).name == "ok"
    assert _events(rig, "answered") == [(1, ANSWERED_BY.index("host"))]


def test_a_dip_of_0_4_k_is_seed_and_needs_no_tap():
    """33.5 falls to 33.063 within seconds: dip, added 120 g, answered `noticed`."""
    rig = _at_seed_prompt()
    rig.run(40)
    rig.board.product_mc = 33250
    rig.run(2)
    assert _events(rig, "dip") == []
    rig.board.product_mc = 33063
    rig.run(2)
    assert _events(rig, "dip") == [(437, 33063)]
    assert _events(rig, "added") == [(1, 120)]
    assert _events(rig, "answered") == [(2, ANSWERED_BY.index("noticed"))]


def test_slow_cooling_is_no_seed():
    """0.5 K a minute, the most that still air does, for four minutes: no dip."""
    rig = _at_seed_prompt()
    for second in range(240):
        rig.board.product_mc = 33500 - second * 500 // 60
        rig.run(1)
    assert _events(rig, "dip") == []


def test_after_the_seed_the_heat_never_goes_back_to_the_seeding_temperature():
    """The target is the next step's from the pass in which seed was noticed, and no heat comes."""
    rig = _at_seed_prompt()
    rig.board.product_mc = 33000
    rig.run(3)
    assert rig.app.sequencer.target_mc == 31500
    assert rig.state() == "seeding"
    for _ in range(100):
        rig.one_pass()
        assert rig.board.heat_on == 0


def test_unanswered_seed_goes_on_after_its_wait_without_a_word_of_seed():
    """600 s, then safe default, the hold of 120 s, then the cooling step. Nothing was added."""
    rig = _at_seed_prompt()
    passed_s = rig.run_until(lambda one: one.state() == "cooling", 800)
    assert 718 <= passed_s <= 721
    assert _events(rig, "answered") == [(2, ANSWERED_BY.index("safe_default"))]
    assert _events(rig, "added") == []


def test_seed_declared_by_the_host_answers_the_prompt():
    """declare(seed, 110): added with its grams, answered by host, target lowered."""
    rig = _at_seed_prompt()
    assert rig.ask("declare", 1, 110).name == "ok"
    assert _events(rig, "added") == [(1, 110)]
    assert _events(rig, "answered") == [(2, ANSWERED_BY.index("host"))]
    assert rig.app.sequencer.target_mc == 31500


def test_the_prompt_shows_the_grams():
    """The display's figure beside the seed prompt is 120."""
    rig = _at_seed_prompt()
    assert (rig.board.shown.prompt_no, rig.board.shown.value) == (2, 120)


def test_hands_hold_the_step_clock_and_give_the_same_step_back():
    """Bowl lifted for 60 s in a hold of 1200 s: heat and stirrer off, 1200 s held in all."""
    schedule = Schedule(
        "Lantern 72", "kept", "in_temper", 2000, 55000, [Step("work", 31500, 1200, 1000, 34000)]
    )
    rig = Rig(schedule=schedule)
    rig.board.product_mc = rig.board.plate_mc = 31500
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.reached, 2)
    began = rig.passes
    rig.run(100)
    held_ms = rig.app.sequencer.held_ms
    rig.board.bowl_present = 0
    rig.one_pass()
    assert rig.state() == "hands_in"
    assert _events(rig, "hands") == [(2, 0)]
    assert (rig.board.heat_on, rig.board.enable_edge, rig.board.stir_permille) == (0, 0, 0)
    rig.run(59.75)
    assert rig.app.sequencer.held_ms == held_ms
    rig.board.bowl_present = 1
    rig.one_pass()
    assert (rig.state(), rig.app.sequencer.step_no) == ("working", 1)
    rig.run_until(lambda one: one.state() == "finished", 1300)
    assert (rig.passes - began) * 250 in (1260000, 1260250, 1260500)


def test_after_ten_minutes_only_a_press_brings_the_batch_back():
    """Pedal up at 599 s goes on by itself; at 601 s it waits, chimes, and a press goes on."""
    for down_s, by_itself in ((598, True), (601, False)):
        rig = Rig(schedule=seeded_dark())
        rig.board.product_mc = rig.board.plate_mc = 44000
        rig.start()
        rig.board.pedal_down = 1
        rig.run(down_s)
        rig.board.pedal_down = 0
        rig.run(2)
        assert (rig.state() == "melting") == by_itself
        if not by_itself:
            rig.run_until(lambda one: one.board.buzzer, 61)
            rig.press(0.5)
            assert rig.state() == "melting"


def test_a_press_with_the_pedal_still_down_does_not_go_on():
    """Hands are still in: the press is only `I am here`."""
    rig = Rig(schedule=seeded_dark())
    rig.board.product_mc = rig.board.plate_mc = 44000
    rig.start()
    rig.board.pedal_down = 1
    rig.run(5)
    rig.press(0.5)
    assert rig.state() == "hands_in"
    assert _events(rig, "hands") == [(1, 0)]


def _working():
    schedule = Schedule(
        "Lantern 72", "kept", "in_temper", 2000, 55000, [Step("work", 31500, 1200, 1000, 34000)]
    )
    rig = Rig(schedule=schedule)
    rig.board.product_mc = rig.board.plate_mc = 31500
    rig.start()
    return rig


def _said(rig):
    """What the display says to do, and the row under it."""
    return words.lines(rig.board.shown)[1:3]


def test_the_display_says_what_brings_a_bowl_back():
    """Lifted: put it back. After ten minutes a press as well, and once it is back that alone."""
    rig = _working()
    rig.board.bowl_present = 0
    rig.run(599)
    assert _said(rig) == ("put bowl back", "to 31.5 C")
    rig.run(2)
    assert _said(rig) == ("put bowl back", "then press start")
    rig.board.bowl_present = 1
    rig.run(1)
    assert _said(rig) == ("go on?", "press start")
    rig.press(0.5)
    assert rig.state() == "working"
    assert _said(rig) == ("work", "to 31.5 C")


def test_the_display_says_why_a_batch_stands():
    """Pedal, a reading that fell, a stirrer, a doubt: each its own words; no words of hands for
    what is none."""
    rig = _working()
    rig.board.pedal_down = 1
    rig.run(1)
    assert _said(rig) == ("pedal down", "to 31.5 C")
    rig.run(600)
    assert _said(rig) == ("let pedal go", "then press start")
    for cause, what in (
        (BY_READING, "hands in, or is the probe out?"),
        (BY_STIRRER, "stirrer stands still"),
        (BY_DOUBT, "is the probe in the chocolate?"),
    ):
        rig = _working()
        rig.app.attend.pause(cause)
        rig.one_pass()
        assert _said(rig) == (what, "press start")
        assert words.lines(rig.board.shown)[3] == ""
        rig.press(0.5)
        assert rig.state() == "working"


def _stirred(rig, seconds):
    """How many of these seconds ended with the stirrer on."""
    on = 0
    for _ in range(seconds):
        rig.run(1)
        on += rig.board.stir_permille // 1000
    return on


def test_a_scraper_that_lifts_the_reading_over_blocks_does_not_start_the_stirrer():
    """31.5 degrees, 34.3 for 40 s as along the wall, and 31.5 again: pulses go on."""
    schedule = seeded_dark()
    schedule.start_state = "solid"
    rig = Rig(schedule=schedule)
    rig.board.product_mc, rig.board.plate_mc = 31500, 36000
    rig.start()
    for target_mc, seconds in ((34300, 40), (31500, 60)):
        step_mc = 400 if target_mc > rig.board.product_mc else -400
        for _ in range(seconds):
            if rig.board.product_mc != target_mc:
                rig.board.product_mc += step_mc
            rig.run(1)
    assert rig.state() == "melting"
    assert _stirred(rig, 60) == 20


def test_the_stirrer_waits_for_soft_chocolate():
    """A solid start: held below 30, 10 s in 30 s from 30, full after a minute at 34 degrees."""
    schedule = seeded_dark()
    schedule.start_state = "solid"
    rig = Rig(schedule=schedule)
    rig.board.product_mc, rig.board.plate_mc = 25000, 42000
    unwitnessed(rig)
    rig.start()
    rig.run(60)
    assert rig.board.stir_permille == 0
    ring = rig.app.journal.readings
    assert ring.row(ring.newest())[10] & 64 == 64
    while rig.board.product_mc < 31000:
        rig.board.product_mc += 400
        rig.run(1)
    stirred = 0
    for _ in range(240):
        rig.one_pass()
        stirred += rig.board.stir_permille // 1000
    assert stirred == 80
    while rig.board.product_mc < 34000:
        rig.board.product_mc += 400
        rig.run(1)
    assert _stirred(rig, 55) < 25
    rig.run(6)
    assert _stirred(rig, 30) == 30


def test_off_from_the_host_works_in_every_state_of_a_batch():
    """ready, a step and hands_in: off in the pass that reads the request."""
    for prepare in (_ready, _melting, _hands_in):
        rig = prepare()
        assert rig.ask("off").name == "ok"
        assert rig.state() == "off"
        board = rig.board
        assert (board.heat_on, board.fan_permille, board.stir_permille) == (0, 0, 0)


def _ready():
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"
    return rig


def _melting():
    rig = Rig()
    rig.start()
    return rig


def _hands_in():
    rig = _melting()
    rig.board.pedal_down = 1
    rig.run(1)
    return rig


def test_all_times_hold_across_the_wrap_of_the_clock():
    """Started 100 s before 2^30 ms: window, holds and ages pass the wrap without a stop."""
    rig = Rig(now=(1 << 30) - 100000, schedule=seeded_dark())
    rig.board.product_mc, rig.board.plate_mc = 48000, 48500
    rig.start()
    rig.run_until(lambda one: one.state() == "resting", 200)
    rig.run_until(lambda one: one.state() == "cooling", 130)
    assert _events(rig, "stop") == []
    assert _events(rig, "withheld") == []
