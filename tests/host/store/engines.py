"""A database of its own on the PostgreSQL server that SNAPGLOSS_TEST_POSTGRES names.

Its language is not C, so that an order of letters that hangs on it shows.
"""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

MADE = "CREATE DATABASE {} TEMPLATE template0 LOCALE_PROVIDER icu ICU_LOCALE 'en'"


@contextmanager
def new_database(form: str = MADE) -> Iterator[str]:
    """The URL of a database that is there until the block ends."""
    there = os.environ.get("SNAPGLOSS_TEST_POSTGRES")
    assert there, "set SNAPGLOSS_TEST_POSTGRES to the address of a database on a test server"
    name = f"made_{secrets.token_hex(6)}"
    server = create_engine(there, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(form.format(name)))
    try:
        yield make_url(there).set(database=name).render_as_string(hide_password=False)
    finally:
        with server.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        server.dispose()
