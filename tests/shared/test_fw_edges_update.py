"""The window for other firmware, at the edge: one ms of the press, one press, one part missing."""

from fw_fakes import FakeClock
from rigfw.numbers import OFF, READY
from rigfw.update import MARK, MARK_TEXT, Update


class _Keep:
    """A flash: `is_full` takes nothing."""

    def __init__(self, is_full=False):
        self.files = {}
        self._is_full = is_full

    def write(self, name, data):
        """True when it was kept."""
        if not self._is_full:
            self.files[name] = data
        return not self._is_full


class _Board:
    """Has what the test gives it; counts restarts, with what was called before."""

    def __init__(self, keep, can_restart=True):
        self.keep = keep
        self.called = []
        if can_restart:
            self.restart = lambda: self.called.append("restart")


class _Here:
    """Where the rig is, and its start button."""

    state_no = OFF
    start_down = 0


class _App:
    """What `after_pass` looks at."""

    def __init__(self, board):
        self.sequencer = self.inputs = _Here()
        self.clock = FakeClock()
        self.now_ms = 0
        self.all_off = lambda: board.called.append("off")


class _Button:
    """A press as the test says it."""

    def __init__(self, number=1, held_ms=1500, let_go=True):
        self.number, self.held_ms, self._let_go = number, held_ms, let_go

    def step(self, _down, _passed_ms):
        """Whether it was let go in this pass."""
        return self._let_go


def _pressed(held_ms=1500, number=1, keep=None, state_no=OFF):
    """(what was called, whether the window is open) after one pass with this press."""
    board = _Board(_Keep() if keep is None else keep)
    update, app = Update(board), _App(board)
    update._button = _Button(0)
    update.ask()
    update._button = _Button(number, held_ms)
    app.sequencer.state_no = state_no
    update.after_pass(app)
    return board.called, update.is_asked()


def test_a_board_needs_both_a_restart_and_a_place_for_the_mark():
    """With one of them it is a rig without files."""
    assert Update(_Board(_Keep())).can_restart()
    assert not Update(_Board(None)).can_restart()
    assert not Update(_Board(_Keep(), can_restart=False)).can_restart()


def test_a_press_of_1000_to_3000_ms_counts():
    """Both ends of it; a ms less or more does not, and leaves the window open."""
    for held_ms, is_right in ((999, False), (1000, True), (3000, True), (3001, False)):
        called, is_open = _pressed(held_ms)
        assert (called == ["off", "restart"]) == is_right, held_ms
        assert is_open != is_right, held_ms


def test_only_a_press_that_began_after_the_request_counts():
    """Its number is above that of the last one before it."""
    assert _pressed(number=0) == ([], True)
    update = Update(_Board(_Keep()))
    update._button = _Button(5)
    update.ask()
    assert not update._is_right()
    update._button = _Button(6)
    assert update._is_right()


def test_all_is_off_before_the_mark_and_a_mark_that_failed_closes_the_window():
    """Nothing is restarted then, and the next press begins nothing."""
    assert _pressed(keep=_Keep(is_full=True)) == (["off"], False)
    keep = _Keep()
    _pressed(keep=keep)
    assert keep.files == {MARK: MARK_TEXT}


def test_a_rig_that_is_about_to_run_closes_the_window():
    """Whatever is pressed."""
    assert _pressed(state_no=READY) == ([], False)
