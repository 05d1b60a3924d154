"""Memory that runs out anywhere in a pass, on MicroPython: all off, never an exception."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module", params=["heating", "asked"])
def outcomes(request: pytest.FixtureRequest) -> list[list[str]]:
    """The lines of out_of_memory.py: blocks free, how the pass ended, heat, offs, state."""
    beside = Path(sys.executable).parent / "micropython"
    micropython = str(beside) if beside.exists() else shutil.which("micropython")
    assert micropython, "no micropython: the wheel is pinned for this platform only"
    folders = [str(ROOT / name) for name in ("protocol", "firmware", "tests/shared")]
    script = str(Path(__file__).parent / "out_of_memory.py")
    done = subprocess.run(
        [micropython, "-X", "heapsize=640k", script, *folders, "4", request.param],
        capture_output=True, text=True, timeout=110, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-500:] + done.stderr
    return [line.split() for line in done.stdout.splitlines()]


def test_no_pass_raises(outcomes: list[list[str]]) -> None:
    """Whatever is free, the loop comes back."""
    assert len(outcomes) == 100
    assert {row[1] for row in outcomes} == {"well"}


def test_a_pass_that_ran_out_turned_all_off(outcomes: list[list[str]]) -> None:
    """Stopped, the one path to all off taken, no heat; a pass that had enough goes on melting."""
    out = [row for row in outcomes if row[4] != "melting"]
    assert len(out) >= 3
    assert {(row[2], row[4]) for row in out} == {("0", "stopped")}
    assert all(int(row[3]) >= 1 for row in out)
    assert outcomes[0] in out
    assert outcomes[-1][4] == "melting"
