"""Room and humidity of a run, as a person read them."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """One table of entries."""
    op.create_table(
        "conditions",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("run_id", sa.Integer, nullable=False),
        sa.Column("seen_utc_ms", sa.BigInteger, nullable=False),
        sa.Column("room_mc", sa.Integer),
        sa.Column("humidity_permille", sa.Integer),
        sa.PrimaryKeyConstraint("id", name="pk_conditions"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_conditions_run_id"),
    )
    op.create_index("ix_conditions_run_id", "conditions", ["run_id"])
