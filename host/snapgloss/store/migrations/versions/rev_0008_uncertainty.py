"""How well the probes of a run knew its working temperature."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """By their calibration; a run from before has none."""
    op.add_column("calibrations", sa.Column("uncertainty_mk", sa.Integer))
