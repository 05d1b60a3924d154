"""A cooling curve as it comes: begun by its dip, ended when its answer holds still."""

import math

import pytest

from snapgloss.quality.temper_live import GIVE_UP_S, LiveCurve
from snapgloss.virtual.cup import FILL_AFTER_MS, Cup
from snapgloss.virtual.plant import Plant, PlantSetup


def sample_c(v: float, span_s: int = 3000) -> list[float]:
    """A simulated sample once a second from the dip on, in steps of 1/16 K."""
    cup = Cup(Plant(PlantSetup(solid=False, start_c=31.5, start_v=v)), 12.0)
    for at_ms in (0, FILL_AFTER_MS):
        cup.attend(at_ms, True, False)
    cup.probe_c = cup.sample_c
    shown = []
    for _ in range(span_s):
        shown.append(round(cup.probe_c * 16) / 16)
        cup.advance(1.0)
    return shown


def feed(live: LiveCurve, values: list[float], from_s: int = 0) -> int:
    """Hand values over once a second until the phase is done or refused; the last second."""
    at_s = from_s
    for at_s, value in enumerate(values, from_s):
        if live.take(float(at_s), value) and live.phase in ("done", "refused"):
            break
    return at_s


def test_an_hour_in_the_room_and_a_bowl_of_warm_chocolate_begin_nothing() -> None:
    """21 degC, then 31.5 for minutes: waiting; the fall begins the curve at its warm end."""
    live = LiveCurve(12.0)
    feed(live, [21.0] * 3600 + [31.5] * 120)
    assert (live.phase, live.seconds) == ("waiting", [])
    feed(live, sample_c(0.02)[:60], 3720)
    assert live.phase == "cooling"
    assert 3715 <= live.seconds[0] <= 3735
    assert live.celsius[0] >= 31.2


@pytest.mark.parametrize(
    ("v", "low", "high"), [(0.003, 1.13, 1.3), (0.02, 1.0, 1.1), (0.1, 0.8, 0.94)]
)
def test_the_answer_comes_within_a_quarter_of_an_hour_or_so(
    v: float, low: float, high: float
) -> None:
    """Under, in temper, over; each after 6 to 25 minutes and with the ratio of the whole curve."""
    live = LiveCurve(12.0)
    ended_s = feed(live, [31.5] * 30 + sample_c(v))
    assert live.phase == "done" and live.features is not None
    assert low < live.features.set_ratio < high
    assert 360 <= ended_s <= 1500, ended_s


def test_glitches_and_gaps_change_nothing() -> None:
    """85 and -127 degC of a bad wire, and missing seconds, give the same ratio within 0.01."""
    clean = sample_c(0.02)
    dirty = [
        math.nan if at % 11 == 5 else 85.0 if at % 97 == 3 else c for at, c in enumerate(clean)
    ]
    ratios = []
    for values in (clean, dirty):
        live = LiveCurve(12.0)
        feed(live, [31.5] * 30 + values)
        assert live.phase == "done" and live.features is not None
        ratios.append(live.features.set_ratio)
    assert ratios[0] == pytest.approx(ratios[1], abs=0.01)


def test_a_probe_lifted_out_of_the_bowl_is_given_up_and_was_never_cold() -> None:
    """It falls to the room's 21 degC and stays: refused after 45 minutes, never in the cold."""
    live = LiveCurve(12.0)
    fall = [21.0 + 10.5 * math.exp(-at / 60) for at in range(4000)]
    ended_s = feed(live, [31.5] * 30 + fall)
    assert (live.phase, live.was_cold, live.features) == ("refused", False, None)
    assert GIVE_UP_S <= ended_s <= GIVE_UP_S + 60


def test_a_tube_taken_out_early_is_refused_and_the_next_one_counts() -> None:
    """Out after 4 minutes: a refusal with its reason, then a second sample is read."""
    live = LiveCurve(12.0)
    early = [31.5] * 30 + sample_c(0.02)[:240] + [30.0] * 20
    out_s = feed(live, early)
    assert live.phase == "refused" and live.refusal is not None
    assert str(live.refusal).startswith("Not a usable curve")
    feed(live, [31.5] * 240 + sample_c(0.02), out_s + 1)
    assert live.phase == "done" and live.refusal is None


def test_the_end_of_the_readings_gives_what_there_is() -> None:
    """A log of 20 min that stops: an answer. While nothing has begun, `finish` does nothing."""
    live = LiveCurve()
    live.finish()
    assert live.phase == "waiting"
    feed(live, [31.5] * 30 + sample_c(0.02)[:700])
    assert live.phase == "cooling"
    feed(live, sample_c(0.02)[700:], 730)
    live.finish()
    assert live.phase == "done" and live.features is not None
