"""The benches are scripts; their tests find them beside themselves."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
