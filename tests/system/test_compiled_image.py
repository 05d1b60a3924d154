"""What a board gets, compiled and with its numbers in place, passes the tests of its source."""

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
# Those that judge, step, keep and talk; all of them with `-m campaign`.
SOME = re.compile(r"test_(fw_edges|fw_heap|fw_inter|fw_journal|fw_link|fw_sequ|wire_messages)")


@pytest.fixture(scope="session")
def image(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the compiled firmware. Numbers and names that tests look up stay."""
    texts = [path.read_text("utf-8") for path in SHARED.glob("*.py")]
    kept = {name for text in texts for name in re.findall(r"[A-Za-z_]\w*", text)}
    folder = tmp_path_factory.mktemp("image")
    for path, data in compiled(firmware_files(), keep_numbers=True, kept=kept).files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(data)
    shutil.copytree(Path(rigwire.__file__).parent / "vectors", folder / "rigwire" / "vectors")
    return folder


def _passes(file: str, image: Path) -> None:
    """Every test function of a file, with rigwire and rigfw from the image alone."""
    micropython = Path(sys.executable).with_name("micropython")
    done = subprocess.run(
        [micropython, "-X", "heapsize=640k", SHARED / "run.py", image, image, file],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    counts = re.search(r"^(\d+) passed, (\d+) failed$", done.stdout, re.M)
    assert counts and int(counts[1]) > 0, done.stdout + done.stderr
    assert (done.returncode, counts[2]) == (0, "0"), done.stdout + done.stderr


FILES = sorted(path.name for path in SHARED.glob("test_*.py"))


@pytest.mark.parametrize("file", [name for name in FILES if SOME.match(name)])
def test_the_image_passes_the_tests_of_its_source(file: str, image: Path) -> None:
    """On MicroPython, from compiled files."""
    _passes(file, image)


@pytest.mark.campaign
@pytest.mark.parametrize("file", [name for name in FILES if not SOME.match(name)])
def test_the_image_passes_the_rest_of_the_tests_of_its_source(file: str, image: Path) -> None:
    """As above, all others."""
    _passes(file, image)
