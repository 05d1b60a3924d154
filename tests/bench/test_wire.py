"""The bench of the wire measures what it says: whole frames, checked, on both interpreters."""

import pytest

import wire
from rigwire import frames
from rigwire.errors import FrameRefused


def test_it_measures_both_interpreters_and_plain_json() -> None:
    """A short run has every key, and figures above zero."""
    figures = wire.measure(rounds=1, many=200)
    for name in ("cpython_frames_per_s", "micropython_frames_per_s", "ratio_to_plain_json"):
        assert float(str(figures[name])) > 0


def test_what_it_times_looks_at_what_it_decodes(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reading out of range, and a frame that would be written otherwise, end the bench."""
    monkeypatch.setattr(wire, "READING", (*wire.READING[:-1], 1024))
    with pytest.raises(Exception, match="flags is out of range"):
        wire.checked(1)
    monkeypatch.undo()
    monkeypatch.setattr(frames.json, "loads", lambda _text: ["reading", 2, *wire.READING])
    with pytest.raises(FrameRefused, match="canonical"):
        wire.checked(1)
