"""A rig is asked, a person presses, and only then is it at its prompt."""

from collections.abc import Callable

import pytest

from rigwire.states import STATES
from snapgloss.base.errors import LinkError, RigError
from snapgloss.link.client import RigLink
from snapgloss.link.strangers import AT_PROMPT
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs import prompt
from snapgloss.runs.connect import introduce
from snapgloss.runs.prompt import board_at_prompt


class Bench:
    """A scripted rig that restarts when told, and how its port opens each time."""

    def __init__(self, state: str = "off") -> None:
        self.rig = ScriptedRig()
        self.rig.state_no = STATES.index(state)
        self.clock = ScriptedClock(self.rig)
        self.said: list[str] = []
        self.entered: list[str] = []
        self.later: list[Callable[[], RigLink]] = []

    def open_link(self, _port: str) -> RigLink:
        """First the running rig, then what `later` says."""
        if not self.rig.is_closed:
            return introduce(self.rig, self.clock)
        return self.later.pop(0)() if len(self.later) > 1 else self.later[0]()

    def run(self) -> None:
        """What the command does."""
        board_at_prompt("port", self.said.append, self.open_link, self._board, _Wall())

    def _board(self, port: str) -> None:
        self.entered.append(port)


class _Wall:
    """The wall clock while a port is looked for again."""

    def __init__(self) -> None:
        self.at_s = 0.0

    def now_s(self) -> float:
        return self.at_s

    def wait(self, _ready: object, at_most_s: float) -> bool:
        self.at_s += at_most_s
        return False


def refuse(message: str, remedy: str = "") -> Callable[[], RigLink]:
    """A port that opens so."""

    def opened() -> RigLink:
        raise LinkError(message, remedy)

    return opened


def test_asked_pressed_restarted_entered() -> None:
    """The press restarts the rig: its cable seems out, then it answers as a prompt does."""
    bench = Bench()
    bench.rig.then["ask_update"] = bench.rig.unplug
    bench.later = [refuse("There is no port."), refuse(*AT_PROMPT)]
    bench.run()
    assert [one.name for one in bench.rig.done][-1] == "ask_update"
    assert bench.said == [prompt.PRESS]
    assert bench.entered == ["port"]


def test_a_locked_rig_may_be_updated() -> None:
    """Locked for want of a description: that is when files must come."""
    bench = Bench("locked")
    bench.rig.then["ask_update"] = bench.rig.unplug
    bench.later = [refuse(*AT_PROMPT)]
    bench.run()
    assert bench.entered == ["port"]


@pytest.mark.parametrize("state", sorted(set(STATES) - {"off", "locked"}))
def test_any_other_state_is_refused_before_anything_is_asked(state: str) -> None:
    """Ready, in a batch, testing, stopped, finished: no request leaves this computer."""
    bench = Bench(state)
    with pytest.raises(RigError, match="takes no update now"):
        bench.run()
    assert "ask_update" not in [one.name for one in bench.rig.done]
    assert bench.entered == []


def test_nobody_presses() -> None:
    """After three minutes it ends; nothing was changed."""
    bench = Bench()
    with pytest.raises(RigError, match="Nobody pressed start"):
        bench.run()
    assert bench.clock.at_s >= 180
    assert bench.entered == []


def test_the_rig_refuses() -> None:
    """A simulated rig has no files: its own words are shown."""
    bench = Bench()
    bench.rig.answers["ask_update"] = ("no", ("not_here", "this rig has no files"))
    with pytest.raises(RigError, match="this rig has no files"):
        bench.run()


def test_a_rig_that_starts_its_program_again_is_not_written_to() -> None:
    """The mark was lost: it answers hello after the restart, so its files are left alone."""
    bench = Bench()
    bench.rig.then["ask_update"] = bench.rig.unplug
    bench.later = [lambda: introduce(ScriptedRig(), None)]
    with pytest.raises(RigError, match="started its program again"):
        bench.run()
    assert bench.entered == []


def test_a_rig_that_does_not_come_back() -> None:
    """No port for half a minute: the port's own words."""
    bench = Bench()
    bench.rig.then["ask_update"] = bench.rig.unplug
    bench.later = [refuse("There is no port.", "Plug it in.")]
    with pytest.raises(LinkError, match="There is no port"):
        bench.run()


def test_a_board_at_its_prompt_is_entered_at_once() -> None:
    """New from the shop, or the button was held: no press, no request."""
    entered: list[str] = []
    board_at_prompt("port", entered.append, lambda _port: refuse(*AT_PROMPT)(), entered.append)  # type: ignore[arg-type]
    assert entered == ["port"]


def test_a_silent_board_is_not_interrupted() -> None:
    """Nobody answers: no Ctrl-C is sent to find out; the link's own words are shown."""
    entered: list[str] = []
    with pytest.raises(LinkError, match="Nobody answers"):
        board_at_prompt(
            "port", entered.append, lambda _port: refuse("Nobody answers.")(), entered.append
        )  # type: ignore[arg-type]
    assert entered == []
