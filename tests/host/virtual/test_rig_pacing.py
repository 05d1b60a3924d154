"""When a tick is due, and when simulated time stands still, on an injected wall clock."""

import pytest

from snapgloss.base.errors import InputError
from snapgloss.virtual.pacing import STAND_STILL_S, Pacer, speed_factor


class Wall:
    """Wall time that passes only when somebody sleeps or says so."""

    def __init__(self) -> None:
        self.at_s = 100.0

    def now_s(self) -> float:
        """Present time."""
        return self.at_s

    def sleep_s(self, span_s: float) -> None:
        """Let it pass."""
        self.at_s += span_s


def wall_of_ticks(factor: float | None, idle: bool, ticks: int) -> float:
    """Wall seconds that many ticks take."""
    wall = Wall()
    pacer = Pacer(factor, wall)
    for _ in range(ticks):
        pacer.wait(idle)
    return wall.at_s - 100.0


@pytest.mark.parametrize(
    ("factor", "idle", "simulated_s_per_s"),
    [(60.0, False, 60), (1.0, False, 1), (1.0, True, 1), (60.0, True, 20), (None, True, 20)],
)
def test_ticks_keep_the_asked_pace(
    factor: float | None, idle: bool, simulated_s_per_s: float
) -> None:
    """4000 ticks are 1000 simulated seconds; idle never runs faster than 20 times real."""
    assert wall_of_ticks(factor, idle, 4000) == pytest.approx(1000 / simulated_s_per_s)


def test_max_in_a_batch_never_sleeps() -> None:
    """No wall time passes at max."""
    assert wall_of_ticks(None, False, 4000) == 0


def test_lost_time_is_not_made_up_for() -> None:
    """After two lost minutes the next ticks come one period apart, not in a burst."""
    wall = Wall()
    pacer = Pacer(20.0, wall)
    pacer.wait(False)
    wall.at_s += 120.0
    pacer.wait(False)
    late_s = wall.at_s
    for _ in range(8):
        pacer.wait(False)
    assert wall.at_s - late_s == pytest.approx(8 * 0.25 / 20)


def test_a_batch_at_max_leaves_no_debt_to_idle() -> None:
    """The first idle tick after a batch at max waits one idle period at most."""
    wall = Wall()
    pacer = Pacer(None, wall)
    for _ in range(1000):
        pacer.wait(False)
    before_s = wall.at_s
    pacer.wait(True)
    assert wall.at_s - before_s <= 0.0125 + 1e-9


def test_time_stands_still_until_the_host_has_read() -> None:
    """Unread bytes hold the rig; it goes on at the look after they are gone."""
    wall = Wall()
    left = [30, 30, 12, 0]
    assert Pacer(None, wall).stand_still(lambda: left.pop(0)) is True
    assert left == []


def test_a_dead_host_holds_the_rig_for_two_seconds_only() -> None:
    """Then the answer is False, at 2 s of wall time."""
    wall = Wall()
    assert Pacer(None, wall).stand_still(lambda: 30) is False
    assert wall.at_s - 100.0 == pytest.approx(STAND_STILL_S, abs=0.001)


def test_speeds_are_numbers_or_max() -> None:
    """`max` is None; nonsense, nan and zero are refused with a remedy."""
    assert speed_factor("max") is None
    assert speed_factor("200") == 200.0
    for text in ("", "fast", "0", "-1", "nan", "inf", "1e9"):
        with pytest.raises(InputError, match="max"):
            speed_factor(text)
