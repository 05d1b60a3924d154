"""A rig that is away: what is said of it, and when it is tried again, by a clock of the test's."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from snapgloss.base.errors import CableOut, LinkError, SnapglossError
from snapgloss.link.backoff import Backoff
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.link.transport import SerialTransport, _why_not_open
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.connect import introduce
from snapgloss.runs.live.session import Session
from snapgloss.store import open_store

OUT = CableOut("The rig on A is gone: the cable came out.", "Run the command again.")
BUSY = LinkError("The port A is busy.", "Close the other program.")
CABLE = "The cable is out; trying again ... Plug it in at both ends: it goes on by itself."


class Trial:
    """A session in this thread, that meets one thing after another and then ends."""

    def __init__(self, folder: Path, meets: list[SnapglossError | Callable[[], RigLink]]) -> None:
        self.waits: list[float] = []
        self.said: list[str] = []
        self._meets = meets
        with open_store(folder) as store:
            self.session = Session(
                store, folder, BENCH_RIG, lambda: "A", open_link=self._open, pause=self._pause
            )
            self.session._run()

    def _open(self, port: str) -> RigLink:
        met = self._meets.pop(0)
        if isinstance(met, SnapglossError):
            raise met
        return met()

    def _pause(self, seconds: float) -> None:
        self.waits.append(seconds)
        self.said.append(self.session.feed.moment.trouble)
        if not self._meets:
            self.session.end()


def pulled() -> RigLink:
    """A link that answered its hello, and whose cable then came out."""
    rig = ScriptedRig()
    link = introduce(rig, ScriptedClock(rig))
    rig.unplug()
    return link


def test_waits_double_up_to_a_bound() -> None:
    """And begin anew once the rig was there."""
    backoff = Backoff(0.5, 4.0)
    assert [backoff.next_s() for _ in range(6)] == [0.5, 1.0, 2.0, 4.0, 4.0, 4.0]
    backoff.reset()
    assert backoff.next_s() == 0.5


def test_a_cable_that_is_out_is_said_and_tried_again(tmp_path: Path) -> None:
    """In words without a command; after half a second, one, two, then every four."""
    trial = Trial(tmp_path, [pulled, *[OUT] * 4])
    assert trial.waits == [0.5, 1.0, 2.0, 4.0, 4.0]
    assert set(trial.said[1:]) == {CABLE}
    assert not trial.session.feed.moment.is_there


def test_what_else_keeps_it_away_is_said_as_it_is(tmp_path: Path) -> None:
    """With what to do about it."""
    trial = Trial(tmp_path, [BUSY])
    assert trial.said == ["The port A is busy. Close the other program. Trying again ..."]


def test_a_port_at_which_no_rig_was_is_named(tmp_path: Path) -> None:
    """It may be a slip of the fingers: no cable is blamed."""
    nowhere = CableOut("There is no port B.", "Plug the rig in.")
    assert Trial(tmp_path, [nowhere]).said == [
        "There is no port B. Plug the rig in. Trying again ..."
    ]


def test_a_rig_that_was_there_is_tried_at_once_again(tmp_path: Path) -> None:
    """However long the waits had become before."""
    trial = Trial(tmp_path, [OUT, OUT, OUT, pulled, OUT])
    assert trial.waits == [0.5, 1.0, 2.0, 0.5, 1.0]
    assert trial.session.link is None


@pytest.mark.parametrize(
    ("number", "is_out"),
    [(errno.ENOENT, True), (errno.ENXIO, True), (errno.EBUSY, False), (errno.EACCES, False)],
)
def test_which_faults_of_a_port_mean_that_the_cable_is_out(number: int, is_out: bool) -> None:
    """A port that is not there, and no other."""
    fault = _why_not_open("A", OSError(number, os.strerror(number)))
    assert isinstance(fault, CableOut) is is_out


def test_a_port_that_fails_under_a_read_is_a_cable_that_came_out() -> None:
    """As pyserial reports it."""

    class Pulled:
        @property
        def in_waiting(self) -> int:
            raise OSError(errno.EIO, "Input/output error")

    with pytest.raises(CableOut):
        SerialTransport(Pulled(), "A").read(10)
