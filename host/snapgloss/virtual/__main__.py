"""`python -m snapgloss.virtual`: one simulated rig."""

import sys

from snapgloss.virtual.process import main

if __name__ == "__main__":
    sys.exit(main())
