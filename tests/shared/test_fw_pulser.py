"""From permille to switching: mean, shortest times, immediate off."""

from rigfw.pulser import Pulser


def _play(pulser, demands, passed_ms=250):
    return [pulser.step(demand, passed_ms) for demand in demands]


class _Stretches:
    """Counts switches and the shortest stretch, without keeping what was played."""

    def __init__(self):
        self.switches = 0
        self.shortest = 1 << 20
        self._on = 0
        self._passes = 0

    def see(self, on):
        if on == self._on:
            self._passes += 1
            return
        if self.switches:
            self.shortest = min(self.shortest, self._passes)
        self.switches += 1
        self._on = on
        self._passes = 1


def test_the_mean_is_the_demand():
    """Over 400 s the on time is the demand within one window, at every demand."""
    for window_ms, least_ms in ((2000, 250), (10000, 2000)):
        for demand in range(0, 1001, 25):
            pulser = Pulser(window_ms, least_ms, least_ms)
            on_ms = 0
            for _ in range(1600):
                on_ms += 250 * pulser.step(demand, 250)
            off_by_ms = abs(on_ms - demand * 400)
            assert off_by_ms <= window_ms, (window_ms, demand, off_by_ms)


def test_shortest_on_and_off_times_are_kept():
    """A relay of 2 s is never on or off for less, whatever the demand does above 0."""
    pulser = Pulser(10000, 2000, 2000)
    stretches = _Stretches()
    seed = 12345
    for _ in range(500):
        seed = (seed * 1103515245 + 12345) % (1 << 31)
        demand = 1 + seed // 65536 % 1000
        for _ in range(8):
            stretches.see(pulser.step(demand, 250))
    assert stretches.switches > 50
    assert stretches.shortest >= 8


def test_no_demand_is_off_in_the_same_pass():
    """A demand of 0 ends even a shortest on time at once, and the off time is kept after it."""
    pulser = Pulser(10000, 2000, 2000)
    assert _play(pulser, [1000, 1000, 0]) == [1, 1, 0]
    assert _play(pulser, [1000] * 9) == [0] * 7 + [1, 1]


def test_at_most_two_changes_a_window():
    """At half demand a 10 s window is on once: 20 changes in 100 s at most, 19 at least."""
    pulser = Pulser(10000, 2000, 2000)
    stretches = _Stretches()
    for _ in range(400):
        stretches.see(pulser.step(500, 250))
    assert 19 <= stretches.switches <= 20
