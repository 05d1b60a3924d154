"""What a screen draws of runs: a thinned curve, and batches side by side."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.host.synthetic import SEEDED, keep, synthetic

from snapgloss.base.errors import InputError
from snapgloss.runs.beside import beside
from snapgloss.runs.curve_view import curve_view
from snapgloss.store import open_store
from snapgloss.store.store import Store

WARM = tuple(
    (s, m, b + (1.5 if s == "working" else 0), e + (1.5 if s == "working" else 0), *rest)
    for s, m, b, e, *rest in SEEDED
)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Run 1 as planned, with a hole of ten minutes; run 2 whole; run 3 too warm in the work."""
    whole = synthetic(SEEDED)
    holed = whole._replace(readings=[r for r in whole.readings if not 2000 <= r.seq < 2600])
    with open_store(tmp_path_factory.mktemp("views")) as store:
        keep(store, holed, boot_nonce=1)
        keep(store, whole, boot_nonce=2)
        keep(store, synthetic(WARM), boot_nonce=3)
        yield store


def test_a_curve_is_thinned_and_keeps_its_edges(store: Store) -> None:
    """Columns of one length, first to last second, steps one after another."""
    found = curve_view(store, 2, 300)
    lengths = {len(column) for column in (found.at_s, found.product_mc, found.target_mc,
                                          found.plate_mc, found.heat_permille)}  # fmt: skip
    assert lengths == {len(found.at_s)}
    assert found.of == 148 * 60
    assert 300 < len(found.at_s) <= 6 * 300
    assert (found.at_s[0], found.at_s[-1]) == (0.0, 148 * 60 - 1.0)
    assert [step.words for step in found.steps] == ["melt", "rest", "cool", "seed", "work"]
    assert all(a.to_s == b.from_s for a, b in zip(found.steps, found.steps[1:], strict=False))


def test_a_hole_in_the_record_is_a_break(store: Store) -> None:
    """One row of nothing in the middle of the hole, and no reading inside it."""
    found = curve_view(store, 1, 300)
    inside = [at for at, mc in zip(found.at_s, found.product_mc, strict=True)
              if 1999 < at < 2600]  # fmt: skip
    assert inside == [2299.5]
    assert found.product_mc[found.at_s.index(2299.5)] is None
    assert None not in curve_view(store, 2, 300).product_mc


def test_a_width_from_outside_is_bounded(store: Store) -> None:
    """Nobody makes the server draw a million pixels, or none."""
    assert len(curve_view(store, 2, 0).at_s) <= 6 * 50
    assert len(curve_view(store, 2, 10**9).at_s) <= 6 * 4000


def test_batches_side_by_side(store: Store) -> None:
    """The one that was too warm parts in the work; each strip begins at its own beginning."""
    found = beside(store, [2, 3], "cool")
    first, other = found.rows
    assert (found.align, found.step_s) == ("cool", 10)
    assert (first.from_s, first.parts_at_s, first.parts_words) == (-68 * 60, None, "")
    assert other.parts_at_s is not None and other.parts_at_s >= 30 * 60
    assert "over it" in other.parts_words and "°F" in other.parts_fahrenheit
    assert len(first.off_mc) == pytest.approx(148 * 6, abs=1)
    assert max(mc for mc in other.off_mc[-120:] if mc is not None) > 500
    assert [step.words for step in first.steps] == ["melt", "rest", "cool", "seed", "work"]
    assert found.lines[0].startswith("Run 3 parts from run 2")


def test_hidden_in_a_strip_is_none(store: Store) -> None:
    """What was not recorded has no deviation."""
    row = beside(store, [1, 2], "cool").rows[0]
    assert row.off_mc[220:240] == [None] * 20


def test_what_cannot_be_put_side_by_side(store: Store, tmp_path: Path) -> None:
    """One alone, one twice, a step that none has."""
    for runs, at in (([2], "cool"), ([2, 2], "cool"), ([2, 3], "rewarm"), ([2, 9], "cool")):
        with pytest.raises(InputError):
            beside(store, runs, at)
