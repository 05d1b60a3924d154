"""Shared by all tests: where the shared test helpers lie, and Ctrl-C as a terminal gives it."""

import gc
import signal
import sys
from pathlib import Path

import pytest
from hypothesis import settings

for folder in ("shared", "docs"):
    sys.path.insert(0, str(Path(__file__).parent / folder))

# A slow machine is not a wrong answer.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # Started in the background by a shell, and so would be all programs that tests interrupt.
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_addoption(parser):
    """A MicroPython image for the emulated board; firmware as source, with lines in what fails."""
    parser.addoption("--uf2", metavar="PATH", help="run tests/device/emulated with this image")
    parser.addoption(
        "--from-source", action="store_true", help="run tests/shared on MicroPython uncompiled"
    )


def pytest_configure(config):
    """A file that is no image ends the run here, in a sentence."""
    image = config.getoption("--uf2")
    if image:
        from tests.device.uf2_image import why_not

        words = why_not(Path(image))
        if words:
            raise pytest.UsageError(words)


def pytest_collection_finish():
    """What the collection made stays to the end: no collector looks through it again.

    The firmware collects in each pass, which would otherwise take longer than the pass's own work.
    """
    gc.collect()
    gc.freeze()


def pytest_ignore_collect(collection_path, config):
    """Without an image the emulated board has nothing to run: its tests are not collected."""
    if collection_path.name == "emulated" and not config.getoption("--uf2"):
        return True
    return None
