"""What answers on a port in a rig's stead: what it is, and what to do."""

REPEATS = (
    "The board is at its prompt, or this is no rig: the port only repeats what it is told.",
    "Unplug it and plug it in again; if it is at its prompt again, put the firmware on it anew.",
)
SOMETHING_ELSE = (
    "Something answers on this port, but it is no rig.",
    "List the ports with `snapgloss ports` and give the rig's own. If this is your rig's board, "
    "its program is not running: plug it in again, or put the firmware on it anew.",
)
AT_PROMPT = (
    "The board is at its prompt: its program is not running.",
    "Unplug it and plug it in again; if it is at its prompt again, put the firmware on it anew.",
)
