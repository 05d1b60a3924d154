"""Bags of chocolate, what went into a run, and the labels of its bars."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """From runs alone to runs between bags and bars."""
    op.create_table(
        "bags",
        sa.Column("id", sa.Integer, nullable=False),
        _text("lot"),
        sa.Column("entered_utc_ms", sa.BigInteger, nullable=False),
        _text("name"),
        _text("supplier"),
        sa.Column("mass_g", sa.Integer),
        sa.Column("best_before", sa.Text),
        _text("contains"),
        _text("may_contain"),
        sa.PrimaryKeyConstraint("id", name="pk_bags"),
    )
    op.create_index("ix_bags_lot", "bags", ["lot"])
    _entries(
        "uses",
        "used_utc_ms",
        sa.Column("lot", sa.Text),
        sa.Column("from_run_id", sa.Integer),
        sa.Column("mass_g", sa.Integer),
        sa.ForeignKeyConstraint(["from_run_id"], ["runs.id"], name="fk_uses_from_run_id"),
        sa.CheckConstraint("(lot IS NULL) <> (from_run_id IS NULL)", name="source"),
    )
    _entries(
        "labels",
        "labelled_utc_ms",
        *(_text(name) for name in ("lot", "name", "best_before", "contains", "may_contain")),
        sa.Column("net_mg", sa.Integer, nullable=False),
    )


def _entries(name: str, when: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("run_id", sa.Integer, nullable=False),
        sa.Column(when, sa.BigInteger, nullable=False),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name=f"fk_{name}_run_id"),
    )
    op.create_index(f"ix_{name}_run_id", name, ["run_id"])


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text, nullable=False)
