"""One engine per store, and what the two databases do in ways of their own.

Both promise the same: what is read together is of one state, and who reads before he writes is
alone meanwhile. SQLite has one writer anyway; on PostgreSQL such writers wait for one lock, and
only live readings, whose keys say what is held already, go past it.
"""

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

_POSTGRES = "postgresql"
_NAMES_OF_IT = ("postgresql", "postgres")
_WRITER_LOCK = 0x676C6F7373  # of advisory locks, one number for all hosts
_LOCK = f"SELECT pg_advisory_xact_lock({_WRITER_LOCK})"

Insert = sqlite.Insert | postgresql.Insert


def name_of(data_dir_or_url: str | Path) -> str:
    """What messages call it: the path of the file, or the URL without its password.

    Raises sqlalchemy.exc.ArgumentError on a URL that is none.
    """
    text = str(data_dir_or_url)
    if "://" in text:
        # Without what stands behind a question mark: a password may stand there, too.
        return make_url(text).set(query={}).render_as_string(hide_password=True)
    return str(Path(text) / FILE_NAME)


def make_engine(data_dir_or_url: str | Path) -> Engine:
    """An engine for a data folder (made if absent) or a database URL.

    Raises StoreError when the folder cannot be made, or the record in it has lost its content.
    """
    text = str(data_dir_or_url)
    if "://" in text:
        return _server(make_url(text))
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


def _server(url: URL) -> Engine:
    """Each connection is asked whether it still lives: a server may have been started anew."""
    if url.drivername in _NAMES_OF_IT:
        url = url.set(drivername=f"{_POSTGRES}+psycopg")
    engine = create_engine(url, pool_pre_ping=True)
    if engine.dialect.name == _POSTGRES:
        event.listen(engine, "do_connect", _connected)
    return engine


def _connected(dialect: Any, _record: Any, given: Any, named: Any) -> Any:
    """A connection whose names of chocolates come back as they went in, in any language."""
    connection = dialect.connect(*given, **named)
    encoding = connection.info.parameter_status("server_encoding")
    if encoding != "UTF8":
        connection.close()
        raise StoreError(
            f"The database keeps text as {encoding}, which has not all letters.",
            "Make another with: createdb -E UTF8 -T template0 NAME",
        )
    return connection


def reads(engine: Engine) -> dict[str, Any]:
    """The options of a connection that only reads: all of one state of the record."""
    is_server = engine.dialect.name == _POSTGRES
    return {"isolation_level": "REPEATABLE READ"} if is_server else {}


def be_alone(connection: Connection) -> None:
    """Let no other host write by what it read before, until this transaction ends."""
    if connection.dialect.name == _POSTGRES:
        connection.exec_driver_sql(_LOCK)


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
    if connection.dialect.name == _POSTGRES:
        return postgresql.insert(table).on_conflict_do_nothing()
    return sqlite.insert(table).on_conflict_do_nothing()
