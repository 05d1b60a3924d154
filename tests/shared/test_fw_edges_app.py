"""The one path that turns all off, who takes it, and what is believed: call by call."""

from fw_fakes import MISSING, Rig
from rigfw import limits
from rigfw.numbers import HANDS_IN, LOCKED, MELTING, OFF, READY, STOPPED

STALE_MS = limits.PRODUCT_STALE_MS


def _heating():
    """A batch that melts with all heat, its outputs on."""
    rig = Rig()
    rig.start()
    rig.run_until(lambda one: one.board.heat_on and one.board.stir_permille, 60)
    assert rig.app._heat_permille > 0 and rig.app.regulator.heat_permille > 0
    return rig


def _is_off(rig):
    board = rig.board
    return (board.heat_on, board.enable_edge, board.fan_permille, board.stir_permille) == (0,) * 4


def test_all_off_is_off_at_once_and_leaves_no_demand():
    """Board, pulses and the regulator's last word, in the call itself."""
    rig = _heating()
    rig.app._fan_permille = 700
    rig.app.all_off()
    assert _is_off(rig)
    assert rig.app.regulator.heat_permille == 0
    assert (rig.app._heat_permille, rig.app._fan_permille) == (0, 0)
    assert rig.app.drive.outputs.heat_on == 0


def test_off_and_lock_and_stop_take_that_path_themselves():
    """Nothing waits for the next pass; what was withheld is over; a lock and a stop are heard."""
    for turn, state, is_heard in (
        (lambda app: app.off(), "off", 0),
        (lambda app: app.lock("broken", 9), "locked", 1),
        (lambda app: app.stop(7, 1), "stopped", 1),
    ):
        rig = _heating()
        rig.app.withheld.now(1, 5, 250)
        rig.app.drive._buzz_ms = 0
        offs = rig.board.offs
        turn(rig.app)
        assert _is_off(rig) and rig.board.offs > offs, state
        assert rig.state() == state
        assert rig.app.withheld.code == 0
        assert (rig.app.drive._buzz_ms > 0) == bool(is_heard), state


def test_a_lock_says_why_and_where_nothing_runs_it_turns_nothing_off():
    """In off the outputs are off; its words and its code are the last ones given."""
    rig = Rig()
    rig.run(1)
    offs = rig.board.offs
    rig.app.lock("first", 20)
    assert (rig.app.lock_words, rig.state(), rig.board.offs) == ("first", "locked", offs)
    assert rig.app.sequencer.stop_code == 20


def test_an_exception_turns_all_off_and_stops_once():
    """Code 9; a second one while it stands stops no second time, and is off all the same."""
    rig = _heating()
    stops = []
    keep = rig.app.sequencer.stop

    def stop(code, value):
        stops.append((code, value))
        keep(code, value)

    rig.app.sequencer.stop = stop
    for _ in range(2):
        offs = rig.board.offs
        rig.app._fail(ValueError("x"))
        assert rig.board.offs > offs and _is_off(rig)
    assert stops == [(9, 0)]
    assert rig.state() == "stopped" and len(rig.faults) == 2


def test_every_pass_that_came_through_feeds_the_watchdog_once():
    """And one that raised before its outputs were written does not."""
    rig = Rig()
    rig.run(1)
    kicks = rig.board.kicks
    rig.run(5)
    assert rig.board.kicks == kicks + 20
    rig.app.judge = None
    rig.one_pass()
    assert rig.board.kicks == kicks + 20


def test_what_is_believed_is_fresh_and_in_a_batch_what_the_checks_believe():
    """Missing, or older than 2 s: none. In steps and pauses the interlocks' reading, else the
    probe's own."""
    rig = Rig()
    rig.run(2)
    app, readings = rig.app, rig.app.readings
    app.interlocks.product_mc = 12345
    readings.product_mc, readings.product_at_ms = 31000, app.now_ms
    assert app.product_mc() == 31000
    readings.product_at_ms = app.now_ms - STALE_MS
    assert app.product_mc() == 31000
    readings.product_at_ms = app.now_ms - STALE_MS - 1
    assert app.product_mc() == MISSING
    readings.product_at_ms, readings.product_mc = app.now_ms, MISSING
    for state_no in (OFF, HANDS_IN):  # a missing one is missing, whatever was believed before
        app.sequencer.state_no = state_no
        assert app.product_mc() == MISSING
    readings.product_mc = 31000
    assert app.product_mc() == 12345
    rig = _heating()
    rig.app.interlocks.product_mc = 12345
    rig.app.readings.product_mc, rig.app.readings.product_at_ms = 31000, rig.app.now_ms
    assert rig.app.product_mc() == 12345


def _calls_of(holder, name):
    """What `holder.name` is called with from now on; it does nothing."""
    calls = []
    setattr(holder, name, lambda *values: calls.append(values))
    return calls


def test_a_blind_regulator_rests_and_any_other_cause_leaves_its_demand():
    """Probe missing, out of range, jumped: no demand survives it. A hot plate only withholds."""
    for code, rests in ((1, 1), (2, 1), (3, 1), (5, 0), (0, 0)):
        rig = _heating()
        app = rig.app
        app._regulated_ms = app.readings.product_at_ms
        app.withheld.code = code
        app.regulate()
        assert (app.regulator.heat_permille == 0) == bool(rests), code


