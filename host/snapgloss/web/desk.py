"""Every command goes over this desk: who sent it, whether they lead, and how it ended.

All may watch, and anybody may say off or write a note. The rest is for the one that leads: the
first that gave a command, until another takes the lead or it has been away for a while.
"""

import threading
from collections.abc import Callable
from typing import NamedTuple

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.base.errors import RigError, SnapglossError
from snapgloss.web.gate.audit import Audit, Entry
from snapgloss.web.words import PROBLEMS

LEAD_AWAY_S = 60.0


class Who(NamedTuple):
    """Who sends: the address, and which page of it; a program has no page."""

    peer: str
    page: str = ""

    @property
    def words(self) -> str:
        """As the audit and the page name them."""
        return f"{self.peer} {self.page or 'program'}".strip()


class Desk:
    """Takes commands from any thread. `rig` is written before each, where there are several."""

    def __init__(self, audit: Audit, clock: Clock | None = None, rig: str = "") -> None:
        self._audit, self._clock = audit, clock or SystemClock()
        self._before = f"{rig}: " if rig else ""
        self._lock = threading.Lock()
        self._leader: str | None = None
        self._seen_at_s = 0.0
        self.last: Entry | None = None

    def leads(self, page: str) -> bool:
        """True for the page that leads; for any while nobody does."""
        with self._lock:
            return self._leader in (None, page) or self._is_away()

    def is_seen(self, page: str) -> None:
        """A page is still there; only that of the leader matters."""
        with self._lock:
            if page == self._leader:
                self._seen_at_s = self._clock.now_s()

    def take_lead(self, who: Who) -> str:
        """Lead from here on."""
        self._lead(who.page)
        self._write(who, "lead", "done")
        return ""

    def do(self, who: Who, what: str, call: Callable[[], str], needs_lead: bool = True) -> str:
        """Carry out a command and write it down; return its sentence.

        Raises RigError for one that does not lead, and what the command raises.
        """
        if needs_lead and not self.leads(who.page):
            self._write(who, what, "refused: another leads")
            raise RigError(PROBLEMS["lead"], "")
        if needs_lead:
            self._lead(who.page)
        try:
            said = call()
        except SnapglossError as fault:
            self._write(who, what, f"refused: {fault.message}")
            raise
        except Exception:
            self._write(who, what, "failed: a fault of the program")
            raise
        self._write(who, what, said or "done")
        return said

    def _lead(self, page: str) -> None:
        with self._lock:
            self._leader, self._seen_at_s = page, self._clock.now_s()

    def _is_away(self) -> bool:
        return self._clock.now_s() - self._seen_at_s > LEAD_AWAY_S

    def _write(self, who: Who, what: str, result: str) -> None:
        entry = self._audit.add(who.words, self._before + what, result)
        self.last = entry._replace(what=what)
