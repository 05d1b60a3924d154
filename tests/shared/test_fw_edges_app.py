"""The one path that turns all off, who takes it, and what is believed: call by call."""

from fw_fakes import MISSING, Rig
from rigfw import limits
from rigfw.numbers import HANDS_IN, OFF

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
