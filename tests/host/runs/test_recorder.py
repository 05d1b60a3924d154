"""Few and small transactions."""

from typing import Any, cast

import pytest

from snapgloss.base.errors import StoreBusy
from snapgloss.base.records import Event, Reading
from snapgloss.link.streams import Gap
from snapgloss.runs.recorder import MOST_S, Recorder


class CountingStore:
    """Counts transactions: readings, events and gaps of each."""

    def __init__(self) -> None:
        self.calls: list[tuple[int, int, int]] = []
        self.is_held = False

    def take_room(self) -> None:
        """No transaction of a recorder's."""

    def add_readings(self, boot_id: int, readings: list[Reading]) -> None:
        """Count, or refuse."""
        self.add_told(boot_id, readings, [], [])

    def add_told(
        self, boot_id: int, readings: list[Reading], events: list[Event], gaps: list[Gap]
    ) -> None:
        """Count, or refuse."""
        if self.is_held:
            raise StoreBusy("Locked.")
        told = (len(readings), len(events), len(gaps))
        self.calls += [told] if any(told) else []


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
    assert store.calls == [(200, 0, 0)]
    recorder.add(Event(0, 0, "done", 0, 0))
    assert not recorder.is_due(2 * MOST_S - 0.02)
    assert recorder.is_due(2 * MOST_S)
    recorder.flush(2 * MOST_S)
    assert store.calls == [(200, 0, 0), (0, 1, 0)]
    recorder.flush(9.0)
    assert len(store.calls) == 2


@pytest.mark.parametrize(("count", "calls"), [(199, 1), (200, 1), (201, 2), (400, 2), (900, 5)])
def test_all_that_came_is_one_transaction_and_more_than_two_hundred_few(
    count: int, calls: int
) -> None:
    """Each waits for the disk: an event and a gap go with the last of the readings."""
    store = CountingStore()
    recorder = Recorder(cast(Any, store), 1, 0.0)
    recorder.add_all([*map(reading, range(count)), Event(0, 0, "done", 0, 0)])
    recorder.add(Gap("readings", 4, 8, "lost"))
    recorder.flush(1.0)
    assert len(store.calls) == calls
    assert sum(readings for readings, _, _ in store.calls) == count
    assert store.calls[-1][1:] == (1, 1)


def test_a_gap_is_kept_with_the_rest() -> None:
    """A gap is written once, by the next flush."""
    store = CountingStore()
    recorder = Recorder(cast(Any, store), 1, 0.0)
    recorder.add(Gap("readings", 4, 8, "lost"))
    recorder.flush(1.0)
    recorder.flush(2.0)
    assert store.calls == [(0, 0, 1)]


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
    assert store.calls == [(1, 1, 1)]
