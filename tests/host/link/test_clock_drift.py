"""The drift of a rig's clock, found again from readings that arrive late: known drifts, simulated
lines, no real time."""

import random
from collections.abc import Callable
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.host.link.test_client import values

from snapgloss.link.client import RigLink
from snapgloss.link.clock_drift import STRETCHES_MOST, Drift, DriftWatch
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs.clock_words import tell_drift

Late = Callable[[random.Random, float], float]
HOUR_S = 3600


def quick(chance: random.Random, _here_s: float) -> float:
    """A cable: a millisecond, sometimes ten."""
    return 0.001 + chance.expovariate(1000) + (0.01 if chance.random() < 0.05 else 0.0)


def busy(chance: random.Random, here_s: float) -> float:
    """A cable that stalls: one in five is late by up to 3 s, and four minutes of each hour all."""
    if here_s % HOUR_S > HOUR_S - 240:
        return chance.uniform(1.0, 3.0)
    return chance.uniform(0.0, 3.0) if chance.random() < 0.2 else quick(chance, here_s)


def heard(ppm: float, late: Late, seconds: int, seed: int = 1, watch: DriftWatch | None = None,
          begun_s: float = 500.0) -> DriftWatch:  # fmt: skip
    """A watch that heard a reading of each of the rig's seconds."""
    watch, chance = watch or DriftWatch(), random.Random(seed)
    for rig_s in range(1, seconds):
        true_s = begun_s + rig_s / (1 + ppm * 1e-6)
        watch.take(float(rig_s), true_s + late(chance, true_s))
    return watch


def found(watch: DriftWatch) -> Drift:
    """The drift, which is known."""
    drift = watch.drift()
    assert drift is not None
    return drift


@pytest.mark.parametrize("ppm", [-2000.0, -40.0, 0.0, 25.0, 300.0])
@pytest.mark.parametrize("late", [quick, busy])
def test_a_known_drift_is_found_again(ppm: float, late: Late) -> None:
    """In two hours within 1 ppm, and within four of its own standard deviations."""
    drift = found(heard(ppm, late, 2 * HOUR_S))
    assert drift.ppm == pytest.approx(ppm, abs=1.0)
    assert abs(drift.ppm - ppm) <= 4 * drift.doubt_ppm
    assert drift.over_s == pytest.approx(2 * HOUR_S, abs=130)


@settings(max_examples=25, deadline=None)
@given(st.floats(-500, 500), st.integers(0, 10_000))
def test_its_doubt_is_no_boast(ppm: float, seed: int) -> None:
    """In a quarter of an hour, on a cable that stalls, within six of its standard deviations."""
    drift = found(heard(ppm, busy, 900, seed))
    assert abs(drift.ppm - ppm) <= 6 * drift.doubt_ppm


def test_nothing_is_said_of_the_first_minutes() -> None:
    """Four stretches are too few, five are enough."""
    assert heard(0, quick, 230).drift() is None
    assert heard(0, quick, 320).drift() is not None


def test_a_whole_day_takes_no_more_room() -> None:
    """Stretches become longer, and the answer better."""
    watch = heard(10.0, quick, 24 * HOUR_S)
    assert len(watch._least) <= STRETCHES_MOST + 1
    assert found(watch).ppm == pytest.approx(10.0, abs=0.05)


def test_a_computer_that_slept_begins_anew() -> None:
    """Its clock stood still for ten minutes, as far as the rig's can tell."""
    watch = heard(20.0, quick, HOUR_S)
    for rig_s in range(HOUR_S + 600, 2 * HOUR_S):
        watch.take(float(rig_s), 500.0 - 600.0 + rig_s / (1 + 20e-6) + 0.001)
    drift = found(watch)
    assert drift.ppm == pytest.approx(20.0, abs=1.0)
    assert drift.over_s < HOUR_S


def test_words_say_which_way_how_sure_and_when_it_is_too_much() -> None:
    """The doubt is two standard deviations; the bound is passed only surely."""
    assert Drift(23.4, 1.2, 3900).words == (
        "The rig's clock is 23 ppm fast beside this computer's (give or take 2, over 1 h 5 min)."
    )
    slow = Drift(-900.0, 10.0, 3600)
    assert "900 ppm slow" in slow.words and "3.2 s an hour" in slow.words
    assert slow.is_beyond
    assert not Drift(520.0, 15.0, 600).is_beyond


class Told:
    """What was noted and said."""

    def __init__(self, link: RigLink) -> None:
        self.noted, self.said = list[str](), list[str]()
        tell_drift(link, self.noted.append, self.said.append)


@pytest.mark.parametrize(("simulated", "ppm", "counts"), [
    (0, 30, (1, 0)), (0, 5000, (1, 1)), (1, 5000, (0, 0)),
])  # fmt: skip
def test_a_link_watches_what_is_pushed_and_a_batch_tells_it(
    simulated: int, ppm: int, counts: tuple[int, int]
) -> None:
    """Noted always, said beyond the bound, nothing of a simulated rig; what is fetched is no
    moment of arrival."""
    rig = ScriptedRig()
    rig.simulated = simulated
    clock = ScriptedClock(rig)
    link = RigLink(rig, clock)
    link.hello("0.1.0")
    link.follow_from(0, 0)
    for second in count(1):
        clock.at_s = second / (1 + ppm * 1e-6)
        rig.push_reading(values(second * 1000), heard=second % 7 != 0)
        rig.settle()
        if second == 600:
            break
    link.take()
    told = Told(link)
    assert (len(told.noted), len(told.said)) == counts
    if told.noted:
        assert found(link.clock_watch).ppm == pytest.approx(ppm, abs=5)
    rig.boot_nonce += 1
    link.hello("0.1.0")
    link.take()
    assert link.clock_watch.drift() is None
    link.close()
