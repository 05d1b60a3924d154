"""Tests of outputs: a press allows, leases drive, and everything ends by itself."""

from fw_fakes import Rig, seeded_dark
from rigwire.messages import MISSING_MC


def _asked(heat=300, fan=500, stir=400, plate_mc=60000, most_s=60):
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_test", heat, fan, stir, plate_mc, most_s).name == "ok"
    return rig


def _testing(**asked):
    rig = _asked(**asked)
    rig.press(1.5)
    assert rig.state() == "testing"
    return rig


def _is_off(rig):
    board = rig.board
    return (board.heat_on, board.enable_edge, board.fan_permille, board.stir_permille) == (0,) * 4


def _seconds_until_off(rig, most_s):
    return rig.run_until(lambda one: one.state() == "off", most_s)


def test_a_request_drives_nothing_before_the_press():
    """The window is open, leases are refused, every output is off."""
    rig = _asked()
    assert rig.state() == "ready"
    assert rig.ask("lease", 300, 0, 0).get("code") == "no_test"
    assert _is_off(rig)


def test_a_window_whose_host_was_killed_closes():
    """A lease before the press drives nothing and is refused; 5 s after the last the window is
    closed, and a press then begins nothing. Without any it stands its 3 minutes."""
    rig = _asked()
    for _ in range(30):
        assert rig.ask("lease", 300, 0, 0).get("code") == "no_test"
        assert rig.state() == "ready" and _is_off(rig)
    assert 3 <= _seconds_until_off(rig, 6) <= 5.0
    rig.press(1.5)
    assert rig.state() == "off" and _is_off(rig)
    rig = _asked()
    rig.run(170)
    assert rig.state() == "ready"


def _start_asked(is_kept=1):
    """The window of a batch is open, and its host said once that it is there, or did not."""
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"
    assert rig.state() == "ready"
    if is_kept:
        assert rig.ask("lease", 0, 0, 0).get("code") == "no_test"
    return rig


def test_the_window_of_a_batch_closes_5_s_after_its_host_went_away():
    """Kept for a minute by a lease every 3 s; 5 s after the last it is closed, and a press heats
    nothing and starts nothing."""
    rig = _start_asked()
    for _ in range(20):
        rig.run(1)
        assert rig.ask("lease", 0, 0, 0).get("code") == "no_test"
        assert rig.state() == "ready" and _is_off(rig)
    assert 3 <= _seconds_until_off(rig, 6) <= 5.0
    rig.press(1.5)
    for _ in range(240):
        rig.one_pass()
        assert rig.state() == "off" and _is_off(rig)


def _lease_then_ask(name, silent_s=0):
    """A host says that it is there, is silent for so long, asks, and is never heard again."""
    rig = Rig()
    rig.run(2)
    values = (300, 0, 0, 60000, 60) if name == "ask_test" else (rig.load(),)
    assert rig.ask("lease", 0, 0, 0).get("code") == "no_test"
    rig.run(silent_s)
    assert rig.state() == "off" and _is_off(rig)
    assert rig.ask(name, *values).name == "ok"
    assert rig.state() == "ready"
    return rig


def test_a_host_killed_right_after_it_asked_leaves_no_window_open():
    """It had said before that it is there: 5 s after that the window is closed, and a press begins
    nothing. Asking took 2 s of them."""
    for name in ("ask_start", "ask_test"):
        rig = _lease_then_ask(name)
        assert 1 <= _seconds_until_off(rig, 6) <= 3.0, name
        rig.press(1.5)
        for _ in range(40):
            rig.one_pass()
            assert rig.state() == "off" and _is_off(rig), name


def test_who_said_long_before_that_it_is_there_does_not_keep_what_it_asks_for():
    """5 s later its word is over: the window stands its 3 minutes, as that of a host that never
    says so, or of a person at a terminal."""
    for name in ("ask_start", "ask_test"):
        rig = _lease_then_ask(name, silent_s=5)
        rig.run(170)
        assert rig.state() == "ready", name


def test_a_host_that_goes_on_keeps_the_window_it_asked_for():
    """Told before and then every 3 s, for a minute; 5 s after the last it closes."""
    rig = _lease_then_ask("ask_start")
    for _ in range(20):
        assert rig.ask("lease", 0, 0, 0).get("code") == "no_test"
        assert rig.state() == "ready"
        rig.run(1)
    assert 2 <= _seconds_until_off(rig, 6) <= 5.0


