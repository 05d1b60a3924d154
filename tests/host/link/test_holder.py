"""Who holds a port: read from a table of locks as the kernel writes it (proc_locks(5))."""

import fcntl
import os
import sys
from pathlib import Path

import pytest

from snapgloss.link.holder import holder_of


@pytest.fixture
def proc(tmp_path: Path) -> Path:
    """A made-up /proc with the lock of process 4711 on the file `port`."""
    port = tmp_path / "port"
    port.touch()
    found = port.stat()
    place = f"{os.major(found.st_dev):02x}:{os.minor(found.st_dev):02x}:{found.st_ino}"
    (tmp_path / "locks").write_text(
        "1: POSIX  ADVISORY  WRITE 12 00:1a:7 0 EOF\n"
        f"2: FLOCK  ADVISORY  WRITE 4711 {place} 0 EOF\n"
    )
    (tmp_path / "4711").mkdir()
    return tmp_path


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"/usr/bin/python3\0/home/ines/bin/snapgloss\0run\0", "snapgloss (process 4711)"),
        (b"python\0-m\0serial.tools.miniterm\0", "serial.tools.miniterm (process 4711)"),
        (b"/usr/bin/picocom\0/dev/ttyACM0\0", "picocom (process 4711)"),
        (b"python3\0-c\0import time; time.sleep(9)\0", "python3 (process 4711)"),
        (b"", "a program (process 4711)"),
    ],
)
def test_the_program_is_named(proc: Path, line: bytes, words: str) -> None:
    """What was typed, without the interpreter, and the number of the process."""
    (proc / "4711" / "cmdline").write_bytes(line)
    assert holder_of(str(proc / "port"), proc) == words


def test_a_process_of_somebody_else(proc: Path) -> None:
    """A process that may not be looked into is still named by its number."""
    assert holder_of(str(proc / "port"), proc) == "process 4711"


def test_nobody_and_no_table(proc: Path) -> None:
    """No lock, no port or no table: no words, no error."""
    assert holder_of(str(proc / "locks"), proc) == ""
    assert holder_of(str(proc / "absent"), proc) == ""
    assert holder_of(str(proc / "port"), proc / "absent") == ""


@pytest.mark.skipif(sys.platform != "linux", reason="reads the kernel's own table")
def test_the_kernels_own_table(tmp_path: Path) -> None:
    """A lock of this very process is found in the real table."""
    port = tmp_path / "port"
    with port.open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        assert f"(process {os.getpid()})" in holder_of(str(port))
