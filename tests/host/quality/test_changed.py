"""What changed between good and bad batches, and when nothing may be said."""

import numpy as np
import pytest

from snapgloss.quality.changed import LEAST_BAD, LEAST_GOOD, Batch, Change, changes_of, holm

NAMES = ("fan_share", "plate_k", "gap_k", "room_c", "remelt_share")


def batches(seed: int, good: int, bad: int, **moved: float) -> list[Batch]:
    """Batches whose figures scatter by 1; those of the bad ones lie `moved` further on."""
    random = np.random.default_rng(seed)
    found = []
    for run in range(good + bad):
        is_good = run < good
        figures = {
            name: float(random.normal(10, 1)) + (0 if is_good else moved.get(name, 0.0))
            for name in NAMES
        }
        found.append(Batch(run, is_good, figures, frozenset([f"L{random.integers(0, 3)}"])))
    return found


def test_the_fan_that_fell_is_named_with_its_figures():
    """12 good and 8 bad, the fan 4 sd lower in these: named alone, with middle values."""
    found = changes_of(batches(1, 12, 8, fan_share=-4.0))
    assert [one.name for one in found.changed] == ["fan_share"]
    first = found.changed[0]
    assert (first.good_count, first.bad_count) == (12, 8)
    assert first.good - first.bad == pytest.approx(4.0, abs=1.0)
    assert "less heat" in found.words
    assert "12 good batches, 8 bad" in found.words


def test_nothing_is_found_in_batches_that_do_not_differ():
    """Of 300 records without any difference at most 5 % name something: eight things looked at."""
    named = sum(bool(changes_of(batches(seed, 12, 8)).changed) for seed in range(300))
    assert named <= 0.05 * 300


@pytest.mark.parametrize(("good", "bad"), [(LEAST_GOOD - 1, 20), (20, LEAST_BAD - 1), (0, 0)])
def test_few_batches_say_nothing(good, bad):
    """However far they lie apart."""
    found = changes_of(batches(2, good, bad, fan_share=-50.0))
    assert found.changed == found.same == []
    assert found.words.startswith("Not enough batches")


def test_even_the_least_can_be_too_few_for_luck():
    """4 and 4 wholly apart: 2 of 70 orders, 2.9 %, times what is looked at is no proof."""
    found = changes_of(batches(3, 4, 4, fan_share=-50.0))
    assert found.changed == []
    assert found.same[0].name == "fan_share"
    assert found.same[0].chance > 0.05


def test_a_bag_is_counted():
    """In all bad and no good batch: 8 and 8, by Fisher 2 of C(16, 8) = 12,870 tables."""
    good = [Batch(n, True, {}, frozenset(["A"])) for n in range(8)]
    bad = [Batch(n, False, {}, frozenset(["B"])) for n in range(8, 16)]
    found = changes_of([*good, *bad])
    assert found.changed[0].chance == pytest.approx(2 * 2 / 12_870, rel=1e-6)  # two bags
    assert {one.name for one in found.changed} == {"bag A", "bag B"}


def test_what_is_not_known_is_left_out():
    """A figure that 3 of the bad batches have is not compared."""
    some = batches(4, 8, 8, room_c=9.0)
    some = [one if n < 11 else one._replace(figures={}) for n, one in enumerate(some)]
    assert all(one.name.startswith("bag") for one in changes_of(some).same)


def test_holm_by_hand():
    """0.01, 0.02, 0.03 of three: 0.03, 0.04, 0.04."""
    given = [Change("", chance, 0, 0, 0, 0, "") for chance in (0.01, 0.02, 0.03)]
    assert [one.chance for one in holm(given)] == pytest.approx([0.03, 0.04, 0.04])
