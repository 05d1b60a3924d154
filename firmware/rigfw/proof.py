"""What is tried before it is needed: the stop button once a day, the heater's two switches.

A relay that has welded, or a stop button that is wired past, looks the same as a good one until
the day it is needed. Allocates nothing.
"""

from rigfw import limits

EV_PROVEN = 20
BY_STOP = 1
BY_SWITCHES = 2


class StopProof:
    """`is_due` 1 until the stop loop was seen to open and to close again, and a day later again.

    A reset forgets it. `is_off` 1: the description does without, at the price of little heat.
    """

    def __init__(self, journal, is_off):
        self._journal = journal
        self._is_off = is_off
        self.is_due = 0 if is_off else 1
        self._seen_open = 0
        self._proven_ms = 0

    def step(self, stop_open, passed_ms):
        """One pass, with the loop as it is now."""
        if self._is_off:
            return
        self._proven_ms += passed_ms
        if self._proven_ms >= limits.PROOF_MS:
            self._proven_ms = 0
            self.is_due = 1
        if stop_open:
            self._seen_open = 1
        elif self._seen_open:
            self._seen_open = self._proven_ms = 0
            if self.is_due:
                self._journal.note(EV_PROVEN, BY_STOP)
            self.is_due = 0


class SwitchProof:
    """Before the first heat of a batch, where the heater's node is sensed: each switch by itself.

    First the heater's switch without an edge for the relay, which must keep the node dead; then
    the relay with the heater's switch off, in which SwitchCheck looks for a shorted switch.
    """

    def __init__(self, journal):
        self._journal = journal
        self._left_ms = 0
        self._live_ms = 0

    def begin(self):
        """A start was pressed; the relay has not seen an edge yet."""
        self._left_ms = limits.PROVE_RELAY_MS + limits.PROVE_SWITCH_MS
        self._live_ms = 0

    def cut(self):
        """All is off."""
        self._left_ms = 0

    def step(self, passed_ms):
        """One pass goes by."""
        if self._left_ms > 0:
            self._left_ms -= passed_ms
            if self._left_ms <= 0:
                self._journal.note(EV_PROVEN, BY_SWITCHES)

    def tries_relay(self):
        """True while the heater's switch is on and the relay must hold its node dead."""
        return self._left_ms > limits.PROVE_SWITCH_MS

    def tries_switch(self):
        """True while the relay gets its edges and the heater's switch must be open."""
        return 0 < self._left_ms <= limits.PROVE_SWITCH_MS

    def is_welded(self, is_live, passed_ms):
        """True after SENSE_MS of a live node that the open relay should keep dead."""
        is_wrong = is_live and self.tries_relay()
        self._live_ms = self._live_ms + passed_ms if is_wrong else 0
        return self._live_ms >= limits.SENSE_MS
