"""When trays went in and out, which probes a rig had; lists of figures read from their index."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Two tables, and the value beside the name in the index of figures."""
    op.create_table(
        "calibrations",
        sa.Column("run_id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("offset_mk", sa.Integer, nullable=False),
        sa.Column("slope_e5", sa.Integer, nullable=False),
        sa.Column("calibrated_utc_ms", sa.BigInteger),
        sa.Column("points", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("run_id", "role", name="pk_calibrations"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_calibrations_run_id"),
    )
    op.create_table(
        "trays",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("run_id", sa.Integer, nullable=False),
        sa.Column("entered_utc_ms", sa.BigInteger, nullable=False),
        sa.Column("tray_no", sa.Integer, nullable=False),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("moved_utc_ms", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_trays"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_trays_run_id"),
        sa.CheckConstraint("place IN ('in', 'out')", name="ck_trays_place"),
    )
    op.create_index("ix_trays_run_id", "trays", ["run_id"])
    op.drop_index("ix_figures_name", "figures")
    op.create_index("ix_figures_name", "figures", ["name", "value"])
