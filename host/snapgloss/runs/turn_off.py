"""Turn everything on a rig off, from any computer, at any moment."""

from typing import NamedTuple

from snapgloss.link.client import RigLink
from snapgloss.quality.event_words import stop_words
from snapgloss.runs.words import state_words

UNPOWERED = ("off", "locked", "stopped", "finished")


class TurnedOff(NamedTuple):
    """States before and after by their names in rigwire.states, and a sentence for a person."""

    before: str
    after: str
    words: str


def turn_off(link: RigLink, known_state: str = "") -> TurnedOff:
    """Turn all off and look again. The rig never refuses it; a batch under way is over then.

    A caller that follows the rig gives the state it knows of: then off is the first thing said.
    Raises LinkError when the rig does not answer.
    """
    before = known_state or link.ask_status().state
    link.off()
    status = link.ask_status()
    return TurnedOff(before, status.state, _words(before, status.state, status.stop_code))


def _words(before: str, after: str, stop_code: int) -> str:
    if after == "stopped":
        return f"Nothing is on: the rig is stopped, {stop_words(stop_code)}."
    if after == "locked":
        return "Nothing is on: the rig is locked."
    if before in UNPOWERED:
        return "Everything was off already."
    return f"Everything is off. It was: {state_words(before).lower()}."
