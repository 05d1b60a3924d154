"""Few and small transactions."""

from typing import Any, cast

from snapgloss.base.records import Event, Reading
from snapgloss.link.streams import Gap
from snapgloss.runs.recorder import MOST_S, Recorder


class CountingStore:
    """Counts calls, keeps lengths."""

    def __init__(self) -> None:
        self.calls: list[tuple[str, int]] = []

    def add_readings(self, boot_id: int, readings: list[Reading]) -> None:
        """Count."""
        self.calls.append(("readings", len(readings)))

    def add_events(self, boot_id: int, events: list[Event]) -> None:
        """Count."""
        self.calls.append(("events", len(events)))

    def add_gap(self, boot_id: int, *gap: Any) -> None:
        """Count."""
        self.calls.append(("gap", gap[1]))


def reading(seq: int) -> Reading:
    """Any reading."""
    return Reading(seq, seq * 1000, "melting", 1, None, None, None, None, 0, 0, 0, 0)


def test_two_hundred_readings_or_half_a_second() -> None:
    """Nothing is written before either is reached; then all at once."""
    store = CountingStore()
    recorder = Recorder(cast(Any, store), 1, 0.0)
    for seq in range(199):
        recorder.add(reading(seq))
    recorder.flush_when_due(MOST_S - 0.01)
    assert store.calls == []
    recorder.add(reading(199))
    recorder.flush_when_due(MOST_S - 0.01)
    assert store.calls == [("readings", 200)]
    recorder.add(Event(0, 0, "done", 0, 0))
    recorder.flush_when_due(2 * MOST_S - 0.02)
    assert len(store.calls) == 1
    recorder.flush_when_due(2 * MOST_S)
    assert store.calls == [("readings", 200), ("events", 1)]
    recorder.flush(9.0)
    assert len(store.calls) == 2


def test_a_gap_is_kept_at_once() -> None:
    """A gap does not wait."""
    store = CountingStore()
    Recorder(cast(Any, store), 1, 0.0).add(Gap("readings", 4, 8, "lost"))
    assert store.calls == [("gap", 4)]
