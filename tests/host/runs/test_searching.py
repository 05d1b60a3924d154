"""Finding batches: each filter by itself and together, page by page."""

from datetime import date
from pathlib import Path

import pytest
from tests.host.synthetic import Synthetic, keep, synthetic

from snapgloss.base.errors import InputError
from snapgloss.runs.searching import Wanted, search
from snapgloss.store import open_store
from snapgloss.store.store import Store

DAY_MS = 24 * 3600 * 1000
NOON_MS = 1_790_000_000_000
SHORT = (("working", 2, 31.5, 31.5, 31.5, 0.7, 70, 0),)
RUNS = (
    {"chocolate": "Lantern 72", "simulated": False},
    {"chocolate": "Fogbell 41", "simulated": False, "workshop": "Maar"},
    {"chocolate": "Lantern 72", "simulated": False, "method": "cooled"},
    {"chocolate": "ÖBST 70", "simulated": True},
)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Four batches, a day apart; 1 is graded sell, then seconds; 3 is to be melted again."""
    now_ms = [NOON_MS]
    short = Synthetic(*synthetic(SHORT))
    with open_store(tmp_path_factory.mktemp("found"), lambda: now_ms[0]) as store:
        for nonce, changes in enumerate(RUNS):
            keep(store, short, boot_nonce=nonce, **changes)
            now_ms[0] += DAY_MS
        store.add_grade(1, "sell", (), None, "")
        now_ms[0] += 8 * DAY_MS
        store.add_grade(1, "seconds", ("film",), None, "")
        store.add_grade(3, "remelt", ("soft",), None, "")
        store.add_note(2, "The room was DAMP")
        store.add_note(2, "Poured late")
        yield store


def numbers(store: Store, **wanted: object) -> list[int]:
    """The numbers found."""
    return [one.summary.run for one in search(store, Wanted(**wanted)).batches]


def day(after: int) -> date:
    """The local day of run 1, and so many later."""
    from datetime import datetime

    return datetime.fromtimestamp((NOON_MS + after * DAY_MS) / 1000).date()


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ({}, [4, 3, 2, 1]),
        ({"words": "lantern"}, [3, 1]),
        ({"words": "lantern cooled"}, [3]),
        ({"words": "damp late"}, [2]),
        ({"words": "maar"}, [4, 3, 2, 1]),
        ({"words": "#2"}, [2]),
        ({"words": "öbst"}, [4]),
        ({"words": "nothing such"}, []),
        ({"chocolate": "Lantern 72"}, [3, 1]),
        ({"chocolate": "Lantern"}, []),
        ({"result": "finished"}, [4, 3, 2, 1]),
        ({"result": "stopped"}, []),
        ({"result": "seconds"}, [1]),
        ({"result": "sell"}, []),
        ({"result": "remelt"}, [3]),
        ({"result": "ungraded"}, [4, 2]),
        ({"result": "ungraded", "words": "öbst"}, [4]),
    ],
)
def test_what_is_found(store: Store, wanted: dict[str, str], expected: list[int]) -> None:
    """The newest first; every word must be said somewhere, in name, note or number."""
    assert numbers(store, **wanted) == expected


def test_days_are_inclusive(store: Store) -> None:
    """From the second day to the third, both with their batches."""
    assert numbers(store, since=day(1), until=day(2)) == [3, 2]
    assert numbers(store, since=day(4)) == []
    assert numbers(store, until=day(0)) == [1]


def test_the_grade_is_the_worst_of_the_looks(store: Store) -> None:
    """Said with all looks."""
    found = search(store, Wanted(words="#1")).batches[0]
    assert found.grade == "seconds"
    assert found.grade_words == "Sell at first. Seconds after a week: film"


def test_a_page_at_a_time(store: Store) -> None:
    """The total stays; every name of the record is told, whatever is sought."""
    found = search(store, Wanted(chocolate="Lantern 72"), first=1, most=1)
    assert ([one.summary.run for one in found.batches], found.total) == ([1], 2)
    assert found.chocolates == ["Fogbell 41", "Lantern 72", "ÖBST 70"]
    assert search(store, Wanted(), first=9).batches == []


@pytest.mark.parametrize(
    "wanted", [Wanted(result="great"), Wanted(since=date(2026, 2, 2), until=date(2026, 2, 1))]
)
def test_what_cannot_be_sought(store: Store, wanted: Wanted) -> None:
    """Says what can."""
    with pytest.raises(InputError):
        search(store, wanted)


def test_an_empty_record(tmp_path: Path) -> None:
    """Nothing, and no name."""
    with open_store(tmp_path) as empty:
        found = search(empty, Wanted(words="x"))
    assert (found.total, found.batches, found.chocolates) == (0, [], [])
