"""The shared tests once more, on the interpreter of the rig, of what a board gets.

That is the firmware compiled and with its numbers in place. `--from-source` runs the source
instead.
"""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import rigwire
from snapgloss.link.compiler import compiled
from snapgloss.rigs.manifest import firmware_files

ROOT = Path(__file__).parents[2]
SHARED = ROOT / "tests" / "shared"
LONG = {f"test_fw_{name}.py" for name in ("witness", "batch", "additions", "creep")}
"""Hours of simulated batches, whose edges the other files try too: by command, `-m long`."""
FILES = [
    pytest.param(name, marks=[pytest.mark.long] if name in LONG else [])
    for name in sorted(path.name for path in SHARED.glob("test_*.py"))
]


def micropython() -> str:
    """The interpreter of the pinned wheel, beside this Python or on the path."""
    beside = Path(sys.executable).parent / "micropython"
    found = str(beside) if beside.exists() else shutil.which("micropython")
    if found is None:
        pytest.fail("no micropython: the wheel is pinned for this platform only where it exists")
    return found


@pytest.fixture(scope="session")
def packages(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Path, Path]:
    """Where rigwire and rigfw lie: the image. Numbers and names that tests look up stay in it."""
    if request.config.getoption("--from-source"):
        return ROOT / "protocol", ROOT / "firmware"
    texts = [path.read_text("utf-8") for path in SHARED.glob("*.py")]
    kept = {name for text in texts for name in re.findall(r"[A-Za-z_]\w*", text)}
    folder = tmp_path_factory.mktemp("image")
    for path, data in compiled(firmware_files(), keep_numbers=True, kept=kept).files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    shutil.copytree(Path(rigwire.__file__).parent / "vectors", folder / "rigwire" / "vectors")
    return folder, folder


@pytest.mark.timeout(330)
@pytest.mark.parametrize("file", FILES)
def test_shared_file_passes_on_micropython(file: str, packages: tuple[Path, Path]) -> None:
    """Every test function of the file runs on MicroPython, with room for a few rigs.

    Objects of 64 bits take twice what they take on a Pico, and a Pico compiles nothing.
    """
    done = subprocess.run(
        [micropython(), "-X", "heapsize=640k", SHARED / "run.py", *packages, file],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    counts = re.search(r"^(\d+) passed, (\d+) failed$", done.stdout, re.M)
    assert counts and int(counts[1]) > 0, done.stdout + done.stderr
    assert (done.returncode, counts[2]) == (0, "0"), done.stdout + done.stderr
