"""A schedule arriving in pieces. Two slots: the one held, and the one being filled.

Nothing is held until length and digest agree and the whole text is a schedule; then one
assignment changes the slot. A cut at any byte leaves the old one. What a host learned of the rig
(`rigfw.memory`) comes in the same pieces.
"""

from rigfw.order import HOT
from rigwire import schedule as schedules
from rigwire.errors import ScheduleRefused

COOLING_KINDS = ("cool", "rest")


def is_within(schedule, ceiling_mc):
    """No target over the rig's ceiling; a bowl fed hot may begin above it, and only cools."""
    if schedule.start_state != HOT:
        return schedule.ceiling_mc <= ceiling_mc
    return max([step.creep_to_mc for step in schedule.steps]) <= ceiling_mc


class UploadRefused(Exception):
    """`code` for the host, `words` for a person."""

    def __init__(self, code, words):
        super().__init__(words)
        self.code = code
        self.words = words


def check_kept(is_kept):
    """Refuse what the flash did not take."""
    if not is_kept:
        raise UploadRefused("not_kept", "the rig cannot store it: its flash is full or worn")


class Upload:
    """`held` is the present schedule or None, `digest` its name or "", `slot` 0 or 1."""

    def __init__(self):
        self._slots = [None, None]
        self._digests = ["", ""]
        self.slot = 0
        self.generation = 0
        self._text = None
        self._total = 0
        self._wanted = ""

    @property
    def held(self):
        """The committed schedule, None before the first."""
        return self._slots[self.slot]

    @property
    def digest(self):
        """The digest of the committed schedule, "" before the first."""
        return self._digests[self.slot]

    def open(self, bytes_total, digest):
        """Begin; whatever was half there is forgotten."""
        if bytes_total > schedules.MAX_BODY_BYTES:
            raise UploadRefused("too_long", "it is too long")
        self._text = bytearray()
        self._total = bytes_total
        self._wanted = digest

    def part(self, offset, text):
        """The next piece, in order and within the announced length."""
        if self._text is None or offset != len(self._text):
            raise UploadRefused("out_of_order", "the pieces do not follow on one another")
        if offset + len(text) > self._total:
            raise UploadRefused("too_long", "more bytes came than were announced")
        self._text.extend(text.encode())

    def done(self, digest, ceiling_mc, keep_slot):
        """Check, keep, commit. Returns the count of bytes held now.

        `ceiling_mc` is the rig's own. `keep_slot(slot, generation, body)` writes the slot that is
        not in use; False from it refuses the upload, and the old schedule is held still.
        """
        body = self.whole(digest)
        schedule = self._checked(body, ceiling_mc)
        check_kept(keep_slot(1 - self.slot, self.generation + 1, body))
        self._commit(schedule, digest)
        return len(body)

    def whole(self, digest):
        """The bytes that came, forgotten here; refused where they are cut or damaged."""
        text, self._text = self._text, None
        if text is None or len(text) != self._total:
            raise UploadRefused("cut", "it did not arrive whole")
        body = bytes(text)
        if digest != self._wanted or schedules.digest(body) != digest:
            raise UploadRefused("damaged", "it was damaged on its way")
        return body

    def _checked(self, body, ceiling_mc):
        try:
            schedule = schedules.from_body(body)
        except ScheduleRefused as refusal:
            raise UploadRefused("schedule", refusal.reason)
        if not is_within(schedule, ceiling_mc):
            raise UploadRefused("ceiling", "the schedule may get hotter than this rig allows")
        if schedule.start_state == HOT and schedule.steps[0].kind not in COOLING_KINDS:
            raise UploadRefused("schedule", "a bowl fed hot begins with a cool or a rest")
        return schedule

    def restore(self, slots, ceiling_mc):
        """After a reset: hold the newest good slot of (generation, schedule, digest) or None."""
        for slot, kept in enumerate(slots):
            if kept is None:
                continue
            is_newest = kept[0] > self.generation
            self.generation = max(self.generation, kept[0])
            if not is_within(kept[1], ceiling_mc):
                continue
            self._slots[slot] = kept[1]
            self._digests[slot] = kept[2]
            if is_newest or self.held is None:
                self.slot = slot

    def _commit(self, schedule, digest):
        other = 1 - self.slot
        self.generation += 1
        self._slots[other] = schedule
        self._digests[other] = digest
        self.slot = other
