"""What the checks of the hardware guide share: its folder on the path, and its netlists."""

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "hardware" / "drawings"))

from netlist import BUILDS, load  # noqa: E402 - its folder is on the path only now


@pytest.fixture(scope="session")
def hardware() -> Path:
    """The folder of the hardware guide."""
    return ROOT / "hardware"


@pytest.fixture(params=BUILDS)
def build(request):
    """Each build's netlist in turn."""
    return load(request.param)
