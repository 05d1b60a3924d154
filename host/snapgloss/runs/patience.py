"""Waiting for a record that another program holds, while the batch goes on.

What came is kept in memory meanwhile; a rig keeps a quarter of an hour of it besides.
"""

from collections.abc import Callable
from typing import TypeVar

from snapgloss.base.errors import StoreBusy

KEPT_S = 600.0  # well within what a rig keeps, 1000 s: after this a later join loses readings
AGAIN_S = 10.0  # between two tries; the database itself waits some seconds in each
HELD = (
    "Another program holds the record, or its server is away. Nothing is lost: what comes is "
    "kept here and written later."
)
FREE_AGAIN = "The record is written again; nothing was lost."

Done = TypeVar("Done")


class Patience:
    """Tries writes. `now_s` and `let_pass` are the clock, `say` tells a person, once each."""

    def __init__(
        self,
        now_s: Callable[[], float],
        let_pass: Callable[[float], None],
        say: Callable[[str], None],
    ) -> None:
        self._now_s, self._let_pass, self._say = now_s, let_pass, say
        self._held_since_s: float | None = None
        self._tried_at_s = 0.0

    def try_now(self, write: Callable[[], object]) -> bool:
        """Write, unless the last try was refused just now; tell whether it was written.

        Raises StoreBusy when the record was held for KEPT_S.
        """
        if self._held_since_s is not None and self._now_s() - self._tried_at_s < AGAIN_S:
            return False
        try:
            write()
        except StoreBusy as fault:
            self._refused(fault)
            return False
        self._served()
        return True

    def insist(self, write: Callable[[], Done]) -> Done:
        """Write, and wait until it is written; what `write` does may be done twice.

        Raises StoreBusy when the record was held for KEPT_S.
        """
        while True:
            try:
                done = write()
            except StoreBusy as fault:
                self._refused(fault)
                self._let_pass(AGAIN_S)
            else:
                self._served()
                return done

    def _refused(self, fault: StoreBusy) -> None:
        self._tried_at_s = self._now_s()
        if self._held_since_s is None:
            self._held_since_s = self._tried_at_s
            self._say(HELD)
        elif self._tried_at_s - self._held_since_s >= KEPT_S:
            raise fault

    def _served(self) -> None:
        if self._held_since_s is not None:
            self._held_since_s = None
            self._say(FREE_AGAIN)
