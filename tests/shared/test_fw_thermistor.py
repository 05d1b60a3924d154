"""Thermistors against the resistance table of a 10 kohm part of B25/85 = 3977 K.

The table and the curve constants it was calculated from: from memory of a maker's published
values, self-consistent; not checked against a printed page.
"""

from rigfw.drivers import probe as probes
from rigfw.drivers.thermistor import Thermistor, beta_curve, celsius, three_point_curve
from rigwire.messages import MISSING_MC

# degC, ohm, what the beta equation alone reads too much (K), counts of 65535 with 10 kohm
TABLE = (
    (0, 32555, 0.76, 50135),
    (10, 19873, 0.40, 43597),
    (20, 12488, 0.12, 36393),
    (25, 10000, 0.0, 32768),
    (27, 9166, -0.04, 31342),
    (30, 8059, -0.10, 29246),
    (32, 7406, -0.13, 27883),
    (35, 6535, -0.18, 25901),
    (40, 5330, -0.24, 22785),
    (45, 4372, -0.28, 19935),
    (50, 3605, -0.31, 17366),
    (60, 2490, -0.31, 13065),
    (85, 1070, 0.0, 6336),
    (100, 677, 0.39, 4157),
)
CURVE = three_point_curve(32554, 10000, 3606)


def _channel(read, probe=None):
    """A thermistor whose every reading is read(number)."""

    class Adc:
        """Counts its readings."""

        number = -1

        def read_u16(self):
            """The next reading."""
            self.number += 1
            return read(self.number)

    probe = probe or probes.Probe()
    return Thermistor(Adc(), probe, 10000, CURVE), probe


def _measure(read):
    """(value, why) of one second."""
    channel, probe = _channel(read)
    assert [channel.step(now_ms) for now_ms in (0, 250, 500, 750)] == [False] * 3 + [True]
    return probe.value_mc, probe.why


def test_three_points_give_the_table():
    """Within 0.01 K from 0 to 50 degC, 0.02 K at 60, and the published constants."""
    for degrees, ohm, _, _ in TABLE:
        if degrees <= 60:
            assert abs(celsius(ohm, CURVE) - degrees) < (0.011 if degrees <= 50 else 0.02)
    for at, expected in enumerate((1.13300563e-3, 2.33255960e-4, 9.29764e-8)):
        assert abs(CURVE[at] / expected - 1) < 1e-4


def test_the_beta_equation_errs_as_calculated():
    """The error column of the table, to the hundredth of a degree and the rounding of ohms."""
    curve = beta_curve(10000, 3977)
    for degrees, ohm, error_k, _ in TABLE:
        assert abs(celsius(ohm, curve) - degrees - error_k) < 0.03, degrees


def test_counts_of_a_divider_give_degrees():
    """The counts column with a 10 kohm pull-up, 0 to 60 degC, through the whole driver."""
    for degrees, _, _, counts in TABLE:
        if degrees <= 60:
            value_mc, why = _measure(lambda _, counts=counts: counts)
            assert why == probes.FINE
            assert abs(value_mc - 1000 * degrees) < 20, (degrees, value_mc)


def test_one_percent_of_resistance_is_a_quarter_of_a_degree():
    """At 32 degC 1 % of R is 0.23 K (calculated): what a pull-up's tolerance costs."""
    assert abs(celsius(7406 * 0.99, CURVE) - 32.23) < 0.01


def test_an_open_wire_is_not_cold():
    """Full scale would be far below zero and ask for heat: refused."""
    assert _measure(lambda _: 65535) == (MISSING_MC, probes.OPEN)
    assert _measure(lambda _: 64000) == (MISSING_MC, probes.OPEN)


def test_a_short_is_refused():
    """Zero, and just above."""
    assert _measure(lambda _: 0) == (MISSING_MC, probes.SHORT)
    assert _measure(lambda _: 1200) == (MISSING_MC, probes.SHORT)


def test_one_open_reading_of_64_refuses_the_second():
    """Whichever it is; a mean would hide it."""
    for bad in (0, 17, 63):
        read = _measure(lambda number, bad=bad: 65535 if number == bad else 28000)
        assert read == (MISSING_MC, probes.OPEN)


def test_a_loose_contact_is_unsteady():
    """Readings more than 2000 counts apart within a second; 2000 is still good."""
    swings = lambda by: _measure(lambda number: 28000 + by * (number % 2))  # noqa: E731
    assert swings(2001) == (MISSING_MC, probes.UNSTEADY)
    assert swings(2000)[1] == probes.FINE


def test_beyond_what_is_measured_is_refused():
    """-25 degC (130 kohm) and 140 degC are neither open nor short, and are not believed."""
    assert _measure(lambda _: 61000) == (MISSING_MC, probes.OUT_OF_RANGE)
    assert _measure(lambda _: 1600) == (MISSING_MC, probes.OUT_OF_RANGE)


def test_a_plate_far_too_hot_still_reads_hot():
    """100 degC: a value (the curve is off by 0.2 K there), so that the plate's limit can act."""
    value_mc, why = _measure(lambda _: 4157)
    assert why == probes.FINE
    assert abs(value_mc - 100000) < 300


def test_noise_is_averaged():
    """Plus and minus 300 counts around 32 degC, evenly: within 5 mK of still."""
    still, _ = _measure(lambda _: 27883)
    noisy, _ = _measure(lambda number: 27883 + (number * 7 % 16 - 8) * 40 + 20)
    assert abs(noisy - still) < 5


def test_one_disturbed_burst_of_four_does_not_show():
    """The third burst reads 1500 counts more, over 2 K: the value is that of the others."""
    still, _ = _measure(lambda _: 28000)
    disturbed, why = _measure(lambda number: 29500 if 32 <= number < 48 else 28000)
    assert (disturbed, why) == (still, probes.FINE)


def test_the_stamp_is_the_first_burst_of_the_value():
    """Begun at 1000, ready at 1750; the next begins at 2000."""
    channel, probe = _channel(lambda _: 28000)
    stamps = []
    for now_ms in range(1000, 3000, 250):
        if channel.step(now_ms):
            stamps.append((now_ms, probe.at_ms))
    assert stamps == [(1750, 1000), (2750, 2000)]


def test_a_wire_that_comes_back_reads_again():
    """Open for one value, then good: nothing of the open second is left."""
    level = [65535]
    channel, probe = _channel(lambda _: level[0])
    seen = []
    for now_ms in range(0, 3000, 250):
        level[0] = 65535 if now_ms < 1000 else 28000
        if channel.step(now_ms):
            seen.append(probe.why)
    assert seen == [probes.OPEN, probes.FINE, probes.FINE]
