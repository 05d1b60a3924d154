"""From permille to switching: mean, shortest times, immediate off."""

from rigfw.pulser import Pulser


def _play(pulser, demands, passed_ms=250):
    return [pulser.step(demand, passed_ms) for demand in demands]


def _runs(states):
    """Lengths of equal stretches as (on, passes), without the first and the last."""
    found = []
    for on in states:
        if found and found[-1][0] == on:
            found[-1][1] += 1
        else:
            found.append([on, 1])
    return [(on, count) for on, count in found[1:-1]]


def test_the_mean_is_the_demand():
    """Over 400 s the on time is the demand within one window, at every demand."""
    for window_ms, least_ms in ((2000, 250), (10000, 2000)):
        for demand in range(0, 1001, 25):
            states = _play(Pulser(window_ms, least_ms, least_ms), [demand] * 1600)
            off_by_ms = abs(sum(states) * 250 - demand * 400)
            assert off_by_ms <= window_ms, (window_ms, demand, off_by_ms)


def test_shortest_on_and_off_times_are_kept():
    """A relay of 2 s is never on or off for less, whatever the demand does above 0."""
    pulser = Pulser(10000, 2000, 2000)
    states = []
    seed = 12345
    for _ in range(500):
        seed = (seed * 1103515245 + 12345) % (1 << 31)
        states += _play(pulser, [1 + seed // 65536 % 1000] * 8)
    runs = _runs(states)
    assert len(runs) > 50
    assert min([count for _, count in runs]) >= 8


def test_no_demand_is_off_in_the_same_pass():
    """A demand of 0 ends even a shortest on time at once, and the off time is kept after it."""
    pulser = Pulser(10000, 2000, 2000)
    assert _play(pulser, [1000, 1000, 0]) == [1, 1, 0]
    assert _play(pulser, [1000] * 9) == [0] * 7 + [1, 1]


def test_at_most_two_changes_a_window():
    """At half demand a 10 s window is on once: 20 changes in 100 s at most."""
    states = _play(Pulser(10000, 2000, 2000), [500] * 400)
    assert len(_runs(states)) <= 20