def test_a_press_ends_what_a_host_said_of_its_window():
    """The test is over at once; the window that somebody else asks for then stands."""
    rig = _asked()
    rig.ask("lease", 0, 0, 0)
    rig.press(1.5)
    rig.press(0.5)
    assert rig.state() == "off"
    assert rig.ask("ask_test", 300, 0, 0, 60000, 60).name == "ok"
    rig.run(60)
    assert rig.state() == "ready"


def test_a_window_that_no_host_keeps_stands_its_3_minutes():
    """A person may be on the way."""
    rig = _start_asked(is_kept=0)
    rig.run(170)
    assert rig.state() == "ready"


def test_a_window_that_is_asked_for_anew_is_kept_by_the_same_host():
    """Its word holds 5 s, whatever it asks meanwhile: a request sent twice changes nothing."""
    rig = _start_asked()
    assert rig.ask("ask_start", rig.app.desk.upload.digest).name == "ok"
    assert 1 <= _seconds_until_off(rig, 6) <= 3.0


def test_a_press_in_a_window_that_is_kept_starts_the_batch():
    """The leases of its host drive nothing then, nor end it when they stop."""
    rig = _start_asked()
    rig.press(1.5)
    assert rig.state() != "ready" and rig.board.stir_permille + rig.board.heat_on
    begun = rig.state()
    assert rig.ask("lease", 1000, 0, 0).get("code") == "no_test"
    rig.run(30)
    assert rig.state() == begun


def test_a_start_window_after_a_test_window_is_kept_by_the_same_host():
    """A batch is asked for in place of the test: its host's silence closes that window, too."""
    rig = _asked()
    rig.ask("lease", 300, 0, 0)
    rig.app.windows.open_start(seeded_dark())
    assert 3 <= _seconds_until_off(rig, 6) <= 5.0


def test_the_press_alone_drives_nothing():
    """In testing without a lease nothing runs, and 5 s later the test is over."""
    rig = _testing()
    assert _is_off(rig)
    assert _seconds_until_off(rig, 6) <= 5.0


def test_a_lease_drives_what_it_says():
    """Fan and stirrer stand at the lease; the heater gives 300 permille of ten seconds."""
    rig = _testing()
    on = 0
    for _ in range(40):
        if rig.passes % 8 == 0:
            assert rig.ask("lease", 300, 500, 400).name == "ok"
        rig.one_pass()
        on += rig.board.heat_on
    assert (rig.board.fan_permille, rig.board.stir_permille) == (500, 400)
    assert 6 <= on <= 18
    ring = rig.app.journal.readings
    assert ring.row(ring.newest())[7:10] == (300, 500, 400)


def test_all_is_off_five_seconds_after_the_last_lease():
    """Twenty passes of 250 ms after the pass that heard it, to the pass; heat on until then."""
    rig = _testing(heat=1000)
    rig.ask("lease", 1000, 500, 400)
    for _ in range(19 - 7):  # the request was heard in the first of the eight passes of asking
        rig.one_pass()
        board = rig.board
        assert (board.heat_on, board.fan_permille, board.stir_permille) == (1, 500, 400)
    rig.one_pass()
    assert rig.state() == "off" and _is_off(rig)


def test_a_late_pass_ends_a_lease_in_that_pass():
    """A pass that comes 5 s late finds the lease over and leaves everything off."""
    rig = _testing(heat=1000)
    rig.ask("lease", 1000, 500, 400)
    assert rig.board.heat_on == 1
    rig.one_pass(5000)
    assert _is_off(rig) and rig.state() in ("off", "stopped")


def test_hands_at_the_rig_end_a_test_in_the_same_pass():
    """Bowl lifted or pedal down: all off, state off, stirrer too."""
    for contact, value in (("bowl_present", 0), ("pedal_down", 1)):
        rig = _testing()
        rig.ask("lease", 300, 500, 400)
        assert rig.board.stir_permille == 400
        setattr(rig.board, contact, value)
        rig.one_pass()
        assert rig.state() == "off" and _is_off(rig), contact


def test_more_than_the_press_allowed_is_refused():
    """One permille over any of the three is refused and drives nothing new."""
    rig = _testing()
    assert rig.ask("lease", 100, 100, 100).name == "ok"
    for powers in ((301, 0, 0), (0, 501, 0), (0, 0, 401)):
        assert rig.ask("lease", *powers).get("code") == "over_the_press"
        assert rig.ask("lease", 100, 100, 100).name == "ok"
        assert rig.board.fan_permille == 100
    assert rig.ask("lease", 300, 500, 400).name == "ok"


