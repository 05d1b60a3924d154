"""The messages of protocol 1 in one table; `rigwire.messages` is the codec that follows it.

A message is a frame `[name, number, value, ...]`. The number is the id of a request and of its
answer, or the sequence number of a push. Values stand in the order of the table. A message of a
few rows (readings, events) carries them as a repeated group after its own values.
"""

from rigwire.frames import MAX_INTEGER
from rigwire.tables import ADDITIONS, PROMPTS, STEP_PROMPTS, STOPS

PROTOCOL_MAJOR = 1
PROTOCOL_MINOR = 4

TO_DEVICE = "to_device"
TO_HOST = "to_host"

MISSING_MC = -300000
"""Below absolute zero: no probe can read it, so a missing reading is never taken for 0 degC."""

_MAX = MAX_INTEGER


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
_SAMPLE = (_int("at_ms", "ms", 0, _MAX), _mc("sample_mc"))
_EVENT_ROW = (
    _int("at_ms", "ms", 0, _MAX),
    _int("kind_no", "", 0, 99),
    _int("a", "", -_MAX, _MAX),
    _int("b", "", -_MAX, _MAX),
)
_POWERS = (
    _int("heat_permille", "permille", 0, 1000),
    _int("fan_permille", "permille", 0, 1000),
    _int("stir_permille", "permille", 0, 1000),
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
        (_int("prompt_no", "", 1, len(STEP_PROMPTS) - 1),),
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
    (
        "beat",
        TO_DEVICE,
        (_int("host_ms", "ms", 0, _MAX),),
        (),
        0,
        "The host's own steady clock, every few seconds: two clocks watch each other.",
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
        "fetch_samples",
        TO_DEVICE,
        (_int("from_seq", "", 0, _MAX),),
        (),
        0,
        "Samples from this sequence number on. Answered by `samples` or `lost`.",
    ),
    (
        "ask_test",
        TO_DEVICE,
        _POWERS + (_int("plate_mc", "mC", 0, 75000), _int("most_s", "s", 1, 3600)),
        (),
        0,
        "Open the window for `testing`. A press allows at most these powers, for this long.",
    ),
    (
        "lease",
        TO_DEVICE,
        _POWERS,
        (),
        0,
        "Drive this in `testing`, until 5 s after the last lease.",
    ),
    (
        "ask_update",
        TO_DEVICE,
        (),
        (),
        0,
        "Open the window for other firmware, in `off` or `locked`. A press restarts the board.",
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
    ("sample", TO_HOST, _SAMPLE, (), 0, "The sample probe, once a second while it gives a value."),
    (
        "samples",
        TO_HOST,
        (("first_seq", "", 0, _MAX),),
        _SAMPLE,
        8,
        "Kept readings of the sample probe, in order.",
    ),
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
