"""The shared tests once more, on the interpreter of the rig."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = sorted(path.name for path in (ROOT / "tests/shared").glob("test_*.py"))


def micropython() -> str:
    """The interpreter of the pinned wheel, beside this Python or on the path."""
    beside = Path(sys.executable).parent / "micropython"
    found = str(beside) if beside.exists() else shutil.which("micropython")
    if found is None:
        pytest.fail("no micropython: the wheel is pinned for this platform only where it exists")
    return found


@pytest.mark.timeout(330)
@pytest.mark.parametrize("file", FILES)
def test_shared_file_passes_on_micropython(file: str) -> None:
    """Every test function of the file runs on MicroPython, with room for a few rigs and source.

    Objects of 64 bits take twice what they take on a Pico, and a Pico compiles nothing.
    """
    command = [micropython(), "-X", "heapsize=640k", str(ROOT / "tests/shared/run.py")]
    done = subprocess.run(
        [*command, str(ROOT / "protocol"), str(ROOT / "firmware"), file],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    counts = re.search(r"^(\d+) passed, (\d+) failed$", done.stdout, re.M)
    assert counts and int(counts[1]) > 0, done.stdout + done.stderr
    assert (done.returncode, counts[2]) == (0, "0"), done.stdout + done.stderr
