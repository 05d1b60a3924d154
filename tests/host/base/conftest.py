"""A clock that stands still until it is told to move."""

import pytest


class FakeClock:
    """Satisfies snapgloss.base.clock.Clock; starts at 0 s."""

    def __init__(self) -> None:
        self._now_s = 0.0

    def now_s(self) -> float:
        """Return the seconds the test has let pass."""
        return self._now_s

    def advance_s(self, by_s: float) -> None:
        """Let `by_s` seconds pass."""
        assert by_s >= 0, "a clock never runs backwards"
        self._now_s += by_s


@pytest.fixture
def fake_clock() -> FakeClock:
    """Give a clock at 0 s."""
    return FakeClock()
