"""The short form of kills.py: a few kills of the recording host lose and double nothing."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from kills import campaign


def test_kills_lose_nothing() -> None:
    """Six kills in one batch: every row of the device's journal is in the record, once, equal."""
    count = campaign(kills=6, seed=3)
    assert (count.lost, count.doubled, count.differing, count.worst) == (0, 0, 0, [])
    assert count.stated_gaps == 0
    assert count.readings > 60
    assert (count.kills, count.runs) == (6, 1)
