"""What comes after a batch: the knife's clock, the turn-out answer, photos, a sample guided."""

from pathlib import Path

import pytest

from snapgloss.base.errors import InputError
from snapgloss.quality.temper_smear import GIVE_UP_S
from snapgloss.runs import grading, knife, turning_out
from snapgloss.runs.photos import PHOTO_MOST_BYTES, keep_photo
from snapgloss.store.store import Store

from ..photographs import JPEG, photo
from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)


class HandClock:
    """A clock that stands until it is moved."""

    at_s = 100.0

    def now_s(self) -> float:
        return self.at_s


@pytest.fixture
def run_id(store: Store) -> int:
    """A batch."""
    return keep(store, synthetic(SHORT))


def test_a_knife_is_timed_and_kept(store: Store, run_id: int) -> None:
    """From the dip to the answer, whoever looks; it is away then."""
    clock = HandClock()
    knives = knife.Knives(clock)
    assert knives.out_s(run_id) is None
    knives.out(run_id)
    clock.at_s += 230.4
    assert knives.out_s(run_id) == 230
    assert knives.out_s(run_id + 1) is None
    said = knives.answer(store, run_id, 21_000, True, False)
    assert said == "Set in 3 min 50 s at 21.0 °C without streaks: as it should."
    assert knives.out_s(run_id) is None
    (row,) = store.smears()
    assert (row.run_id, row.room_mc, row.set_s, row.streaks) == (run_id, 21_000, 230, False)


@pytest.mark.parametrize(
    ("out_s", "is_set", "streaks", "kept"),
    [
        (200, True, True, (200, True)),
        (200, False, False, (None, False)),
        (GIVE_UP_S, True, False, (GIVE_UP_S, False)),
        (GIVE_UP_S + 1, True, True, (None, False)),
        (0, True, False, (1, False)),
    ],
)
def test_each_answer(
    store: Store, run_id: int, out_s: int, is_set: bool, streaks: bool, kept: tuple
) -> None:
    """A knife that is said to have set after ten minutes counts as not set."""
    clock = HandClock()
    knives = knife.Knives(clock)
    knives.out(run_id)
    clock.at_s += out_s
    knives.answer(store, run_id, 21_000, is_set, streaks)
    row = store.smears()[-1]
    assert (row.set_s, row.streaks) == kept


def test_a_knife_that_is_not_out_has_no_answer(store: Store, run_id: int) -> None:
    """Nor one that nobody came back to, and a room that is none leaves it out."""
    clock = HandClock()
    knives = knife.Knives(clock)
    with pytest.raises(InputError, match="No knife"):
        knives.answer(store, run_id, 21_000, True, False)
    knives.out(run_id)
    with pytest.raises(InputError, match="room"):
        knives.answer(store, run_id, 50_000, True, False)
    assert knives.out_s(run_id) == 0
    clock.at_s += knife.FORGOTTEN_S + 1
    assert knives.out_s(run_id) is None
    knives.out(run_id)
    knives.away(run_id)
    assert knives.out_s(run_id) is None
    assert store.smears() == []


@pytest.mark.parametrize(
    ("bar_mc", "humidity_permille", "answer", "words"),
    [
        (12_000, 400, "now", "Turn out now: the dew point is 6.9 °C."),
        (12_000, 600, "wait", "Wait about"),
        (12_000, 950, "dry or cool the room", "Do not turn out"),
        (27_000, 400, "not set", "Not set: back into the cold."),
    ],
)
def test_the_turn_out_answer(bar_mc: int, humidity_permille: int, answer: str, words: str) -> None:
    """By bars, room and humidity; minutes only where waiting helps."""
    found = turning_out.ask(bar_mc, 21_000, humidity_permille)
    assert found.air.answer == answer
    assert found.words().startswith(words)
    assert (found.wait_min is not None) == (answer == "wait")


def test_a_photo_is_kept_by_what_it_is(store: Store, run_id: int, tmp_path: Path) -> None:
    """Bytes as a page sends them; what is no photo, or too large, is refused and nothing kept."""
    grading.grade(store, run_id, "sell", photo=JPEG, data_folder=tmp_path)
    (name,) = grading.bars_summary(store, run_id).photos
    assert name.endswith(".jpg")
    assert (tmp_path / name).read_bytes() == JPEG
    for content in (b"", b"<svg onload=alert(1)>", JPEG + bytes(PHOTO_MOST_BYTES)):
        with pytest.raises(InputError, match="no photo, or larger than 30 MB"):
            keep_photo(content, run_id, tmp_path)
    assert len(list((tmp_path / "photos").iterdir())) == 1


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_photo_that_cannot_be_seen_is_refused(kind: str, tmp_path: Path) -> None:
    """Whole it is kept, whatever its kind; cut short, or its beginning alone, it is none."""
    whole = photo(kind, (320, 240))
    assert (tmp_path / keep_photo(whole, 1, tmp_path)).read_bytes() == whole
    for part in (whole[: len(whole) // 2], whole[:12] + b"x" * 400):
        with pytest.raises(InputError, match="is none that can be seen"):
            keep_photo(part, 1, tmp_path)
    assert len(list((tmp_path / "photos").iterdir())) == 1


def test_a_grade_that_only_says_more_is_no_correction(store: Store, run_id: int) -> None:
    """One tap, then a mark: nothing was taken back. Then a mark less, or another grade, is."""
    assert grading.grade(store, run_id, "seconds").words == "Seconds at first"
    assert grading.grade(store, run_id, "seconds", ["dull"]).words == "Seconds at first: dull"
    assert grading.grade(store, run_id, "sell").words == "Sell at first (corrected)"
