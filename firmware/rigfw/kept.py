"""What a rig remembers over a reset: two schedule slots, and how far a batch had come.

Each record is `1|...|crc8hex`. A damaged record is as none: a rig that is not sure offers nothing.
"""

from rigfw import limits
from rigwire.errors import ScheduleRefused
from rigwire.frames import crc_hex
from rigwire.schedule import digest as digest_of
from rigwire.schedule import from_body
from rigwire.tables import STOP_COUNT

SLOTS = ("slot_a", "slot_b")
PROGRESS = "progress"
STOP = "stop"


class Progress:
    """How far a batch had come. `start_mc` is the chocolate at the step's start."""

    def __init__(self, digest, step_no, reached, seeded, held_s, start_mc):
        self.digest = digest
        self.step_no = step_no
        self.reached = reached
        self.seeded = seeded
        self.held_s = held_s
        self.start_mc = start_mc


class Kept:
    """The records of a rig, on the board's `keep`; None keeps nothing and offers nothing."""

    def __init__(self, keep):
        self._keep = keep
        self._is_cleared = not (keep and keep.read(PROGRESS))

    def slots(self):
        """Per slot (generation, schedule, digest), or None for an empty or damaged one."""
        return [self._slot(name) for name in SLOTS]

    def _slot(self, name):
        parts = self._record(name)
        if parts is None or len(parts) < 2:
            return None
        body = "|".join(parts[1:]).encode()
        try:
            return int(parts[0]), from_body(body), digest_of(body)
        except (ValueError, ScheduleRefused):
            return None

    def keep_slot(self, slot, generation, body):
        """A schedule about to be held. False when the flash did not take it; the other stays."""
        return self._write(SLOTS[slot], str(generation) + "|" + body.decode())

    def progress(self):
        """The Progress of a batch that a reset cut short, or None."""
        parts = self._record(PROGRESS)
        if parts is None or len(parts) != 6:
            return None
        try:
            figures = [int(part) for part in parts[1:]]
        except ValueError:
            return None
        return Progress(parts[0], *figures)

    def keep_progress(self, progress):
        """How far the batch has come. Only while the heater is off: a flash write takes long."""
        figures = (
            progress.step_no,
            progress.reached,
            progress.seeded,
            progress.held_s,
            progress.start_mc,
        )
        self._write(PROGRESS, "|".join([progress.digest] + [str(one) for one in figures]))
        self._is_cleared = False

    def clear(self):
        """The batch is over: nothing to carry on with."""
        if self._keep and not self._is_cleared:
            self._keep.write(PROGRESS, b"")
        self._is_cleared = True

    def stop_code(self):
        """What had stopped the rig when a reset came, 0 for nothing."""
        parts = self._record(STOP)
        known = [str(code) for code in range(STOP_COUNT)]
        return known.index(parts[0]) if parts and len(parts) == 1 and parts[0] in known else 0

    def keep_stop(self, stop_code):
        """What stops the rig now; 0 when that is over. Only while the heater is off."""
        self._write(STOP, str(stop_code))

    def _record(self, name):
        """The middle parts of a good record, or None."""
        if not self._keep:
            return None
        try:
            text = self._keep.read(name).decode()
        except (ValueError, UnicodeError):
            return None
        text, _bar, crc = text.rpartition("|")
        if not text or crc_hex(text.encode()) != crc or not text.startswith("1|"):
            return None
        return text[2:].split("|")

    def _write(self, name, text):
        """False when the flash did not take it; a rig without one has nothing to lose."""
        if not self._keep:
            return True
        line = ("1|" + text).encode()
        return self._keep.write(name, line + b"|" + crc_hex(line).encode())


def may_carry_on(step, progress, product_mc):
    """True when the chocolate is still inside the limits of the step that was cut short.

    The board has no clock over a power cut. The chocolate is the clock: what stayed inside the
    limits was not away for long, whatever the hour is.
    """
    if step.kind in ("melt", "rest"):
        is_held = step.kind == "rest" or progress.reached
        from_mc = step.target_mc if is_held else progress.start_mc
        least_mc = from_mc - limits.CARRY_MELT_UNDER_MC
        return least_mc <= product_mc <= step.target_mc + limits.CARRY_OVER_MC
    if step.kind == "cool":
        return step.target_mc - limits.CARRY_UNDER_MC <= product_mc <= progress.start_mc
    if step.kind == "rewarm" and not progress.reached:
        return progress.start_mc - limits.CARRY_UNDER_MC <= product_mc <= step.target_mc
    least_mc = step.target_mc - limits.CARRY_UNDER_MC
    return least_mc <= product_mc <= step.creep_to_mc + limits.CARRY_OVER_MC
