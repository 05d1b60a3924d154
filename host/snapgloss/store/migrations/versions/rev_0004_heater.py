"""The heater's power beside each start of a rig, and figures found by their name."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """For the energy of a run, and for charts over all runs."""
    op.add_column("boots", sa.Column("heater_w", sa.Integer))
    op.create_index("ix_figures_name", "figures", ["name"])
