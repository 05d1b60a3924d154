"""Few and small transactions."""

from typing import Any, cast

import pytest

from snapgloss.base.errors import StoreBusy
from snapgloss.base.records import Event, Reading
from snapgloss.link.streams import Gap
from snapgloss.runs.recorder import MOST_S, Recorder


class CountingStore:
    """Counts calls, keeps lengths."""

    def __init__(self) -> None:
        self.calls: list[tuple[str, int]] = []
        self.is_held = False

    def add_readings(self, boot_id: int, readings: list[Reading]) -> None:
        """Count, or refuse."""
        if self.is_held:
            raise StoreBusy("Locked.")
        self.calls.append(("readings", len(readings)))

    def add_events(self, boot_id: int, events: list[Event]) -> None:
        """Count, or refuse."""
        if self.is_held:
            raise StoreBusy("Locked.")
        self.calls.append(("events", len(events)))

    def add_gap(self, boot_id: int, *gap: Any) -> None:
        """Count."""
        self.calls.append(("gap", gap[1]))


def reading(seq: int) -> Reading:
    """Any reading."""
    return Reading(seq, seq * 1000, "melting", 1, None, None, None, None, 0, 0, 0, 0)


def test_two_hundred_readings_or_half_a_second() -> None:
    """Nothing is due before either is reached; then all is written at once."""
    store = CountingStore()
    recorder = Recorder(cast(Any, store), 1, 0.0)
    for seq in range(199):
        recorder.add(reading(seq))
    assert not recorder.is_due(MOST_S - 0.01)
    recorder.add(reading(199))
    assert recorder.is_due(MOST_S - 0.01)
    recorder.flush(MOST_S - 0.01)
    assert store.calls == [("readings", 200)]
    recorder.add(Event(0, 0, "done", 0, 0))
    assert not recorder.is_due(2 * MOST_S - 0.02)
    assert recorder.is_due(2 * MOST_S)
    recorder.flush(2 * MOST_S)
    assert store.calls == [("readings", 200), ("events", 1)]
    recorder.flush(9.0)
    assert len(store.calls) == 2


def test_a_gap_is_kept_with_the_rest() -> None:
    """A gap is written once, by the next flush."""
    store = CountingStore()
    recorder = Recorder(cast(Any, store), 1, 0.0)
    recorder.add(Gap("readings", 4, 8, "lost"))
    recorder.flush(1.0)
    recorder.flush(2.0)
    assert store.calls == [("gap", 4)]


def test_what_could_not_be_written_is_still_there() -> None:
    """A flush that fails loses nothing: the next one writes readings, events and gaps."""
    store = CountingStore()
    store.is_held = True
    recorder = Recorder(cast(Any, store), 1, 0.0)
    for record in (reading(0), Event(0, 0, "done", 0, 0), Gap("readings", 4, 8, "lost")):
        recorder.add(record)
    with pytest.raises(StoreBusy):
        recorder.flush(1.0)
    store.is_held = False
    recorder.flush(2.0)
    assert store.calls == [("readings", 1), ("events", 1), ("gap", 4)]
