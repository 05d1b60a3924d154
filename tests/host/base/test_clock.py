"""The clocks satisfy one protocol."""

from snapgloss.base.clock import Clock, SystemClock


def test_system_clock_does_not_run_backwards():
    """Two looks at the monotonic clock are in order."""
    clock: Clock = SystemClock()
    first = clock.now_s()
    assert clock.now_s() >= first


def test_fake_clock_moves_only_when_told(fake_clock):
    """A test decides what time it is."""
    clock: Clock = fake_clock
    assert clock.now_s() == 0.0
    fake_clock.advance_s(90.5)
    assert clock.now_s() == 90.5
