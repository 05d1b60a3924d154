"""The tables as SQLAlchemy Core sees them. What a database holds is made by the migrations;
a test compares the two.

Integers throughout: UTC or device milliseconds, milli-degC, permille. NULL is a missing reading.
"""

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)


def _key(name: str, target: str | None = None) -> Column[int]:
    """A part of a composite key: never filled in by the database."""
    key = [ForeignKey(target)] if target else []
    return Column(name, Integer, *key, primary_key=True, autoincrement=False)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _whole(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _ms(name: str) -> Column[int]:
    return Column(name, BigInteger, nullable=False)


BOOTS = Table(
    "boots",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("board"),
    _ms("boot_nonce"),
    _text("firmware"),
    Column("simulated", Boolean, nullable=False),
    _ms("first_seen_utc_ms"),
    Column("heater_w", Integer),  # NULL: from before it was kept
    UniqueConstraint("board", "boot_nonce"),
)

READINGS = Table(
    "readings",
    METADATA,
    _key("boot_id", "boots.id"),
    _key("seq"),
    _ms("at_ms"),
    # The word, not its wire number: a record outlives the protocol that carried it.
    _text("state"),
    _whole("step_no"),
    Column("target_mc", Integer),
    Column("product_mc", Integer),
    Column("plate_mc", Integer),
    Column("room_mc", Integer),
    _whole("heat_permille"),
    _whole("fan_permille"),
    _whole("stir_permille"),
    _whole("flags"),
    sqlite_with_rowid=False,
)

EVENTS = Table(
    "events",
    METADATA,
    _key("boot_id", "boots.id"),
    _key("seq"),
    _ms("at_ms"),
    _text("kind"),
    _whole("a"),
    _whole("b"),
    sqlite_with_rowid=False,
)

# Readings of closed runs, put together; the rows are gone then.
PACKED = Table(
    "packed",
    METADATA,
    _key("boot_id", "boots.id"),
    _key("first_seq"),
    _whole("last_seq"),
    _ms("first_at_ms"),
    _ms("last_at_ms"),
    Column("content", LargeBinary, nullable=False),
)

GAPS = Table(
    "gaps",
    METADATA,
    _key("boot_id", "boots.id"),
    Column("stream", Text, primary_key=True),
    _key("from_seq"),
    _key("to_seq"),
    _text("why"),
    CheckConstraint("stream IN ('readings', 'events')", name="stream"),
    sqlite_with_rowid=False,
)

RUNS = Table(
    "runs",
    METADATA,
    Column("id", Integer, primary_key=True),
    _text("schedule_toml"),
    _text("digest"),
    _text("chocolate"),
    _text("type"),
    _text("method"),
    _whole("mass_g"),
    _whole("window_low_mc"),
    _whole("window_high_mc"),
    _whole("work_mc"),
    _text("rig"),
    Column("simulated", Boolean, nullable=False),
    Column("seed", BigInteger),
    _text("workshop"),
    _ms("started_utc_ms"),
    Column("ended_utc_ms", BigInteger),
    _text("outcome"),
    _text("words"),
    CheckConstraint("outcome IN ('finished', 'stopped', 'off', 'unfinished')", name="outcome"),
)

# A run goes on over a reset of the rig: one row for each boot that saw a part of it.
RUN_PARTS = Table(
    "run_parts",
    METADATA,
    _key("run_id", "runs.id"),
    _key("part_no"),
    Column("boot_id", Integer, ForeignKey("boots.id"), nullable=False, index=True),
    _ms("start_ms"),
    Column("end_ms", BigInteger),
    _ms("begun_utc_ms"),
    sqlite_with_rowid=False,
)

FIGURES = Table(
    "figures",
    METADATA,
    _key("run_id", "runs.id"),
    Column("name", Text, primary_key=True),
    Column("value", Float),
    # Lists and charts ask for a few names of all runs, and are answered by the index alone.
    Index("ix_figures_name", "name", "value"),
    sqlite_with_rowid=False,
)

NOTES = Table(
    "notes",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("run_id", Integer, ForeignKey("runs.id"), nullable=False, index=True),
    _ms("written_utc_ms"),
    _text("words"),
)

CONSOLE = Table(
    "console",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("boot_id", Integer, ForeignKey("boots.id"), nullable=False, index=True),
    _ms("seen_utc_ms"),
    _text("text"),
)


def _entries(name: str, when: str, *columns: Any) -> Table:
    """A table of entries about runs that is only ever added to."""
    run = Column("run_id", Integer, ForeignKey("runs.id"), nullable=False, index=True)
    return Table(name, METADATA, Column("id", Integer, primary_key=True), run, _ms(when), *columns)


# A grade is for good: who sees the bars otherwise later makes another entry.
GRADES = _entries(
    "grades",
    "graded_utc_ms",
    _text("verdict"),
    _text("marks"),
    Column("photo", Text),
    _text("words"),
    CheckConstraint("verdict IN ('sell', 'seconds', 'remelt')", name="verdict"),
)

COUNTS = _entries(
    "counts",
    "counted_utc_ms",
    *(Column(name, Integer) for name in ("made", "sold", "seconds", "remelt")),
)

WEIGHTS = _entries("weights", "weighed_utc_ms", _whole("label_mg"), _whole("net_mg"))

SMEARS = _entries(
    "smears",
    "dipped_utc_ms",
    _whole("room_mc"),
    Column("set_s", Integer),
    Column("streaks", Boolean, nullable=False),
)

CURVES = _entries(
    "curves",
    "taken_utc_ms",
    Column("set_ratio", Float, nullable=False),
    _text("place"),
    Column("cold_mc", Integer),
    _text("points_csv"),
)

# The room as a person read it; the rig's own probe is in the readings.
CONDITIONS = _entries(
    "conditions", "seen_utc_ms", Column("room_mc", Integer), Column("humidity_permille", Integer)
)

# The last entry of a tray and place counts.
TRAYS = _entries(
    "trays",
    "entered_utc_ms",
    _whole("tray_no"),
    _text("place"),
    _ms("moved_utc_ms"),
    CheckConstraint("place IN ('in', 'out')", name="place"),
)

# The probes of a rig as a run began on it, with what was added to their readings.
CALIBRATIONS = Table(
    "calibrations",
    METADATA,
    _key("run_id", "runs.id"),
    Column("role", Text, primary_key=True),
    _text("kind"),
    _whole("offset_mk"),
    _whole("slope_e5"),
    Column("calibrated_utc_ms", BigInteger),  # NULL: never calibrated
    _whole("points"),
    Column("uncertainty_mk", Integer),  # NULL: nobody knows
)

# Bags and labels are told apart by their lot; the last entry of a lot counts.
BAGS = Table(
    "bags",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("lot", Text, nullable=False, index=True),
    _ms("entered_utc_ms"),
    _text("name"),
    _text("supplier"),
    Column("mass_g", Integer),
    Column("best_before", Text),
    _text("contains"),
    _text("may_contain"),
)

# What went into a bowl: of a bag, or the bars of an earlier run. The last entry of a source
# counts; 0 g takes it back.
USES = _entries(
    "uses",
    "used_utc_ms",
    Column("lot", Text),
    Column("from_run_id", Integer, ForeignKey("runs.id")),
    Column("mass_g", Integer),
    CheckConstraint("(lot IS NULL) <> (from_run_id IS NULL)", name="source"),
)

LABELS = _entries(
    "labels",
    "labelled_utc_ms",
    _text("lot"),
    _text("name"),
    _text("best_before"),
    _text("contains"),
    _text("may_contain"),
    _whole("net_mg"),
)
