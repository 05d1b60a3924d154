"""The benches are scripts; their tests find them beside themselves."""

import sys
from pathlib import Path

# At the end: `control` here is a script, and elsewhere a library that tests check against.
sys.path.append(str(Path(__file__).parent))
