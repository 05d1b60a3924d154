"""Shared by all tests: where the shared test helpers lie, and Ctrl-C as a terminal gives it."""

import signal
import sys
from pathlib import Path

from hypothesis import settings

for folder in ("shared", "docs"):
    sys.path.insert(0, str(Path(__file__).parent / folder))

# A slow machine is not a wrong answer.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # Started in the background by a shell, and so would be all programs that tests interrupt.
    signal.signal(signal.SIGINT, signal.default_int_handler)
