"""The short form of soak.py; by command the long one.

    python tests/system/test_soak.py --hours 1000 --seed 1 --json

The heap's low water is judged from the second day on: until then the journal fills and each row of
the wire's table is read for the first time.
"""

import argparse
import json
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
ROUND_H = 12
SETTLED_H = 24


class Hour(NamedTuple):
    """One line of soak.py."""

    at: int
    free_bytes: int
    state: str
    wraps: int


def soak(hours: int, seed: int) -> tuple[list[Hour], int]:
    """The hours, and how many faults the rig noted."""
    beside = Path(sys.executable).parent / "micropython"
    micropython = str(beside) if beside.exists() else shutil.which("micropython")
    assert micropython, "no micropython: the wheel is pinned for this platform only"
    folders = [str(ROOT / name) for name in ("protocol", "firmware", "tests/shared")]
    script = str(Path(__file__).parent / "soak.py")
    call = [micropython, "-X", "heapsize=640k", script, *folders, str(hours), str(seed)]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-500:] + done.stderr
    *lines, last = [line.split() for line in done.stdout.splitlines()]
    found = [Hour(int(at), int(free), state, int(wraps)) for at, free, state, wraps in lines]
    return found, int(last[1])


def low_waters(hours: list[Hour]) -> list[int]:
    """The least that was free in each round of twelve hours."""
    rounds = range(0, len(hours) - ROUND_H + 1, ROUND_H)
    return [min(one.free_bytes for one in hours[at : at + ROUND_H]) for at in rounds]


def slope_bytes_per_h(hours: list[Hour]) -> float:
    """Of the low waters once settled, by least squares; below zero where memory is lost."""
    lows = low_waters(hours)[SETTLED_H // ROUND_H :]
    middle = (len(lows) - 1) / 2
    spread = sum((at - middle) ** 2 for at in range(len(lows)))
    return sum((at - middle) * low for at, low in enumerate(lows)) / spread / ROUND_H


@pytest.mark.campaign
def test_a_day_and_a_half_loses_no_memory() -> None:
    """36 h with three batches, begun before a wrap: no fault, and no round lower than the last."""
    hours, faults = soak(36, seed=1)
    assert (len(hours), faults) == (36, 0)
    assert {one.state for one in hours} == {"off"}
    assert hours[-1].wraps == 1
    before, after = low_waters(hours)[1:]
    assert after >= before - 1024


def test_a_slope_is_seen() -> None:
    """100 bytes lost each hour are a slope of -100; a saw-tooth is none."""
    lost = [Hour(at, 300_000 - 100 * at, "off", 1) for at in range(240)]
    assert round(slope_bytes_per_h(lost)) == -100
    teeth = [Hour(at, 300_000 - 50 * (at % 7), "off", 1) for at in range(240)]
    assert abs(slope_bytes_per_h(teeth)) < 0.5


def main() -> int:
    """Print the figures; 1 after a fault."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    asked = parser.parse_args()
    hours, faults = soak(asked.hours, asked.seed)
    lows = low_waters(hours)[SETTLED_H // ROUND_H :]
    figures = {
        "hours": len(hours),
        "wraps": hours[-1].wraps,
        "faults": faults,
        "batches": len(range(1, asked.hours, ROUND_H)),
        "free_least_bytes": min(lows),
        "free_last_bytes": lows[-1],
        "slope_bytes_per_h": round(slope_bytes_per_h(hours), 2),
    }
    print(json.dumps(figures) if asked.json else figures)
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main())
