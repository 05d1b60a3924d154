"""The first form of the record.

Revision ID: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make all tables."""
    op.create_table(
        "boots",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("board", sa.Text, nullable=False),
        sa.Column("boot_nonce", sa.BigInteger, nullable=False),
        sa.Column("firmware", sa.Text, nullable=False),
        sa.Column("simulated", sa.Boolean, nullable=False),
        sa.Column("first_seen_utc_ms", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_boots"),
        sa.UniqueConstraint("board", "boot_nonce", name="uq_boots_board_boot_nonce"),
    )
    _rig_tables()
    _run_tables()
    _beside_runs()


def _of_boot(name: str, *columns: sa.schema.SchemaItem, key: tuple[str, ...]) -> None:
    op.create_table(
        name,
        sa.Column("boot_id", sa.Integer, nullable=False, autoincrement=False),
        *columns,
        sa.PrimaryKeyConstraint("boot_id", *key, name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["boot_id"], ["boots.id"], name=f"fk_{name}_boot_id"),
        sqlite_with_rowid=False,
    )


def _whole(*names: str, nullable: bool = False) -> list[sa.Column[int]]:
    return [sa.Column(n, sa.Integer, nullable=nullable, autoincrement=False) for n in names]


def _rig_tables() -> None:
    _of_boot(
        "readings",
        *_whole("seq"),
        sa.Column("at_ms", sa.BigInteger, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        *_whole("step_no"),
        *_whole("target_mc", "product_mc", "plate_mc", "room_mc", nullable=True),
        *_whole("heat_permille", "fan_permille", "stir_permille", "flags"),
        key=("seq",),
    )
    _of_boot(
        "events",
        *_whole("seq"),
        sa.Column("at_ms", sa.BigInteger, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        *_whole("a", "b"),
        key=("seq",),
    )
    _of_boot(
        "gaps",
        sa.Column("stream", sa.Text, nullable=False),
        *_whole("from_seq", "to_seq"),
        sa.Column("why", sa.Text, nullable=False),
        sa.CheckConstraint("stream IN ('readings', 'events')", name="stream"),
        key=("stream", "from_seq", "to_seq"),
    )


def _run_tables() -> None:
    op.create_table(
        "runs",
        sa.Column("id", sa.Integer, nullable=False),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in ("schedule_toml", "digest", "chocolate", "type", "method")
        ),
        *_whole("mass_g", "window_low_mc", "window_high_mc", "work_mc"),
        sa.Column("rig", sa.Text, nullable=False),
        sa.Column("simulated", sa.Boolean, nullable=False),
        sa.Column("seed", sa.BigInteger),
        sa.Column("workshop", sa.Text, nullable=False),
        sa.Column("started_utc_ms", sa.BigInteger, nullable=False),
        sa.Column("ended_utc_ms", sa.BigInteger),
        sa.Column("outcome", sa.Text, nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_runs"),
        sa.CheckConstraint(
            "outcome IN ('finished', 'stopped', 'off', 'unfinished')", name="outcome"
        ),
    )
    op.create_table(
        "run_parts",
        *_whole("run_id", "part_no", "boot_id"),
        sa.Column("start_ms", sa.BigInteger, nullable=False),
        sa.Column("end_ms", sa.BigInteger),
        sa.Column("begun_utc_ms", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("run_id", "part_no", name="pk_run_parts"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_run_parts_run_id"),
        sa.ForeignKeyConstraint(["boot_id"], ["boots.id"], name="fk_run_parts_boot_id"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_run_parts_boot_id", "run_parts", ["boot_id"])


def _beside_runs() -> None:
    op.create_table(
        "figures",
        *_whole("run_id"),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("value", sa.Float),
        sa.PrimaryKeyConstraint("run_id", "name", name="pk_figures"),
        sa.ForeignKeyConstraint(["run_id"], ["runs.id"], name="fk_figures_run_id"),
        sqlite_with_rowid=False,
    )
    for name, column, owner, text in (
        ("notes", "run_id", "runs", ("written_utc_ms", "words")),
        ("console", "boot_id", "boots", ("seen_utc_ms", "text")),
    ):
        op.create_table(
            name,
            sa.Column("id", sa.Integer, nullable=False),
            *_whole(column),
            sa.Column(text[0], sa.BigInteger, nullable=False),
            sa.Column(text[1], sa.Text, nullable=False),
            sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
            sa.ForeignKeyConstraint([column], [f"{owner}.id"], name=f"fk_{name}_{column}"),
        )
        op.create_index(f"ix_{name}_{column}", name, [column])
