"""What a batch says of its rig's clock beside this computer's."""

from collections.abc import Callable

from snapgloss.link.client import RigLink


def tell_drift(link: RigLink, note: Callable[[str], None], say: Callable[[str], None]) -> None:
    """Note the drift with the run, and say one that no sound board has.

    A simulated rig's time is not this computer's, so nothing is said of it.
    """
    drift = link.clock_watch.drift()
    if drift is None or link.identity is None or link.identity.simulated:
        return
    note(drift.words)
    if drift.is_beyond:
        say(drift.words)
