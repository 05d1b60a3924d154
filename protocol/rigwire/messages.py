"""The messages of protocol 1: one table, and the codec that follows it.

A message is a frame `[name, number, value, ...]`. The number is the id of a request and of its
answer, or the sequence number of a push. Values stand in the order of the table. A message of a
few rows (readings, events) carries them as a repeated group after its own values.
"""

from rigwire import frames
from rigwire.errors import MessageRefused
from rigwire.tables import ADDITIONS, PROMPTS, STOPS

PROTOCOL_MAJOR = 1
PROTOCOL_MINOR = 0

TO_DEVICE = "to_device"
TO_HOST = "to_host"

MISSING_MC = -300000
"""Below absolute zero: no probe can read it, so a missing reading is never taken for 0 degC."""

_MAX = frames.MAX_INTEGER


def _int(name: str, unit: str, low: int, high: int) -> tuple:
    return (name, unit, low, high)


def _text(name: str, most: int) -> tuple:
    return (name, "text", 0, most)


def _mc(name: str) -> tuple:
    """A temperature in milli-degrees Celsius, or MISSING_MC."""
    return (name, "mC", MISSING_MC, 200000)


_READING = (
    _int("at_ms", "ms", 0, _MAX),
    _int("state_no", "", 0, 12),
    _int("step_no", "", 0, 16),
    _mc("target_mc"),
    _mc("product_mc"),
    _mc("plate_mc"),
    _mc("room_mc"),
    _int("heat_permille", "permille", 0, 1000),
    _int("fan_permille", "permille", 0, 1000),
    _int("stir_permille", "permille", 0, 1000),
    _int("flags", "bits", 0, 1023),
)
_EVENT_ROW = (
    _int("at_ms", "ms", 0, _MAX),
    _int("kind_no", "", 0, 99),
    _int("a", "", -_MAX, _MAX),
    _int("b", "", -_MAX, _MAX),
)
_DIGEST = ("digest", "text", 8, 8)
_SECONDS_LEFT = 43200

TABLE = (
    # name, direction, fields, group fields, most groups, purpose
    (
        "hello",
        TO_DEVICE,
        (_int("major", "", 0, 999), _int("minor", "", 0, 999), _text("host_version", 40)),
        (),
        0,
        "Who is there. Clears the memory of answered requests.",
    ),
    (
        "load_open",
        TO_DEVICE,
        (_int("bytes_total", "bytes", 1, 4096), _DIGEST),
        (),
        0,
        "Begin an upload. Refused while heating.",
    ),
    (
        "load_part",
        TO_DEVICE,
        (_int("offset", "bytes", 0, 4096), ("text", "text", 1, 80)),
        (),
        0,
        "The next piece of the schedule, at its offset.",
    ),
    (
        "load_done",
        TO_DEVICE,
        (_DIGEST,),
        (),
        0,
        "Check length and digest, then commit in one step. Answered by `held`.",
    ),
    (
        "ask_start",
        TO_DEVICE,
        (_DIGEST,),
        (),
        0,
        "Open the start window for exactly this schedule. Starts nothing: a person presses.",
    ),
    ("off", TO_DEVICE, (), (), 0, "All off. Always works, from anyone."),
    (
        "answer",
        TO_DEVICE,
        (_int("prompt_no", "", 1, len(PROMPTS) - 1),),
        (),
        0,
        "Answer the prompt that is waiting.",
    ),
    (
        "declare",
        TO_DEVICE,
        (_int("addition_no", "", 1, len(ADDITIONS) - 1), _int("grams", "g", 0, 15000)),
        (),
        0,
        "Something is added or taken out now.",
    ),
    ("ask_status", TO_DEVICE, (), (), 0, "Answered by `status`."),
    (
        "fetch",
        TO_DEVICE,
        (_int("from_seq", "", 0, _MAX),),
        (),
        0,
        "Readings from this sequence number on. Answered by `batch` or `lost`.",
    ),
    (
        "fetch_events",
        TO_DEVICE,
        (_int("from_seq", "", 0, _MAX),),
        (),
        0,
        "Events from this sequence number on. Answered by `events` or `lost`.",
    ),
    (
        "hello_is",
        TO_HOST,
        (
            _int("major", "", 0, 999),
            _int("minor", "", 0, 999),
            _text("firmware", 40),
            _text("board", 32),
            _int("boot_nonce", "", 0, _MAX),
            ("digest_held", "text", 0, 8),
            _int("state_no", "", 0, 12),
            _int("ceiling_mc", "mC", 0, 200000),
            _int("heater_w", "W", 0, 5000),
            _int("oldest_reading", "", -1, _MAX),
            _int("newest_reading", "", -1, _MAX),
            _int("oldest_event", "", -1, _MAX),
            _int("newest_event", "", -1, _MAX),
            _int("simulated", "0/1", 0, 1),
        ),
        (),
        0,
        "The answer to hello. Sequence numbers are -1 while nothing is held.",
    ),
    ("ok", TO_HOST, (), (), 0, "Done as asked."),
    (
        "no",
        TO_HOST,
        (_text("code", 24), _text("words", 80)),
        (),
        0,
        "Refused: a code, and words for a person.",
    ),
    ("held", TO_HOST, (_DIGEST,), (), 0, "The schedule with this digest is held now."),
    (
        "status",
        TO_HOST,
        (
            _int("state_no", "", 0, 12),
            _int("step_no", "", 0, 16),
            _int("left_s", "s", -1, _SECONDS_LEFT),
            _int("prompt_no", "", 0, len(PROMPTS) - 1),
            _int("wait_left_s", "s", -1, _SECONDS_LEFT),
            _int("window_left_s", "s", -1, _SECONDS_LEFT),
            _int("stop_code", "", 0, len(STOPS) - 1),
            _int("withheld_code", "", 0, len(STOPS) - 1),
            _int("dropped", "frames", 0, _MAX),
        ),
        (),
        0,
        "Where the rig is now. -1 where a time does not apply.",
    ),
    ("reading", TO_HOST, _READING, (), 0, "One a second."),
    ("batch", TO_HOST, (("first_seq", "", 0, _MAX),), _READING, 3, "Kept readings, in order."),
    (
        "event",
        TO_HOST,
        (
            _int("at_ms", "ms", 0, _MAX),
            _text("kind", 16),
            _int("a", "", -_MAX, _MAX),
            _int("b", "", -_MAX, _MAX),
        ),
        (),
        0,
        "Something happened.",
    ),
    ("events", TO_HOST, (("first_seq", "", 0, _MAX),), _EVENT_ROW, 4, "Kept events, in order."),
    (
        "lost",
        TO_HOST,
        (
            _int("stream", "0 readings, 1 events", 0, 1),
            ("from_seq", "", 0, _MAX),
            ("to_seq", "", 0, _MAX),
        ),
        (),
        0,
        "These were overwritten before anyone fetched them.",
    ),
)

