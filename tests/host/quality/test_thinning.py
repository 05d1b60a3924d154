"""Thinned readings: none made up, no extreme lost, as many as fit the picture."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.records import FLAG_LOGGED, Reading
from snapgloss.quality.columns import NAMES, WHOLE, WITH_GAPS, Columns
from snapgloss.quality.spans import spans
from snapgloss.quality.thinning import thinned


def columns(product_mc: list[int | None], every_ms: list[int] | None = None) -> Columns:
    """Readings of the chocolate, a second apart or as said."""
    at_ms = np.cumsum(every_ms or [1000] * len(product_mc)).tolist()
    return Columns([
        Reading(n, at_ms[n], "working", 1, 31_500, mc, None, None, 0, 0, 0, 0)
        for n, mc in enumerate(product_mc)
    ])  # fmt: skip


VALUES = st.lists(st.none() | st.integers(-5000, 60_000), min_size=1, max_size=400)


@given(VALUES, st.integers(1, 60), st.data())
def test_what_is_kept(values: list[int | None], width: int, data: st.DataObject) -> None:
    """In order, each once; first and last; the lowest and highest of all; at most 6 a pixel."""
    gaps_ms = data.draw(
        st.lists(st.integers(1, 90_000), min_size=len(values), max_size=len(values))
    )
    found = columns(values, gaps_ms)
    kept = thinned(found, width).tolist()
    assert kept == sorted(set(kept))
    assert (kept[0], kept[-1]) == (0, len(values) - 1)
    known = [mc for mc in values if mc is not None]
    if known:
        shown = [values[at] for at in kept if values[at] is not None]
        assert (min(shown), max(shown)) == (min(known), max(known))
    assert len(kept) <= 6 * width + 2


def test_a_spike_of_one_second_is_seen() -> None:
    """One reading among 20,000, on 900 pixels."""
    values: list[int | None] = [31_500] * 20_000
    values[12_345] = 34_000
    kept = thinned(columns(values), 900)
    assert 12_345 in kept
    assert len(kept) < 3 * 900


def test_a_picture_without_readings() -> None:
    """Nothing is nothing."""
    assert thinned(columns([]), 900).tolist() == []


@given(VALUES, st.booleans())
def test_columns_by_name_are_those_of_readings(values: list[int | None], is_logged: bool) -> None:
    """The same values, gaps and states, of a rig and of a logger with its own pace."""
    flags = FLAG_LOGGED if is_logged else 0
    readings = [
        Reading(n, n * n * 1000, "working" if n % 2 else "cooling", 1, None, mc, None, mc, 5, 0, 0,
                flags)
        for n, mc in enumerate(values)
    ]  # fmt: skip
    whole = Columns(readings)
    named = Columns.by_name({name: [getattr(one, name) for one in readings] for name in NAMES})
    assert vars(named).keys() == vars(whole).keys()
    for name in (*WHOLE, *WITH_GAPS, "span_ms", "gap"):
        np.testing.assert_array_equal(getattr(named, name), getattr(whole, name))
    assert (named.gap.tolist(), named.states) == (_gaps(readings), whole.states)


def _gaps(readings: list[Reading]) -> list[bool]:
    """By the rule of `spans`, which looks at readings; the last has no span."""
    return [*(is_gap for _reading, _ms, is_gap in spans(readings)), False]
