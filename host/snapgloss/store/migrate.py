"""Bring a database to the form this version knows; refuse one that is newer."""

import sqlite3
from contextlib import closing
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text

from snapgloss.base.errors import VersionError
from snapgloss.store.aside import beside
from snapgloss.store.copying import copied
from snapgloss.store.engine import be_alone
from snapgloss.store.migrations import HEAD, REVISIONS

if TYPE_CHECKING:
    from alembic.config import Config


def to_head(engine: Engine, where: str) -> Path | None:
    """Migrate in one transaction: after a failure the database is as it was.

    The file of a record that is not new is copied first; gives where the copy is. Raises
    VersionError when a newer snapgloss wrote it, StoreError when it could not be copied.
    """
    with engine.connect() as connection:
        if _known(held_revision(connection), where) == HEAD:
            return None
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        be_alone(connection)
        # Asked again under the lock: another program may have migrated meanwhile.
        held = _known(held_revision(connection), where)
        if held == HEAD:
            return None
        kept = _kept_before(connection) if held else None
        _upgrade(connection)
    return kept


def _kept_before(connection: Connection) -> Path | None:
    """The record as others see it while this connection holds the lock; a server keeps its own."""
    if connection.dialect.name != "sqlite":
        return None
    path = Path(str(connection.engine.url.database))
    kept = beside(path, f"before-{HEAD}")
    with closing(sqlite3.connect(path)) as raw:
        copied(raw, kept, str(path))
    return kept


def held_revision(connection: Connection) -> str | None:
    """The revision the database is at; None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    row = connection.execute(text("SELECT version_num FROM alembic_version")).first()
    return str(row[0]) if row else None


def _known(revision: str | None, where: str) -> str | None:
    if revision is None or revision in REVISIONS:
        return revision
    raise VersionError(
        f"The record in {where} was written by a newer snapgloss (form {revision}).",
        "Update snapgloss, or choose another folder with --data.",
    )


def _upgrade(connection: Connection) -> None:
    from alembic import command

    config = scripts_config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def scripts_config() -> "Config":
    """Alembic's configuration, without an alembic.ini."""
    from alembic.config import Config

    config = Config()
    folder = str(files("snapgloss.store") / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