READING_FIELDS = tuple([field[0] for field in _READING])
EVENT_ROW_FIELDS = tuple([field[0] for field in _EVENT_ROW])

_SPECS = {row[0]: row for row in TABLE}


class Message:
    """One message: `name`, `number`, `values` in table order, `groups` as tuples of row values."""

    __slots__ = ("groups", "name", "number", "values")

    def __init__(self, name: str, number: int, values: list, groups: list):
        self.name = name
        self.number = number
        self.values = values
        self.groups = groups

    def get(self, field: str) -> object:
        """The value of a field of the table. Raises KeyError for a name that is not one."""
        for index, spec in enumerate(_SPECS[self.name][2]):
            if spec[0] == field:
                return self.values[index]
        raise KeyError(field)


def _check(name: str, fields: tuple, values: tuple | list) -> None:
    """Each value has the type and the range of its field."""
    for index, value in enumerate(values):
        field, unit, low, high = fields[index]
        if unit == "text":
            good = type(value) is str and low <= len(value) <= high
        else:
            good = type(value) is int and low <= value <= high
        if not good:
            raise MessageRefused(name + "." + field + " is out of range")


def _check_groups(row: tuple, values: list) -> list:
    """The repeated group's values, cut into rows. A message without a group has none."""
    width = len(row[3]) or 1
    if len(values) % width or len(values) > width * row[4]:
        raise MessageRefused(row[0] + " does not hold whole rows")
    groups = [tuple(values[at : at + width]) for at in range(0, len(values), width)]
    for group in groups:
        _check(row[0], row[3], group)
    return groups


def encode(name: str, number: int, values: tuple | list = (), groups: tuple | list = ()) -> bytes:
    """The frame of one message. Raises MessageRefused for what the table does not allow."""
    row = _SPECS.get(name)
    if row is None or not 0 <= number <= _MAX or len(values) != len(row[2]):
        raise MessageRefused("no such message: " + name)
    _check(name, row[2], values)
    rows = []
    for group in groups:
        rows.extend(group)
    if rows:
        _check_groups(row, rows)
    return frames.encode([name, number] + list(values) + rows)


def parse(array: list, direction: str, lenient: bool = False) -> "Message | None":
    """The message in a decoded frame, for the side that `direction` points to.

    Raises MessageRefused. Lenient (the host, towards a peer of its own major version): values
    after those that we know are ignored, and an unknown name gives None.
    """
    if len(array) < 2 or type(array[0]) is not str or type(array[1]) is not int or array[1] < 0:
        raise MessageRefused("no name and number")
    row = _SPECS.get(array[0])
    if row is None and lenient:
        return None
    if row is None or row[1] != direction:
        raise MessageRefused("unknown name")
    count = len(row[2])
    values, rest = array[2 : 2 + count], array[2 + count :]
    if len(values) < count or (rest and not row[3] and not lenient):
        raise MessageRefused(row[0] + " has the wrong number of values")
    _check(row[0], row[2], values)
    return Message(row[0], array[1], values, _check_groups(row, rest) if row[3] else [])
