"""Other firmware: a request in off or locked, a fresh press, a mark for one boot, a restart."""

from fw_fakes import FakeKeep, Rig
from rigfw import limits
from rigfw.update import MARK, MARK_TEXT


class Board:
    """What a rig on a real board has besides: it can restart."""

    def __init__(self, rig):
        self.restarts = []
        self._rig = rig

    def restart(self):
        """Count, with whether anything was on."""
        board = self._rig.board
        on = (board.heat_on, board.enable_edge, board.fan_permille, board.stir_permille)
        self.restarts.append(on)


def _rig(**changes):
    rig = Rig(keep=FakeKeep(), **changes)
    board = Board(rig)
    rig.board.restart = board.restart
    rig.restarts = board.restarts
    rig.run(2)
    _step(rig, 0.5)
    return rig


def _step(rig, seconds):
    """Passes with what the composition root does after each."""
    for _ in range(int(seconds * 4)):
        rig.one_pass()
        rig.app.desk.update.after_pass(rig.app)


def _press(rig, held_s):
    rig.board.start_down = 1
    _step(rig, held_s)
    rig.board.start_down = 0
    _step(rig, 0.5)


def test_the_request_alone_does_nothing():
    """Answered ok; the state stays off, no mark, no restart, and the window closes after 180 s."""
    rig = _rig()
    assert rig.ask("ask_update").name == "ok"
    _step(rig, limits.WINDOW_MS // 1000 + 1)
    assert rig.state() == "off"
    assert not rig.app.desk.update.is_asked()
    _press(rig, 1.5)
    assert rig.restarts == []
    assert rig.board.keep.read(MARK) == b""


def test_a_fresh_press_leaves_the_mark_and_restarts_with_all_off():
    """1.5 s: one restart, the mark on the flash, every output off before it."""
    rig = _rig()
    rig.ask("ask_update")
    _press(rig, 1.5)
    assert rig.restarts == [(0, 0, 0, 0)]
    assert rig.board.keep.read(MARK) == MARK_TEXT


def test_without_a_request_no_press_restarts():
    """Any press in off, asked by nobody."""
    rig = _rig()
    for held_s in (0.5, 1.5, 4):
        _press(rig, held_s)
    assert rig.restarts == []


def test_too_short_too_long_or_begun_before_does_not_count():
    """0.5 s and 4 s are no yes, nor is a button that was down when the request came."""
    rig = _rig()
    rig.board.start_down = 1
    _step(rig, 0.5)
    rig.ask("ask_update")
    _step(rig, 1)
    rig.board.start_down = 0
    _step(rig, 0.5)
    _press(rig, 0.5)
    _press(rig, 4)
    assert rig.restarts == []
    assert rig.app.desk.update.is_asked()


def test_in_locked_it_works_too():
    """A board without a description is locked; that is just when files must come."""
    rig = _rig()
    rig.app.lock("no description", 11)
    assert rig.ask("ask_update").name == "ok"
    _press(rig, 1.5)
    assert len(rig.restarts) == 1


def test_refused_whenever_anything_runs_or_is_about_to():
    """Ready, testing, in a batch, stopped: busy; and nothing restarts whatever is pressed."""
    rig = _rig()
    rig.ask("ask_test", 100, 0, 0, 60000, 60)
    assert rig.state() == "ready"
    assert rig.ask("ask_update").get("code") == "busy"
    _press(rig, 1.5)
    assert rig.state() == "testing"
    assert rig.ask("ask_update").get("code") == "busy"
    rig.board.stop_open = 1
    _step(rig, 1)
    assert rig.state() == "stopped"
    assert rig.ask("ask_update").get("code") == "busy"
    assert rig.restarts == []


def test_a_start_asked_for_meanwhile_closes_the_window():
    """The press that follows starts the test that was asked for last, and restarts nothing."""
    rig = _rig()
    rig.ask("ask_update")
    rig.ask("ask_test", 100, 0, 0, 60000, 60)
    _press(rig, 1.5)
    assert rig.state() == "testing"
    assert not rig.app.desk.update.is_asked()
    rig.ask("off")
    _press(rig, 1.5)
    assert rig.restarts == []


def test_a_full_flash_restarts_nothing():
    """Without its mark the board would come up running: so it stays as it is."""
    rig = _rig()
    rig.board.keep.is_full = True
    rig.ask("ask_update")
    _press(rig, 1.5)
    assert rig.restarts == []
    assert rig.state() == "off"


def test_a_rig_without_files_says_so():
    """The simulated rig has nothing to restart."""
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_update").get("code") == "not_here"
