"""Bringing a rig to its prompt for an update: asked, pressed, restarted; or it is there."""

from collections.abc import Callable

from snapgloss.base.errors import LinkError, RigError
from snapgloss.link.board import PromptBoard, at_prompt
from snapgloss.link.client import RigLink
from snapgloss.link.clock import SystemWaitingClock, WaitingClock
from snapgloss.link.strangers import AT_PROMPT
from snapgloss.runs.connect import connect

Say = Callable[[str], None]

WINDOW_S = 180
BACK_S = 30
WAIT_S = 1.0
MAY_UPDATE = ("off", "locked")

PRESS = (
    "Press start on the rig: hold the button for 1 to 3 seconds. It then turns all off and "
    "restarts at its prompt."
)
NOT_PRESSED = (
    "Nobody pressed start on the rig within 3 minutes; nothing was changed.",
    "Run the command again and press. Or hold the start button while plugging the rig in.",
)
BUSY = "Turn the rig off first: `off` on the page, or its button."
STILL_RUNS = (
    "The rig started its program again instead of coming to its prompt.",
    "Hold the start button while you plug it in, then run the command again.",
)


def board_at_prompt(
    port: str,
    say: Say,
    open_link: Callable[[str], RigLink] = connect,
    open_board: Callable[[str], PromptBoard] = at_prompt,
    clock: WaitingClock | None = None,
) -> PromptBoard:
    """Return the board on a port, at its prompt.

    A running rig is asked and needs a press; it refuses unless it is off or locked. Raises
    RigError when it refuses or nobody presses, LinkError for a silent board.
    """
    try:
        link = open_link(port)
    except LinkError as fault:
        if fault.message != AT_PROMPT[0]:
            raise
        return open_board(port)
    try:
        _ask(link, say)
    finally:
        link.close()
    return _back(port, open_link, open_board, clock or SystemWaitingClock())


def _ask(link: RigLink, say: Say) -> None:
    """Ask for the update and wait for the restart, which ends the link."""
    state = link.ask_status().state
    if state not in MAY_UPDATE:
        raise RigError(f"The rig is {state.replace('_', ' ')}: it takes no update now.", BUSY)
    link.ask_update()
    say(PRESS)
    until_s = link.now_s() + WINDOW_S
    while link.now_s() < until_s:
        try:
            link.wait(WAIT_S)
            link.take()
        except LinkError:
            return  # it restarts
    raise RigError(*NOT_PRESSED)


def _back(
    port: str,
    open_link: Callable[[str], RigLink],
    open_board: Callable[[str], PromptBoard],
    clock: WaitingClock,
) -> PromptBoard:
    """Find the board again after its restart; it must not have started its program."""
    import threading

    until_s = clock.now_s() + BACK_S
    while True:
        try:
            open_link(port).close()
        except LinkError as fault:
            if fault.message == AT_PROMPT[0]:
                return open_board(port)
            if clock.now_s() >= until_s:
                raise
        else:
            raise RigError(*STILL_RUNS)
        clock.wait(threading.Event(), WAIT_S)
