"""The stirrer's turns from pulses. Expected speeds: pulses a minute by pulses a turn."""

from fw_fakes import FakeClock
from rigfw.drivers.tachometer import COUNT_MASK, UNKNOWN, Tachometer

try:
    from micropython import heap_lock, heap_unlock
except ImportError:

    def heap_lock():
        """CPython knows no lock."""

    def heap_unlock():
        """CPython knows no lock."""


class _Stirrer:
    """Pulses every `period_ms`, a pass every 250 ms; `rpms` after each pass."""

    def __init__(self, per_turn, now=0, most_rpm=300):
        self.clock = FakeClock(now)
        self.tacho = Tachometer(self.clock, per_turn, most_rpm)
        self.passed_ms = 0

    def run(self, seconds, period_ms, bounces=0):
        """So long at this period, 0 for standing still; the speeds seen."""
        seen = []
        for _ in range(seconds * 1000):
            self.passed_ms += 1
            self.clock.now = self.clock.add(self.clock.now, 1)
            since_ms = self.passed_ms % period_ms if period_ms else 999
            if since_ms <= bounces:
                self.tacho.pulse()
            if self.passed_ms % 250 == 0:
                self.tacho.step(self.clock.now)
                seen.append(self.tacho.rpm)
        return seen


def test_speeds_of_stirrers():
    """20 to 60 rpm and a fan-like 3000, by one, two and twelve pulses a turn."""
    for per_turn, period_ms, rpm in (
        (1, 1000, 60),
        (2, 1500, 20),
        (2, 1000, 30),
        (2, 500, 60),
        (12, 100, 50),
        (2, 10, 3000),
    ):
        seen = _Stirrer(per_turn, most_rpm=4000).run(12, period_ms)
        assert seen[-16:] == [rpm] * 16, (per_turn, period_ms, seen)


def test_nothing_is_known_before_two_pulses_or_three_seconds():
    """Unknown is not 0: a check must not take it for a stall."""
    assert set(_Stirrer(2).run(2, 0)) == {UNKNOWN}
    assert _Stirrer(2).run(4, 0)[-1] == 0


def test_a_stall_is_known_within_three_seconds():
    """30 rpm, then nothing: 0 at the first pass 3 s after the last pulse, not before."""
    stirrer = _Stirrer(2)
    stirrer.run(10, 1000)
    seen = stirrer.run(4, 0)
    assert seen == [30] * 11 + [0] * 5


def test_it_comes_back_after_a_stall_without_a_wrong_speed():
    """Ten still seconds do not count as a turn: the first speed after them is right."""
    stirrer = _Stirrer(2)
    stirrer.run(10, 1000)
    stirrer.run(10, 0)
    assert set(stirrer.run(10, 500)) == {0, 60}


def test_a_stall_soon_after_a_pulse_is_seen():
    """Pulses that end before a span is full do not hold the old speed."""
    stirrer = _Stirrer(2)
    stirrer.run(10, 500)
    stirrer.run(1, 400)
    assert stirrer.run(4, 0)[-1] == 0


def test_bounce_is_not_speed():
    """Five pulses within 5 ms each time, at most 300 rpm by two a turn: one counts."""
    assert _Stirrer(2).run(10, 500, bounces=5)[-8:] == [60] * 8


def test_uneven_slots_are_averaged():
    """Twelve a turn, every third a quarter late: 50 rpm within 2."""
    clock = FakeClock()
    tacho = Tachometer(clock, 12)
    for number in range(100):
        for _ in range(4):
            clock.now += 25
            if clock.now % 300 in (0, 125, 200):
                tacho.pulse()
            if clock.now % 250 == 0:
                tacho.step(clock.now)
        assert number < 20 or 48 <= tacho.rpm <= 52, tacho.rpm


def test_the_clock_and_the_count_wrap():
    """5 s before the clock's wrap and two pulses before the count's: the speed does not move."""
    stirrer = _Stirrer(2, now=FakeClock.WRAP - 5000)
    stirrer.tacho._count = stirrer.tacho._from_count = COUNT_MASK - 4
    seen = stirrer.run(12, 1000)
    assert stirrer.tacho._count < 20
    assert set(seen[12:]) == {30}


def test_a_pulse_after_a_week_counts():
    """So long ago that the clock's difference is negative: no bounce."""
    stirrer = _Stirrer(2)
    stirrer.clock.now = stirrer.clock.add(0, FakeClock.WRAP // 2 + 5)
    stirrer.tacho.pulse()
    assert stirrer.tacho._count == 1


def test_polled_levels_are_pulses_at_their_rise():
    """High for two samples, low for two: one pulse each time."""
    clock = FakeClock()
    tacho = Tachometer(clock, 2)
    for number in range(40):
        clock.now = (number + 1) * 100
        tacho.sample(1 if number % 4 < 2 else 0)
    assert tacho._count == 10


def test_an_interrupt_between_count_and_time_is_noticed():
    """A pulse that comes while the two are read: both are of the later one."""
    clock = FakeClock()

    class Interrupted(Tachometer):
        """Its time is read once with a pulse just after the count."""

        is_quiet = True

        @property
        def _at_ms(self):
            if not self.is_quiet:
                self.is_quiet = True
                clock.now = 700
                self.pulse()
            return self.stamp_ms

        @_at_ms.setter
        def _at_ms(self, at_ms):
            self.stamp_ms = at_ms

    tacho = Interrupted(clock, 2)
    tacho.is_quiet = False
    assert tacho._together() == (1, 700)


def test_a_pulse_allocates_nothing():
    """An interrupt must not."""
    stirrer = _Stirrer(2)
    stirrer.clock.now = 1000
    pulse = stirrer.tacho.pulse
    heap_lock()
    try:
        pulse(None)
    finally:
        heap_unlock()
    assert stirrer.tacho._count == 1
