"""A program killed while it writes loses nothing that it was told is kept.

This shows the death of a process, not of the power: for that the store asks SQLite for
synchronous=FULL, which test_opening checks, and must trust the disk.
"""

import subprocess
import sys

from snapgloss.store import open_store

# Writes batches of ten readings for ever, and names the last of each once it is kept.
WRITER = """
import sys
from snapgloss.base.records import Identity, Reading
from snapgloss.store import open_store
store = open_store(sys.argv[1])
boot = store.boot_id(Identity("b", 1, "0", 1, 0, "", "off", 0, 0, -1, -1, -1, -1, True))
seq = 0
while True:
    batch = [Reading(n, n * 1000, "working", 5, None, n, None, None, 0, 0, 0, 0)
             for n in range(seq, seq + 10)]
    store.add_readings(boot, batch)
    seq += 10
    print(seq - 1, flush=True)
"""


def test_a_killed_writer_loses_nothing_it_was_told_is_kept(tmp_path):
    """After SIGKILL in mid-writing every acknowledged reading is there, in whole batches."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    acknowledged = [int(writer.stdout.readline()) for _ in range(40)]
    writer.kill()
    rest, _ = writer.communicate()
    acknowledged += [int(line) for line in rest.splitlines() if line]
    with open_store(tmp_path) as store:
        newest, _ = store.last_seq(1)
        with store._engine.connect() as connection:
            count = connection.exec_driver_sql("SELECT count(*) FROM readings").scalar()
            assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
    assert newest >= acknowledged[-1] >= 399
    assert count == newest + 1
    assert count % 10 == 0
