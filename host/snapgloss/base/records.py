"""What a rig tells its host, as the host holds it. A missing reading is None, never 0."""

from typing import Literal, NamedTuple

Stream = Literal["readings", "events"]
STREAMS: tuple[Stream, Stream] = ("readings", "events")
"""The two streams a rig numbers; the index is the number on the wire."""


FLAG_LOGGED = 1 << 20
"""Above all flags of the wire: a reading of a logger's file, which has a pace of its own."""


OWN_SEQ = -2_000_000_000
"""From here on up to -1: events that no rig numbered, but this program saw or was told."""


class Reading(NamedTuple):
    """One reading a second, keyed by (board, boot nonce, seq)."""

    seq: int
    at_ms: int  # device milliseconds since its start
    state: str
    step_no: int  # from 1; 0 = none
    target_mc: int | None
    product_mc: int | None
    plate_mc: int | None
    room_mc: int | None
    heat_permille: int
    fan_permille: int
    stir_permille: int
    flags: int  # bits of rigwire.views.FLAGS, or FLAG_LOGGED


class Sample(NamedTuple):
    """The sample probe in the second of the reading with the same number; None = no value."""

    seq: int
    at_ms: int
    sample_mc: int | None


class Event(NamedTuple):
    """Something that happened on the device; `a` and `b` as in rigwire.views.EVENT_KINDS."""

    seq: int
    at_ms: int
    kind: str
    a: int
    b: int


class Status(NamedTuple):
    """Where the device is now; times in seconds, -1 where none applies."""

    state: str
    step_no: int
    left_s: int
    prompt: str
    wait_left_s: int
    window_left_s: int
    stop_code: int
    withheld_code: int
    dropped: int


class Identity(NamedTuple):
    """The device's answer to hello. Sequence numbers are -1 where nothing is held."""

    board: str
    boot_nonce: int
    firmware: str
    major: int
    minor: int
    digest_held: str
    state: str
    ceiling_mc: int
    heater_w: int
    oldest_reading: int
    newest_reading: int
    oldest_event: int
    newest_event: int
    simulated: bool
