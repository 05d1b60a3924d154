"""Fuzzed frames, valid check sums included: fewer where the heap is that of a board."""

import sys

import fuzz_frames
from fw_fakes import Rig

FRAMES = 5000 if sys.implementation.name == "micropython" else 50000


def test_no_frame_moves_a_rig_that_nobody_pressed():
    """Nothing heats, turns, fails or is mistaken; the rig still answers and holds its schedule."""
    found = fuzz_frames.Fuzz(20261125).run(FRAMES)
    assert found.wrong == [], found.wrong
    assert found.frames == FRAMES
    assert found.checked > FRAMES // 8  # good check sums, so that the content was looked at
    assert found.understood > FRAMES // 100


def test_the_fuzz_sees_a_rig_that_starts_by_itself():
    """A rig that heats on any of these lines is found out."""
    fuzz = fuzz_frames.Fuzz(1)
    loop = Rig.one_pass

    def heats(rig, passed_ms=250):
        loop(rig, passed_ms)
        rig.board.heat_on = 1

    Rig.one_pass = heats
    try:
        fuzz.run(3)
    finally:
        Rig.one_pass = loop
    assert len(fuzz.wrong) >= 3, fuzz.wrong
