"""One engine per store. SQLite is set up per connection; any other database is left as it is."""

from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, create_engine, event
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import URL, make_url

from snapgloss.base import folders
from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import shown_path
from snapgloss.store.beginning import begin

FILE_NAME = "snapgloss.sqlite3"
BUSY_TIMEOUT_MS = 5000
_PRAGMAS = (
    f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}",  # first: the next one may have to wait
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",  # an acknowledged batch outlives a pulled plug
    "PRAGMA foreign_keys = ON",
)

Insert = sqlite.Insert | postgresql.Insert


def name_of(data_dir_or_url: str | Path) -> str:
    """What messages call it: the path of the file, or the URL without its password.

    Raises sqlalchemy.exc.ArgumentError on a URL that is none.
    """
    text = str(data_dir_or_url)
    if "://" in text:
        return make_url(text).render_as_string(hide_password=True)
    return str(Path(text) / FILE_NAME)


def make_engine(data_dir_or_url: str | Path) -> Engine:
    """An engine for a data folder (made if absent) or a database URL.

    Raises StoreError when the folder cannot be made, or the record in it has lost its content.
    """
    text = str(data_dir_or_url)
    if "://" in text:
        return create_engine(text)
    path = _made(Path(text)) / FILE_NAME
    begin(path)
    return _sqlite(path)


def _made(folder: Path) -> Path:
    try:
        folders.make(folder)
    except OSError as error:
        raise StoreError(
            f"The data folder {shown_path(folder)} could not be made: {error.strerror}.",
            "Choose another folder with --data.",
        ) from error
    return folder


def _sqlite(path: Path) -> Engine:
    engine = create_engine(URL.create("sqlite", database=str(path)))
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _set_up(connection: Any, _record: Any) -> None:
    """Set the pragmas, and leave BEGIN to us: the driver's own would not cover the migrations."""
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(pragma)


def _begin(connection: Connection) -> None:
    """A writer takes the lock at once: taken half-way, SQLite would not wait for it."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def insert_new(connection: Connection, table: Table) -> Insert:
    """An INSERT that leaves alone the rows whose key is already there."""
    if connection.dialect.name == "postgresql":
        return postgresql.insert(table).on_conflict_do_nothing()
    return sqlite.insert(table).on_conflict_do_nothing()
