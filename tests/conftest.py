"""Shared by all tests: where the shared test helpers lie."""

import sys
from pathlib import Path

for folder in ("shared", "docs"):
    sys.path.insert(0, str(Path(__file__).parent / folder))
