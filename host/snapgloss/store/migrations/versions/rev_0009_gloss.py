"""How sharply bars mirror the line card, and how they snap."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Two tables of entries; photos and sounds themselves lie in the data folder."""
    _entries("glosses", "seen_utc_ms", "photo", "sharpness", "mirrored")
    _entries("snaps", "heard_utc_ms", "sound", "loudness_db", "centroid_hz")


def _entries(name: str, when: str, file: str, *figures: str) -> None:
    columns: list[Any] = [sa.Column(figure, sa.Float, nullable=False) for figure in figures]
    op.create_table(
        name,
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("run_id", sa.Integer, nullable=False),
        sa.Column(when, sa.BigInteger, nullable=False),
        sa.Column("kept", sa.Boolean, nullable=False),
        sa.Column("way", sa.Integer, nullable=False),
        *columns,
        sa.Column(file, sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name=f"fk_{name}_run_id"),
    )
    op.create_index(f"ix_{name}_run_id", name, ["run_id"])
