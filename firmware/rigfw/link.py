"""Requests in, answers and pushes out. Knows messages; the App does what they ask.

The host can ask, never press: nothing in here starts heat, raises a limit or writes a pin.
"""

from binascii import crc32

from rigfw.journal import READING_WIDTH
from rigfw.outbox import Outbox
from rigfw.upload import UploadRefused
from rigwire import messages, tables
from rigwire.errors import MessageRefused
from rigwire.reader import FrameReader

REMEMBERED = 8
READ_BYTES = 256
ROWS_A_BATCH = 3
EVENTS_A_BATCH = 4
SAMPLES_A_BATCH = 8
STATUS_EVERY_S = 5
SAMPLE_AT = READING_WIDTH - 1
DONE = ("ok", (), ())
# What a host of another major version may ask: it can look, and it can turn off.
FOR_ANY_MAJOR = ("hello", "off", "ask_status", "fetch", "fetch_events", "fetch_samples")
EV_TRIMMED = 16


class Refusal(Exception):
    """A request that is not done; `code` for the host, `words` for a person."""

    def __init__(self, code, words):
        super().__init__(words)
        self.code = code
        self.words = words


class Link:
    """`same_major` is False after a hello of another major version: FOR_ANY_MAJOR is done then."""

    def __init__(self, board, clock, journal, desk):
        self._port = board.port
        self._journal = journal
        self._desk = desk
        self._reader = FrameReader()
        self._outbox = Outbox(board.port, clock)
        self._buffer = bytearray(READ_BYTES)
        self._view = memoryview(self._buffer)
        self._answered = []
        self._events_sent = 0
        self._readings_sent = 0
        self._dropped_noted = 0
        self._statuses = 0
        self._status_in_s = 0
        self.same_major = True

    @property
    def dropped(self):
        """Whole frames dropped since boot because the host did not read."""
        return self._outbox.dropped

    # In.

    def receive(self):
        """Read what the port has now and answer every whole request."""
        count = self._port.read(self._buffer)
        if count:
            self._reader.feed(self._view[:count], self._on_frame, self._on_text)

    def _on_text(self, data):
        """Typing at the prompt, an echo: not for us."""

    def _on_frame(self, array, line):
        try:
            message = messages.parse(array, messages.TO_DEVICE)
        except MessageRefused as refusal:
            number = array[1] if len(array) > 1 else -1
            if type(number) is int and number >= 0:
                self._put("no", number, ("message", refusal.reason[:80]))
            return
        if message.name == "hello":
            self._answered = []
        self._once(message, crc32(line))

    def _once(self, message, crc):
        """Do a request once. The same bytes again get the same answer again."""
        for number, known_crc, answer in self._answered:
            if number == message.number:
                if known_crc == crc:
                    self._outbox.put(answer)
                else:
                    self._put("no", number, ("id_reused", "this number was another request"))
                return
        answer = self._do(message)
        self._answered.append((message.number, crc, answer))
        if len(self._answered) > REMEMBERED:
            self._answered.pop(0)
        self._outbox.put(answer)

    def _do(self, message):
        try:
            # Its name is one of the table's: a request is what Link or Desk call by that name.
            doer = getattr(self, message.name, None) or getattr(self._desk, message.name, None)
            if doer is None:
                raise Refusal("not_here", "this firmware does not know that request")
            if not self.same_major and message.name not in FOR_ANY_MAJOR:
                raise Refusal("version", "update the older of rig and host: other protocol")
            name, values, groups = doer(*message.values) or DONE
        except (Refusal, UploadRefused) as refusal:
            name, values, groups = "no", (refusal.code, refusal.words), ()
        return messages.encode(name, message.number, values, groups)

    # Requests: each returns (name, values, groups) of its answer, None for `ok`, or raises.

    def hello(self, major, _minor, _host_version):
        self.same_major = major == messages.PROTOCOL_MAJOR
        return "hello_is", self._desk.identity(), ()

    def ask_status(self):
        return "status", self._desk.status(), ()

    def fetch(self, from_seq):
        name, values, rows = self._rows(self._journal.readings, from_seq, "batch", ROWS_A_BATCH, 0)
        return name, values, [row[:SAMPLE_AT] for row in rows]

    def fetch_samples(self, from_seq):
        readings = self._journal.readings
        name, values, rows = self._rows(readings, from_seq, "samples", SAMPLES_A_BATCH, 0)
        return name, values, [(row[0], row[SAMPLE_AT]) for row in rows]

    def fetch_events(self, from_seq):
        return self._rows(self._journal.events, from_seq, "events", EVENTS_A_BATCH, 1)

    def _rows(self, ring, from_seq, name, most, stream):
        oldest = ring.oldest()
        if from_seq < oldest:
            return "lost", (stream, from_seq, oldest - 1), ()
        to_seq = min(ring.next_seq, from_seq + most)
        return name, (from_seq,), [ring.row(seq) for seq in range(from_seq, to_seq)]

    # Out.

    def _put(self, name, number, values):
        self._outbox.put(messages.encode(name, number, values))

    def push(self, is_new_second):
        """Queue what happened: events at once, a reading a second, status on change."""
        events = self._journal.events
        changed = self._events_sent < events.next_seq
        self._events_sent = max(self._events_sent, events.oldest())
        # The journal is their queue: a burst of events must not push answers out.
        while self._events_sent < events.next_seq and self._outbox.is_flowing():
            at_ms, kind_no, a, b = events.row(self._events_sent)
            self._put("event", self._events_sent, (at_ms, tables.EVENT_NAMES[kind_no], a, b))
            self._events_sent += 1
        if is_new_second:
            self._note_dropped()
            self._push_reading()
            self._status_in_s -= 1
        if changed or self._status_in_s <= 0:
            self._status_in_s = STATUS_EVERY_S
            self._put("status", self._statuses, self._desk.status())
            self._statuses += 1

    def _note_dropped(self):
        """One event for all frames dropped, once the host reads again."""
        count = self._outbox.dropped - self._dropped_noted
        if count and self._outbox.is_flowing():
            self._dropped_noted += count
            self._journal.note(EV_TRIMMED, count)

    def _push_reading(self):
        newest = self._journal.readings.newest()
        if newest >= self._readings_sent:
            row = self._journal.readings.row(newest)
            self._put("reading", newest, row[:SAMPLE_AT])
            if row[SAMPLE_AT] != messages.MISSING_MC:
                self._put("sample", newest, (row[0], row[SAMPLE_AT]))
            self._readings_sent = newest + 1

    def send(self, started_ms):
        """Write what the port takes now."""
        self._outbox.send(started_ms)
