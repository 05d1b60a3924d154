"""Which process holds a port, where the system tells (Linux): by its table of file locks.

The table is /proc/locks, proc_locks(5): lines such as
`1: FLOCK  ADVISORY  WRITE 1234 00:1a:5 0 EOF` with process, device and inode.
"""

import os
from pathlib import Path

PROC = Path("/proc")
MOST_CHARS = 60


def holder_of(port: str, proc: Path = PROC) -> str:
    """Return "snapgloss run (process 1234)", or an empty string when nobody can say."""
    try:
        found = Path(port).stat()
        table = (proc / "locks").read_text(encoding="ascii", errors="replace")
    except OSError:
        return ""
    place = f"{os.major(found.st_dev):02x}:{os.minor(found.st_dev):02x}:{found.st_ino}"
    for line in table.splitlines():
        fields = line.split()
        if "FLOCK" in fields and place in fields:
            return _named(fields[fields.index(place) - 1], proc)
    return ""


def _named(pid: str, proc: Path) -> str:
    """Return a process as a person knows it: its program, not the interpreter that runs it."""
    try:
        words = (proc / pid / "cmdline").read_bytes().decode(errors="replace").split("\0")
    except OSError:
        return f"process {pid}"
    names = [Path(word).name for word in words[:3]]
    own = (n for n in names if n and not n.startswith(("python", "-")) and n.isprintable())
    program = next((name for name in own if " " not in name), names[0])[:MOST_CHARS]
    return f"{program or 'a program'} (process {pid})"
