"""Off from a computer, against a scripted rig in every state."""

import pytest

from rigwire import views
from rigwire.states import STATES
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedRig
from snapgloss.runs.turn_off import turn_off

STOP_LOOP = views.STOP_KEYS.index("stop_loop")


LATCHED = {
    "locked": "Nothing is on: the rig is locked.",
    "stopped": f"Nothing is on: the rig is stopped, {views.STOPS[STOP_LOOP][2]}.",
}
WORDS = {
    "off": "Everything was off already.",
    "finished": "Everything was off already.",
    "working": "Everything is off. It was: working.",
    "hands_in": "Everything is off. It was: hands in.",
}


@pytest.mark.parametrize("before", STATES)
def test_off_ends_every_state_and_says_what_was(
    rig: ScriptedRig, link: RigLink, before: str
) -> None:
    """Whatever it was is named; a latched state stays and is named, too."""
    after = before if before in LATCHED else "off"
    rig.state_no = STATES.index(before)
    rig.then["off"] = lambda: _show(rig, after)
    _show(rig, before)
    done = turn_off(link)
    assert (done.before, done.after) == (before, after)
    usual = f"Everything is off. It was: {before}."
    assert done.words == {**LATCHED, **WORDS}.get(before, usual)
    assert [frame for frame in rig.frames if frame.startswith(b'["off",')]


def _show(rig: ScriptedRig, state: str) -> None:
    """What the rig tells of itself from now on."""
    stop = STOP_LOOP if state == "stopped" else 0
    rig.answers["ask_status"] = ("status", (STATES.index(state), 0, -1, 0, -1, -1, stop, 0, 0))
