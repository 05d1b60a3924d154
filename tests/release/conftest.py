"""The scripts of a release lie beside their tests."""

import sys
from pathlib import Path

import pytest

# At the end, as for the benches: their names are short.
sys.path.append(str(Path(__file__).parent))


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the project."""
    return Path(__file__).parents[2]
