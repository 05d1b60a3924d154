"""What the store takes and gives, beside the rig's own records in snapgloss.base.records."""

from typing import Literal, NamedTuple

Outcome = Literal["finished", "stopped", "off", "unfinished"]


class NewRun(NamedTuple):
    """A run as it begins. Temperatures in milli-degC, mass in grams."""

    schedule_toml: str  # the schedule as it was sent, whole
    digest: str  # of the schedule on the wire, 8 hex digits
    chocolate: str  # the maker's own name for it
    type: str  # dark, milk or white
    method: str  # cooled, seeded or kept
    mass_g: int
    window_low_mc: int
    window_high_mc: int
    work_mc: int
    rig: str
    simulated: bool
    seed: int | None  # of a simulated rig's noise; None for a real rig
    workshop: str


class RunRow(NamedTuple):
    """A run as stored: what NewRun said, then how it went.

    Times are UTC milliseconds. Until the run ends `ended_utc_ms` is None and `outcome` is
    "unfinished"; `words` says in a sentence how it ended.
    """

    id: int
    schedule_toml: str
    digest: str
    chocolate: str
    type: str
    method: str
    mass_g: int
    window_low_mc: int
    window_high_mc: int
    work_mc: int
    rig: str
    simulated: bool
    seed: int | None
    workshop: str
    started_utc_ms: int
    ended_utc_ms: int | None
    outcome: str
    words: str


TO_THE_END = 2**30 - 1
"""`to_seq` of a gap that reaches to the end of its boot: how far that went is not known."""


class GapRow(NamedTuple):
    """Records of one stream that were lost, from and to inclusive; see TO_THE_END."""

    boot_id: int
    stream: str
    from_seq: int
    to_seq: int
    why: str


class NoteRow(NamedTuple):
    """A maker's note on a run."""

    id: int
    written_utc_ms: int
    words: str


class PartRow(NamedTuple):
    """The part of a run that one boot of the rig saw; times in device ms, `end_ms` inclusive.

    `shift_ms` is what puts this boot's times behind those of the part before it.
    """

    boot_id: int
    start_ms: int
    end_ms: int | None
    shift_ms: int
