"""The computer's clock satisfies the protocol."""

from snapgloss.base.clock import Clock, SystemClock


def test_system_clock_does_not_run_backwards():
    """Two looks at the monotonic clock are in order."""
    clock: Clock = SystemClock()
    first = clock.now_s()
    assert clock.now_s() >= first
