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


class GradeRow(NamedTuple):
    """How a run's bars were judged once; `marks` are words of snapgloss.quality.grades.MARKS,
    `photo` a path inside the data folder."""

    id: int
    run_id: int
    graded_utc_ms: int
    verdict: str  # sell, seconds or remelt
    marks: tuple[str, ...]
    photo: str | None
    words: str


class CountRow(NamedTuple):
    """How many bars a run gave; None for what was not counted."""

    id: int
    run_id: int
    counted_utc_ms: int
    made: int | None
    sold: int | None
    seconds: int | None
    remelt: int | None


class WeightRow(NamedTuple):
    """One bar on the scale, in milligrams, beside what its label says."""

    id: int
    run_id: int
    weighed_utc_ms: int
    label_mg: int
    net_mg: int


class SmearRow(NamedTuple):
    """One smear test of a run; `set_s` None: it did not set in the time given."""

    id: int
    run_id: int
    dipped_utc_ms: int
    room_mc: int
    set_s: int | None
    streaks: bool


class CurveRow(NamedTuple):
    """One sample's cooling curve; `points_csv` has a row for each reading: seconds, degC."""

    id: int
    run_id: int
    taken_utc_ms: int
    set_ratio: float
    place: str  # under, in or over, by the bands of that day
    cold_mc: int | None
    points_csv: str


class BagRow(NamedTuple):
    """One bag of chocolate as its label says; lists of allergens, the day as "2027-06-30"."""

    id: int
    lot: str
    entered_utc_ms: int
    name: str
    supplier: str
    mass_g: int | None
    best_before: str | None
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]


class UseRow(NamedTuple):
    """What went into a run: chocolate of a bag, or the bars of an earlier run."""

    id: int
    run_id: int
    used_utc_ms: int
    lot: str | None
    from_run_id: int | None
    mass_g: int | None  # None: not said how much; 0: it was not used after all


class LabelRow(NamedTuple):
    """What stands on a run's bars."""

    id: int
    run_id: int
    labelled_utc_ms: int
    lot: str
    name: str
    best_before: str
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    net_mg: int


class ProbeRow(NamedTuple):
    """A probe of a rig as a run began on it: role and kind as in snapgloss.rigs.probe_list.

    The board added `offset_mk` to its readings, and `slope_e5` hundred-thousandths of them.
    `calibrated_utc_ms` is None for one that was never calibrated; `points` says at how many.
    `uncertainty_mk`: how well it knew the working temperature as the run began, by its calibration
    and that one's age, at 95 %; None where nobody knows.
    """

    role: str
    kind: str
    offset_mk: int
    slope_e5: int
    calibrated_utc_ms: int | None
    points: int
    uncertainty_mk: int | None = None


class TrayRow(NamedTuple):
    """A tray of bars that went into the refrigerator ("in") or came out of it ("out")."""

    id: int
    run_id: int
    entered_utc_ms: int
    tray_no: int
    place: str
    moved_utc_ms: int


class ConditionRow(NamedTuple):
    """The room as a person read it; None for what was not read."""

    id: int
    run_id: int
    seen_utc_ms: int
    room_mc: int | None
    humidity_permille: int | None
