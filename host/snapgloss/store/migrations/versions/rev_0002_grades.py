"""Grades of the bars, counts, weights, smear tests and cooling curves of a run."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """From runs alone to runs with what became of their bars."""
    _entries(
        "grades",
        "graded_utc_ms",
        _text("verdict"),
        _text("marks"),
        sa.Column("photo", sa.Text),
        _text("words"),
        sa.CheckConstraint("verdict IN ('sell', 'seconds', 'remelt')", name="verdict"),
    )
    _entries(
        "counts",
        "counted_utc_ms",
        *(sa.Column(name, sa.Integer) for name in ("made", "sold", "seconds", "remelt")),
    )
    _entries("weights", "weighed_utc_ms", _whole("label_mg"), _whole("net_mg"))
    _entries(
        "smears",
        "dipped_utc_ms",
        _whole("room_mc"),
        sa.Column("set_s", sa.Integer),
        sa.Column("streaks", sa.Boolean, nullable=False),
    )
    _entries(
        "curves",
        "taken_utc_ms",
        sa.Column("set_ratio", sa.Float, nullable=False),
        _text("place"),
        sa.Column("cold_mc", sa.Integer),
        _text("points_csv"),
    )


def _entries(name: str, when: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Integer, nullable=False),
        _whole("run_id"),
        sa.Column(when, sa.BigInteger, nullable=False),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name=f"fk_{name}_run_id"),
    )
    op.create_index(f"ix_{name}_run_id", name, ["run_id"])


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text, nullable=False)


def _whole(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer, nullable=False)
