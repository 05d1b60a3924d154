"""Shared by all tests: where the shared test helpers lie, and Ctrl-C as a terminal gives it."""

import signal
import sys
from pathlib import Path

for folder in ("shared", "docs"):
    sys.path.insert(0, str(Path(__file__).parent / folder))

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # Started in the background by a shell, and so would be all programs that tests interrupt.
    signal.signal(signal.SIGINT, signal.default_int_handler)
