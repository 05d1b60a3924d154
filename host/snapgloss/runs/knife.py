"""The smear test of a batch: a knife is out, its clock runs, and what it showed is kept."""

import threading
from typing import TYPE_CHECKING

from snapgloss.base.clock import Clock, SystemClock
from snapgloss.base.errors import InputError
from snapgloss.quality.temper_smear import GIVE_UP_S, SmearTest, smear_sentence

if TYPE_CHECKING:
    from snapgloss.store.store import Store

FORGOTTEN_S = 1800
"""A knife that nobody came back to."""
NOT_OUT = ("No knife is out.", "Dip one first.")


def keep_smear(store: "Store", run_id: int, test: SmearTest) -> str:
    """Keep what the knife showed and say what it means. Raises InputError for no such run."""
    store.run(run_id)
    store.add_smear(run_id, test.room_mc, test.set_s, test.streaks)
    return smear_sentence(test)


class Knives:
    """Knives that are out, one for each batch, whoever looks and however often pages are opened.

    From any thread. `clock` is for tests.
    """

    def __init__(self, clock: Clock | None = None) -> None:
        self._clock = clock or SystemClock()
        self._lock = threading.Lock()
        self._dipped_s: dict[int, float] = {}

    def out(self, run_id: int) -> None:
        """The knife is out now; a second one takes the place of the first."""
        with self._lock:
            self._dipped_s[run_id] = self._clock.now_s()

    def away(self, run_id: int) -> None:
        """Forget it: it fell, or was wiped."""
        with self._lock:
            self._dipped_s.pop(run_id, None)

    def out_s(self, run_id: int) -> int | None:
        """Return for how many seconds it is out; None when none is, or nobody came back."""
        with self._lock:
            dipped_s = self._dipped_s.get(run_id)
        if dipped_s is None:
            return None
        out_s = int(self._clock.now_s() - dipped_s)
        return out_s if out_s <= FORGOTTEN_S else None

    def answer(
        self, store: "Store", run_id: int, room_mc: int, is_set: bool, streaks: bool
    ) -> str:
        """Keep what it shows now, and say what it means; it is away then.

        One that is said to have set later than can be judged counts as not set. Raises InputError
        when none is out, or for a room that none can be judged in.
        """
        out_s = self.out_s(run_id)
        if out_s is None:
            raise InputError(*NOT_OUT)
        in_time = is_set and out_s <= GIVE_UP_S
        test = SmearTest(room_mc, max(1, out_s) if in_time else None, streaks and in_time)
        said = keep_smear(store, run_id, test)
        self.away(run_id)
        return said
