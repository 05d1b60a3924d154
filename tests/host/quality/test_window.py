"""The window by graded batches: the belief, its outside checks, and what is suggested next."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from tests.host.graded import batch, drawn

from snapgloss.base.errors import InputError
from snapgloss.chocolate.crystals import Crystals
from snapgloss.chocolate.types import DARK, TYPES
from snapgloss.quality import window as w
from snapgloss.quality import window_next
from snapgloss.quality.window import Place, Tried, at_usual_dwell, for_dwell, window_map
from snapgloss.quality.window_next import FARTHEST_C, grid, safe_ranges, suggest, usual_place

USUAL = usual_place(DARK, "cooled")
SAFE = safe_ranges(DARK, "cooled")


def test_before_any_batch_the_usual_schedule_is_best() -> None:
    """What is believed is the share of windows that hold a place: counted over drawn windows."""
    found = window_map(USUAL)
    assert suggest(found, SAFE).place == USUAL
    random = np.random.default_rng(1)
    middle = random.normal(0, w.SPREAD_C, (200_000, 2))
    half = random.uniform(*w.HALF_C, (200_000, 2))
    for off in ((0.0, 0.0), (0.5, -0.3), (-1.2, 0.6)):
        held = (np.abs(middle - off) <= half).all(axis=1).mean()
        place = Place(USUAL.low_c + off[0], USUAL.work_c + off[1])
        assert found.right_at(place) == pytest.approx(held, abs=0.02)


def test_a_known_window_is_found() -> None:
    """300 batches about 27.7 and 31.7 give the middle to 0.1, the edges between 0.2 and 0.8."""
    found = window_map(USUAL, drawn(300))
    low, work = found.middles()
    assert low.about_c == pytest.approx(27.7, abs=0.11)
    assert work.about_c == pytest.approx(31.7, abs=0.11)
    assert found.right_at(Place(27.7, 31.7)) > 0.99
    assert found.right_at(Place(28.5, 31.7)) < 0.01


@given(st.permutations(drawn(7)))
def test_the_order_of_batches_does_not_matter(tried: list[Tried]) -> None:
    """Nor does anything else of them: the same batches give the same map."""
    one, other = window_map(USUAL, tried), window_map(USUAL, drawn(7))
    np.testing.assert_allclose(one.share, other.share, rtol=1e-9)


def test_a_thousand_contradicting_grades_leave_probabilities() -> None:
    """No product vanishes."""
    tried = [batch(28.0, 31.5, bool(n % 2)) for n in range(1000)]
    found = window_map(USUAL, tried)
    assert found.share.sum() == pytest.approx(1.0)
    assert 0.0 < found.right_at(USUAL) < 1.0


def test_a_good_grade_raises_and_a_bad_one_lowers() -> None:
    """At its own place."""
    before = window_map(USUAL).right_at(USUAL)
    assert window_map(USUAL, [batch(*USUAL, True)]).right_at(USUAL) > before
    assert window_map(USUAL, [batch(*USUAL, False)]).right_at(USUAL) < before


def test_five_batches_are_enough() -> None:
    """Four are not."""
    four = [batch(*USUAL, True)] * 4
    assert not window_map(USUAL, four).is_enough
    assert window_map(USUAL, [*four, four[0]]).is_enough


def test_plain_counts_to_half_a_degree() -> None:
    """By low point and by work; Wilson's interval is that of the charts."""
    tried = [batch(28.0, 31.5, True), batch(27.9, 31.4, False), batch(27.4, 31.0, True)]
    lows, works = window_map(USUAL, tried).counts()
    assert [(c.at, c.good, c.of) for c in lows] == [(27.5, 1, 1), (28.0, 1, 2)]
    assert [(c.at, c.good, c.of) for c in works] == [(31.0, 1, 1), (31.5, 1, 2)]


def crystals_made(low_c: float, dwell_s: float) -> float:
    """Share of the fat set by the crystal model: stirred, cooled by 0.5 a minute, then held."""
    crystals, at_c = Crystals(), 30.0
    while at_c > low_c:
        crystals.step(1.0, at_c, 1.0)
        at_c -= 0.5 / 60
    for _ in range(round(dwell_s)):
        crystals.step(1.0, low_c, 1.0)
    return crystals.v


def _more_than(wanted: float) -> Callable[[float], float]:
    return lambda low_c: crystals_made(low_c, 450) - wanted


def test_a_dwell_counts_as_the_crystal_model_says() -> None:
    """How much warmer a low point held half as long again makes the same, about the template:
    0.70 to 1.03 degC for each e of dwell by the model; the map's figure is their mean."""
    each = []
    for low_c in (27.5, 28.0, 28.5):
        wanted = crystals_made(low_c, 300)
        same_c = brentq(_more_than(wanted), low_c, low_c + 1.0, xtol=0.005)
        each.append((same_c - low_c) / math.log(1.5))
    assert np.mean(each) == pytest.approx(w.DWELL_C, abs=0.05)
    assert max(np.abs(np.array(each) - w.DWELL_C)) < 0.2


