"""What can be wrong with something that came over the wire. One base, one reason in words.

Each class has a single base, because MicroPython knows no others.
"""


class WireError(Exception):
    """Base of all errors of this package; `reason` is a short sentence without a full stop."""

    def __init__(self, reason: str):
        super().__init__(reason)
        self.reason = reason


class FrameRefused(WireError):
    """These bytes are not a good frame: length, check sum, or not the one canonical form."""


class MessageRefused(WireError):
    """A good frame that is not a message of the table in this direction."""


class ScheduleRefused(WireError):
    """A schedule outside the limits of the wire, or not in its canonical form."""


class IllegalTransition(WireError):
    """An event that the state table does not allow; the state is unchanged."""
