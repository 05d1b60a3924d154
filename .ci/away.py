"""Run by the Python of a clean environment: `away.py CHECKOUT DATA`.

Checks that the installed wheel, not the checkout, wrote a batch into DATA, and that every form
of the record that was ever released migrates to the present one.
"""

import subprocess
import sys
import tempfile
from json import loads
from pathlib import Path

from alembic import command
from sqlalchemy import Engine

import rigfw
import rigwire
import snapgloss
from snapgloss.store import open_store
from snapgloss.store.engine import make_engine
from snapgloss.store.migrate import held_revision, scripts_config
from snapgloss.store.migrations import HEAD, REVISIONS


def check_origin(checkout: Path) -> None:
    """The three packages come from the wheel."""
    for package in (snapgloss, rigwire, rigfw):
        place = Path(package.__file__).resolve()
        assert checkout not in place.parents, f"{place} lies in the checkout"


def check_batch(data: Path) -> None:
    """`snapgloss runs --json` lists the batch, and its report is there."""
    program = Path(sys.executable).with_name("snapgloss")
    call = [program, "--data", data, "runs", "--json"]
    runs = loads(subprocess.run(call, check=True, capture_output=True, text=True).stdout)
    assert len(runs) == 1, f"one batch expected, {len(runs)} found"
    for ending in ("*.html", "*.png"):
        assert list(data.rglob(ending)), f"no {ending} under the data folder"


def upgrade_to(engine: Engine, revision: str) -> None:
    """Make a record of an earlier form."""
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        config = scripts_config()
        config.attributes["connection"] = connection
        command.upgrade(config, revision)


def check_migration(revision: str | None) -> None:
    """A record of `revision` (None = empty) opens at the present form."""
    with tempfile.TemporaryDirectory() as folder:
        engine = make_engine(folder)
        if revision is not None:
            upgrade_to(engine, revision)
        open_store(folder).close()
        with engine.connect() as connection:
            held = held_revision(connection)
        engine.dispose()
    assert held == HEAD, f"from {revision} to {held}, not to {HEAD}"


def main() -> None:
    """All checks; an AssertionError ends with exit code 1."""
    checkout, data = (Path(given).resolve() for given in sys.argv[1:3])
    check_origin(checkout)
    check_batch(data)
    for revision in (None, *REVISIONS):
        check_migration(revision)
    sys.stdout.write(f"wheel, batch and {1 + len(REVISIONS)} migrations to {HEAD}: good\n")


if __name__ == "__main__":
    main()
