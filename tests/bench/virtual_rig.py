"""Simulated seconds per second of the virtual rig over a whole seeded 2 kg batch.

    python tests/bench/virtual_rig.py --json

The rig is a process of its own at max speed; a minimal host loads the batch over the port and
takes every push. Timed from the press of start to the end of the batch. The bound asked for is
600, the aim 900, both judged on the machine it runs on.
"""

import argparse
import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "system"))

from virtual_client import Client

from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess


def measure() -> dict[str, object]:
    """One batch."""
    with VirtualRigProcess(SpawnOptions(PlantSetup(), "max")) as rig, Client(rig.port) as host:
        host.start()
        host.until_state("melting")
        began_s = time.perf_counter()
        ended = host.until_state("finished", "stopped")
        wall_s = time.perf_counter() - began_s
        readings = host.rows("reading")
        if ended != "finished":
            raise SystemExit(f"The batch ended in {ended!r}, not in 'finished'.")
        in_batch = [row.get("at_ms") for row in readings if row.get("step_no")]
        simulated_s = (in_batch[-1] - in_batch[0]) / 1000
        return {
            "simulated_s_per_wall_s": round(simulated_s / wall_s, 1),
            "wall_s": round(wall_s, 2),
            "interpreter": rig.interpreter,
        }


def main() -> None:
    """Print the figures, as JSON with --json."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print exactly one JSON object")
    figures = measure()
    if parser.parse_args().json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name}: {value}")


if __name__ == "__main__":
    main()