def test_the_test_ends_with_its_time_however_it_is_leased():
    """A test of 10 s is over after 10 s, leases or not."""
    rig = _testing(most_s=10)
    passes = rig.passes
    for _ in range(20):
        if rig.state() != "testing":
            break
        rig.ask("lease", 300, 0, 0)
    assert rig.state() == "off" and _is_off(rig)
    assert (rig.passes - passes) / 4 <= 12.5


def test_any_press_and_off_end_a_test():
    """A short press, or `off`, and all is off."""
    rig = _testing()
    rig.ask("lease", 300, 500, 400)
    rig.press(0.5)
    assert rig.state() == "off" and _is_off(rig)
    rig = _testing()
    rig.ask("lease", 300, 500, 400)
    assert rig.ask("off").name == "ok"
    assert rig.state() == "off" and _is_off(rig)


def test_interlocks_hold_in_a_test():
    """Missing probe: heat 0 at once, stopped by 4 s. Stop loop: stopped in the same pass."""
    rig = _testing()
    rig.ask("lease", 300, 0, 0)
    rig.board.product_mc = MISSING_MC
    rig.run(1.25)
    assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    for _ in range(4):
        rig.ask("lease", 300, 0, 0)
    assert rig.state() == "stopped" and _is_off(rig)
    rig = _testing()
    rig.ask("lease", 300, 500, 400)
    rig.board.stop_open = 1
    rig.one_pass()
    assert rig.state() == "stopped" and _is_off(rig)


def _leased_s(rig, seconds, fall_mc_per_s, fan=0):
    """Seconds that the test lived of `seconds` with heat leased, the reading falling as told."""
    for second in range(seconds):
        rig.board.product_mc -= fall_mc_per_s
        rig.board.plate_mc = rig.board.product_mc + 500
        if second % 3 == 0:
            rig.app.testing.lease(300, fan, 400)
        rig.run(1)
        if rig.state() != "testing":
            return second + 1
    return seconds


def _warm_test(most_s=3600):
    rig = Rig()
    rig.board.product_mc = rig.board.plate_mc = 45000
    rig.run(2)
    assert rig.ask("ask_test", 300, 1000, 400, 60000, most_s).name == "ok"
    rig.press(1.5)
    assert rig.state() == "testing"
    return rig


def test_a_probe_that_falls_in_a_test_ends_it_at_3_k():
    """0.4 K a second is no jump; more than 3 K below where it was, all is off."""
    rig = _warm_test()
    assert _leased_s(rig, 30, 400) == 8
    assert rig.state() == "off" and _is_off(rig)


def test_a_bowl_that_cools_in_a_test_is_no_lifted_probe():
    """0.9 K a minute is what still air takes at most; and with the fan it may fall fast."""
    rig = _warm_test()
    assert _leased_s(rig, 900, 15) == 900
    rig = _warm_test()
    assert _leased_s(rig, 60, 100, fan=1000) == 60
    assert _leased_s(rig, 20, 100) == 20


def test_heat_is_withheld_over_the_plate_limit_asked_for():
    """A plate 1 K over the limit of this test gets no heat, fan and stirrer go on."""
    rig = _testing(plate_mc=45000)
    rig.board.plate_mc = 46000
    rig.run(1.5)
    rig.ask("lease", 300, 500, 400)
    assert rig.board.heat_on == 0 and rig.board.fan_permille == 500
    assert rig.app.withheld.code


def test_a_plate_limit_over_the_rigs_own_is_refused():
    """A test cannot raise a ceiling."""
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_test", 300, 0, 0, 70001, 60).get("code") == "ceiling"
    assert rig.state() == "off"


def test_a_start_after_a_test_was_asked_starts_the_schedule():
    """What was asked last is what a press begins, both ways."""
    rig = _asked()
    assert rig.ask("off").name == "ok"
    assert rig.ask("ask_start", rig.load()).name == "ok"
    rig.press(1.5)
    assert rig.state() == "melting"
    rig = Rig()
    rig.run(2)
    name = rig.load()
    assert rig.ask("ask_start", name).name == "ok"
    assert rig.ask("ask_test", 300, 0, 0, 60000, 60).name == "ok"
    rig.press(1.5)
    assert rig.state() == "testing"
