"""A PostgreSQL of the bench's own, with the settings Debian's package comes with, behind a socket.

With SNAPGLOSS_TEST_POSTGRES the server named there is used instead.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from host.store.engines import new_database


@contextmanager
def a_database() -> Iterator[str]:
    """The URL of an empty database, dropped in the end."""
    if "SNAPGLOSS_TEST_POSTGRES" in os.environ:
        with new_database() as url:
            yield url
        return
    with _a_server() as url:
        os.environ["SNAPGLOSS_TEST_POSTGRES"] = url
        try:
            with new_database() as made:
                yield made
        finally:
            del os.environ["SNAPGLOSS_TEST_POSTGRES"]


@contextmanager
def _a_server() -> Iterator[str]:
    """PostgreSQL refuses to run as root: its folder and processes are its own user's then."""
    programs = max(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: float(p.parent.name))
    as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []

    def call(*words: str) -> None:
        done = subprocess.run([*as_user, *words], capture_output=True, text=True, check=False)
        if done.returncode:
            sys.exit(f"{' '.join(words)}: {done.stderr or done.stdout}")

    with tempfile.TemporaryDirectory() as folder:
        if as_user:
            subprocess.run(["chown", "postgres", folder], check=True)
        data = f"{folder}/data"
        call(str(programs / "initdb"), "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8")
        how = f"-k {folder} -c listen_addresses=''"
        control = str(programs / "pg_ctl")
        call(control, "-D", data, "-w", "-s", "-l", f"{folder}/log", "-o", how, "start")
        try:
            yield f"postgresql+psycopg://postgres@/postgres?host={folder}"
        finally:
            call(control, "-D", data, "-s", "-m", "immediate", "stop")