def test_only_a_new_reading_that_is_one_makes_a_new_demand():
    """The same again, or none: the demand stands, and the fan's is written as it is."""
    for is_new, product_mc, expected in ((0, 40000, 0), (1, MISSING, 0), (1, 40000, 1)):
        rig = _heating()
        app = rig.app
        demands = _calls_of(app.regulator, "demand")
        app.readings.product_mc = product_mc
        app._regulated_ms = app.readings.product_at_ms - is_new
        app.regulator.fan_permille = 700
        app.regulate()
        assert len(demands) == expected, (is_new, product_mc)
        assert app._fan_permille == 700


def test_each_second_tells_what_was_blown_in_it_once():
    """700 permille for a second; the next second begins with none."""
    rig = _heating()
    app = rig.app
    app.drive.blown_permille_ms, app._second_ms = 700000, 900
    app.read(rig.clock.add(app.now_ms, 250))
    assert (app._blown_permille, app.drive.blown_permille_ms) == (700, 0)


def test_a_probe_that_is_not_described_reads_nothing():
    """Whatever the board has of it."""
    rig = Rig(has_plate=0, has_room=0)
    rig.board.has_plate = 1
    rig.board.plate_mc, rig.board.room_mc = 40000, 21000
    rig.run(2)
    assert (rig.app.readings.plate_mc, rig.app.readings.room_mc) == (MISSING, MISSING)


def test_a_step_and_a_prompt_begin_once():
    """Checks and people forget what was before the step; a prompt is heard, its end is not."""
    rig = _heating()
    app = rig.app
    locks, people = _calls_of(app.interlocks, "begin_step"), _calls_of(app.attend, "begin_step")
    chimes = _calls_of(app.drive, "chime")
    app._step_seen, app.sequencer.prompt_no = 99, 0
    app.sequencer.tick = lambda *_values: None
    for prompt_no, heard in ((0, 0), (2, 1), (2, 1), (0, 1)):
        app.sequencer.prompt_no = prompt_no
        app.step()
        assert len(chimes) == heard
    assert locks == [(app.product_mc(),)] and people == [()]
    assert chimes == [(1000,)]


def test_a_batch_begins_with_its_mass_and_its_first_step_as_new():
    """For the regulator, too."""
    rig = _heating()
    app = rig.app
    begun = _calls_of(app.regulator, "begin")
    assert app._step_seen != 0
    app.begin(1234)
    assert begun == [(1234,)] and app._step_seen == 0


def test_the_relay_stays_closed_in_a_second_without_heat_and_opens_in_a_test_without_a_lease():
    """`power` hears in a batch that heat may be; in a test with none asked for, not."""
    for name, expected in (("ask_start", True), ("ask_test", False)):
        rig = Rig()
        rig.run(2)
        values = (rig.load(),) if name == "ask_start" else (300, 0, 400, 60000, 60)
        rig.ask(name, *values)
        rig.press(1.5)
        app = rig.app
        powers = _calls_of(app.drive, "power")
        app._heat_permille = 0
        app.withheld.clear()
        app.write()
        assert bool(powers[0][2]) == expected, name


def test_the_rig_calls_in_a_prompt_and_where_it_waits_for_a_press():
    """Not in a step that runs without one. Its lamp tells of a batch, hands in it or not."""
    for state_no, prompt_no, is_batch, expected in (
        (MELTING, 0, 1, 0), (MELTING, 2, 1, 1), (READY, 0, 0, 1), (STOPPED, 0, 0, 1),
        (LOCKED, 0, 0, 1), (OFF, 0, 0, 0), (HANDS_IN, 0, 1, 0),
    ):  # fmt: skip
        rig = _heating()
        app = rig.app
        signals = _calls_of(app.drive, "signal")
        app.sequencer.state_no, app.sequencer.prompt_no = state_no, prompt_no
        app.write()
        signalled = (bool(signals[0][0]), bool(signals[0][1]))
        assert signalled == (bool(is_batch), bool(expected)), (state_no, prompt_no)


def test_a_test_that_is_over_is_off_in_that_step_and_withholds_nothing_more():
    """At once, and before anything is written."""
    rig = Rig()
    rig.run(2)
    rig.ask("ask_test", 300, 0, 400, 60000, 60)
    rig.press(1.5)
    rig.ask("lease", 300, 0, 400)
    app = rig.app
    app.withheld.now(5, 5, 250)
    offs = rig.board.offs
    app._passed_ms = 60000
    app.step()
    assert _is_off(rig) and rig.board.offs > offs
    assert (rig.state(), app.withheld.code) == ("off", 0)


def test_telling_of_a_fault_is_never_the_next_one():
    """Who cannot be told is not; nobody to tell changes nothing."""
    rig = _heating()
    for listener, code in ((None, 5), (_calls_of(rig, "listener").remove, 0)):
        rig.app._on_fault = listener
        rig.app.withheld.now(5, 5, 250)
        rig.app._tell(ValueError("x"))
        assert rig.app.withheld.code == code
