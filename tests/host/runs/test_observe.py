"""The mirror over the shared table of states."""

import pytest

from rigwire.states import STATES
from rigwire.views import TRANSITIONS
from snapgloss.runs.observe import Mirror

PAIRS = {(old, new) for old, _, new in TRANSITIONS}


@pytest.mark.parametrize("old", STATES)
@pytest.mark.parametrize("new", STATES)
def test_every_move_is_followed_and_only_unknown_ones_warn(old: str, new: str) -> None:
    """Whatever the rig reports, the mirror ends there and warns just for pairs without a row."""
    mirror = Mirror("off")
    warning = mirror.follow(old, new)
    assert mirror.state == new
    assert (warning is None) == ((old, new) in PAIRS)


def test_a_state_of_a_newer_rig() -> None:
    """A state without a name here is held and warned of, not a crash."""
    mirror = Mirror("state 17")
    assert mirror.state == "state 17"
    warning = mirror.follow("state 17", "off")
    assert warning == (
        "The rig went from state 17 to off, which its table of states does not know."
    )
    mirror.adopt("state 18")
    assert mirror.state == "state 18"
