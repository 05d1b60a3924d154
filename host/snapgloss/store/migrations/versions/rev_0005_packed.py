"""Room for the readings of closed runs, packed."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Rows stay as they are until somebody packs them."""
    op.create_table(
        "packed",
        sa.Column("boot_id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("first_seq", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("last_seq", sa.Integer, nullable=False),
        sa.Column("first_at_ms", sa.BigInteger, nullable=False),
        sa.Column("last_at_ms", sa.BigInteger, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("boot_id", "first_seq", name="pk_packed"),
        sa.ForeignKeyConstraint(["boot_id"], ["boots.id"], name="fk_packed_boot_id"),
    )
