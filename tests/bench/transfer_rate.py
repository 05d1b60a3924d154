"""A record copied into PostgreSQL: readings a second, everything verified.

    python tests/bench/transfer_rate.py --json

Makes a record of closed runs (synthetic, of 10,000 readings each) in a folder of its own, starts a
PostgreSQL with the package's own settings beside it, and copies. The clock runs from the call to
its return: reading the file, sending, all commits, counting and summing every table on both
sides. `packed` is the same record with its readings packed. "ok" says whether the rate is within
the bound asked for, on the machine it runs on, whose load stands beside it; if not, the exit code
is 1. A script called copy.py would hide Python's own module from its neighbours.
"""

import argparse
import json
import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from bench.servers import a_database
from bench.store import fill

from snapgloss.runs.copying import copy_to
from snapgloss.runs.packing import pack_old
from snapgloss.store import open_store

BOUND_PER_S = 100_000
RUNS, READINGS = 100, 10_000


def measured(folder: Path, readings: int) -> dict[str, Any]:
    """Copy into an empty database, then once more; seconds, and readings a second."""
    with a_database() as url:
        open_store(url).close()  # the tables are made before the clock runs
        began_s, began_cpu_s = time.perf_counter(), time.process_time()
        copied = copy_to(folder, url, lambda *_told: None)
        took_s, cpu_s = time.perf_counter() - began_s, time.process_time() - began_cpu_s
        again_s = time.perf_counter()
        added = sum(one.added for one in copy_to(folder, url, lambda *_told: None))
        again_s = time.perf_counter() - again_s
    rows = {one.table: one.rows for one in copied if one.table in ("readings", "packed")}
    return {
        "took_s": round(took_s, 2), "own_cpu_s": round(cpu_s, 2), **rows,
        "readings_per_s": round(readings / took_s), "again_s": round(again_s, 2),
        "again_added": added,
    }  # fmt: skip


def main() -> int:
    """Print the figures; 1 when the rate is below the bound."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--runs", type=int, default=RUNS, help="of 10,000 readings each")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        fill(folder, asked.runs, READINGS)
        readings = asked.runs * READINGS
        load = os.getloadavg()[0]
        found: dict[str, Any] = {"readings": readings, "load": round(load, 1)}
        found["rows"] = measured(folder, readings)
        with open_store(folder) as store:
            pack_old(store)
        found["packed"] = measured(folder, readings)
    found["bound_per_s"] = BOUND_PER_S
    found["ok"] = found["rows"]["readings_per_s"] >= BOUND_PER_S
    print(json.dumps(found, indent=2))
    return 0 if found["ok"] else 1


if __name__ == "__main__":
    sys.exit(main())
