"""The bench of the firmware's loop runs, and its batch is a healthy one all along."""

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
FOLDERS = ("protocol", "firmware", "tests/shared")


def test_the_bench_of_the_loop_measures_a_batch_at_rest() -> None:
    """A few passes of each phase; figures are there, none is judged."""
    command = [sys.executable, "tests/bench/firmware_loop.py", *FOLDERS, "2000"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    figures = json.loads(done.stdout)
    assert (figures["passes"], figures["state"]) == (2000, "resting")
    assert figures["loop_and_fake_us"] > 0.0