@given(st.floats(24, 32), st.floats(1, 5000) | st.none())
def test_dwell_there_and_back(low_c: float, dwell_s: float | None) -> None:
    """A low point for a dwell is, at the usual one, where it came from."""
    assert at_usual_dwell(for_dwell(low_c, dwell_s), dwell_s) == pytest.approx(low_c)
    assert math.isfinite(at_usual_dwell(low_c, dwell_s))


places = st.builds(
    batch, st.floats(20, 40), st.floats(20, 40), st.booleans(), st.floats(0, 7200) | st.none()
)


@given(
    st.lists(places, max_size=6), st.sampled_from(sorted(TYPES)),
    st.sampled_from(["cooled", "seeded"]), st.sampled_from(["good", "learn"]),
)  # fmt: skip
def test_never_outside_what_is_safe_nor_a_large_step(
    tried: list[Tried], key: str, method: str, aim: str
) -> None:
    """Whatever was tried, however far off, and whatever was graded."""
    kind = TYPES[key]
    usual, safe = usual_place(kind, method), safe_ranges(kind, method)
    place, right, _ = suggest(window_map(usual, tried), safe, aim)
    assert safe.low_least_mc <= round(place.low_c * 1000) <= safe.low_most_mc
    assert kind.work_low_mc <= round(place.work_c * 1000) <= kind.cap_mc
    assert 0.0 <= right <= 1.0
    assert any(
        abs(place.low_c - near.low_c) <= FARTHEST_C.low_c + 1e-6
        and abs(place.work_c - near.work_c) <= FARTHEST_C.work_c + 1e-6
        for near in (usual, *(one.place for one in tried))
    )
    if method == "cooled":
        assert place.work_c - place.low_c >= 1.0 - 1e-6


@pytest.mark.parametrize(
    ("tried_at", "edge"),
    [
        ((28.0, 33.2), ("work_c", 32.5)), ((28.0, 29.3), ("work_c", 30.0)),
        ((25.2, 31.5), ("low_c", 26.0)), ((30.8, 31.9), ("low_c", 30.0)),
    ],
)  # fmt: skip
def test_good_batches_beyond_what_is_safe_lead_to_its_edge_and_no_farther(
    tried_at: tuple[float, float], edge: tuple[str, float]
) -> None:
    """Eight good batches out there: the best safe place is at the limit."""
    place = suggest(window_map(USUAL, [batch(*tried_at, True)] * 8), SAFE).place
    assert getattr(place, edge[0]) == edge[1]


def test_no_step_is_larger_than_the_trust_region(monkeypatch: pytest.MonkeyPatch) -> None:
    """With eight bad batches at the usual schedule the best place lies farther off than a smaller
    region lets it."""
    found = window_map(USUAL, [batch(*USUAL, False)] * 8)
    free = suggest(found, SAFE).place
    monkeypatch.setattr(window_next, "FARTHEST_C", Place(0.4, 0.2))
    held = suggest(found, SAFE).place
    assert abs(free.low_c - USUAL.low_c) > 0.4
    assert abs(held.low_c - USUAL.low_c) <= 0.4 + 1e-9
    assert abs(held.work_c - USUAL.work_c) <= 0.2 + 1e-9


def test_the_trust_region_opens_with_what_was_tried() -> None:
    """Far places are allowed once a batch lay beside them."""
    near = grid(window_map(USUAL), SAFE)
    far = grid(window_map(USUAL, [batch(26.5, 30.5, False)]), SAFE)
    assert not near.allowed[0, 0]  # 26.0 and 30.0
    assert far.allowed[0, 0]
    assert (far.allowed >= near.allowed).all()


def test_to_learn_the_grade_is_most_open() -> None:
    """The mutual information of grade and window, summed over all windows, is nowhere greater."""
    found = window_map(USUAL, drawn(6))
    chosen = suggest(found, SAFE, "learn")
    on = grid(found, SAFE)
    good = w.MISLEADING + (1 - 2 * w.MISLEADING) * found.right(on.low_c, on.work_c)
    entropy = -(good * np.log(good) + (1 - good) * np.log(1 - good))
    at = w.MISLEADING + (1 - 2 * w.MISLEADING) * found.right_at(chosen.place)
    own = -(at * math.log(at) + (1 - at) * math.log(1 - at))
    assert own == pytest.approx(entropy[on.allowed].max(), abs=1e-9)


def test_chocolate_kept_in_temper_has_no_window() -> None:
    """It has neither low point nor seed."""
    with pytest.raises(InputError, match="no low point and no seed"):
        safe_ranges(DARK, "kept")
