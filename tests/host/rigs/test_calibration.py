"""Calibration: exact through its points, refused where it tells nothing; boiling by libraries."""

import math
from pathlib import Path

import pytest
from CoolProp import CoolProp
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from rigfw.drivers import probe as firmware_probe
from snapgloss.base.errors import InputError
from snapgloss.rigs import calibration
from snapgloss.rigs.boiling import WEATHER_C, boiling_c, pressure_pa
from snapgloss.rigs.calibration import Calibration, Point, against_window, calibrate, uncertainty_c
from snapgloss.runs.calibrations import DAY_MS, Calibrations

KIND = "ds18b20,2801001a2b00005f"

# The standard atmosphere, ISO 2533 table (from memory): altitude m -> Pa.
ATMOSPHERE = {0: 101_325, 500: 95_461, 1000: 89_876, 2000: 79_501, 3000: 70_121}


@pytest.mark.parametrize(("altitude_m", "pascal"), ATMOSPHERE.items())
def test_pressure_is_that_of_the_standard_atmosphere(altitude_m: float, pascal: float) -> None:
    """Within 0.03 % of the table."""
    assert pressure_pa(altitude_m) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize("altitude_m", range(0, 5001, 250))
def test_boiling_agrees_with_two_libraries(altitude_m: float) -> None:
    """IAPWS97 and CoolProp, each within 0.01 degC, from the sea to 5000 m."""
    pascal = pressure_pa(altitude_m)
    assert boiling_c(pascal) == pytest.approx(IAPWS97(P=pascal / 1e6, x=0).T - 273.15, abs=0.01)
    other = CoolProp.PropsSI("T", "P", pascal, "Q", 0, "Water") - 273.15
    assert boiling_c(pascal) == pytest.approx(other, abs=0.02)


def test_boiling_at_the_sea_and_the_weather() -> None:
    """99.97 degC at 1013.25 hPa (the steam tables); 2 kPa of weather are 0.55 degC."""
    assert boiling_c(101_325) == pytest.approx(99.974, abs=0.002)
    assert boiling_c(103_325) - boiling_c(101_325) == pytest.approx(WEATHER_C, abs=0.01)


@pytest.mark.parametrize("bad", [-500, 6000, math.nan, math.inf])
def test_no_kitchen_lies_there(bad: float) -> None:
    """Under the Dead Sea, above all villages, no number."""
    with pytest.raises(InputError, match="Nobody makes chocolate"):
        pressure_pa(bad)
    with pytest.raises(InputError, match="none on land"):
        boiling_c(bad)


def test_one_point_shifts() -> None:
    """0.2 in ice: -200 mK everywhere."""
    found = calibrate([calibration.ice(0.2)])
    assert (found.offset_mk, found.slope_e5) == (-200, 0)
    assert found.corrected_c(31.5) == pytest.approx(31.3)


def test_two_points_shift_and_tilt_worked_by_hand() -> None:
    """0.2 at 0, 36.8 at 37: slope 0.4 / 36.6 = 1.093 %, offset -0.2 - 0.2 x 0.01093 = -0.202."""
    found = calibrate([calibration.ice(0.2), calibration.bath(37.0, 36.8)])
    assert (found.offset_mk, found.slope_e5) == (-202, 1093)


reads = st.floats(-1.9, 1.9)


@given(reads, reads)
def test_the_line_goes_through_both_points(low_off: float, high_off: float) -> None:
    """Whatever the errors: a reading at a point comes out true within the board's rounding."""
    points = [Point(0.0, low_off, 0.1), Point(37.0, 37.0 + high_off, 0.1)]
    found = calibrate(points)
    for point in points:
        assert found.corrected_c(point.read_c) == pytest.approx(point.true_c, abs=1.1e-3)


@given(st.integers(-2000, 2000), st.integers(-5000, 5000), st.floats(-10, 85))
def test_what_the_rig_shows_is_undone_exactly(offset: int, slope: int, read_c: float) -> None:
    """Corrected and back: the probe's own reading, whatever offset and slope."""
    found = Calibration(offset, slope, (calibration.ice(0.0),))
    assert found.read_c(found.corrected_c(read_c)) == pytest.approx(read_c, abs=1e-9)


def test_the_board_adds_the_same() -> None:
    """The firmware's own probe corrects 36.8 degC to 37.0 with this offset and slope."""
    found = calibrate([calibration.ice(0.2), calibration.bath(37.0, 36.8)])
    probe = firmware_probe.Probe(found.offset_mk, found.slope_e5)
    probe.take(36_800, 0)
    assert probe.value_mc == pytest.approx(37_000, abs=2)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([], "one point or two"),
        ([calibration.ice(0.1)] * 3, "one point or two"),
        ([calibration.ice(2.1)], "broken or a wrong probe"),
        ([calibration.ice(math.nan)], "broken or a wrong probe"),
        ([calibration.bath(30.0, 30.1), calibration.bath(37.0, 37.0)], "tell no slope"),
        ([calibration.ice(0.0), calibration.ice(0.1)], "tell no slope"),
    ],
)
def test_points_that_tell_nothing_are_refused(points: list[Point], words: str) -> None:
    """None, three, a wild one, two at the same place."""
    with pytest.raises(InputError, match=words):
        calibrate(points)


def test_squares_add_up_worked_by_hand() -> None:
    """Ice 0.05 and bath hypot(0.1, 0.05) at 31.5 of 37: with steps and bending 0.15 degC."""
    found = calibrate([calibration.ice(0.2), calibration.bath(37.0, 36.8)])
    share = 31.5 / 37
    at_points = math.hypot((1 - share) * 0.05, share * math.hypot(0.1, 0.05))
    step = 2 * 0.0625 / math.sqrt(12)
    by_hand = math.sqrt(at_points**2 + 2 * step**2 + 0.1**2)
    assert uncertainty_c(found, 31.5) == pytest.approx(by_hand)
    assert uncertainty_c(found, 31.5) == pytest.approx(0.148, abs=0.002)


def test_more_points_know_better_and_age_knows_worse() -> None:
    """Two points < one < none (the data sheet's 0.5); a year more adds its drift."""
    two = calibrate([calibration.ice(0.2), calibration.bath(37.0, 36.8)])
    one = calibrate([calibration.ice(0.2)])
    figures = [uncertainty_c(found, 31.5) for found in (two, one, None)]
    assert figures == sorted(figures)
    assert figures[2] >= 0.5
    assert uncertainty_c(two, 31.5, 365.25) == pytest.approx(math.hypot(figures[0], 0.1))


def test_the_window_is_held_against_it() -> None:
    """0.15 of a window of 1 degC leaves 0.7; 0.5 leaves nothing, and says what to do."""
    assert "31.15 to 31.85 °C are surely inside" in against_window(0.15, 31.0, 32.0)
    assert "No reading in it is surely inside. Calibrate" in against_window(0.5, 31.0, 32.0)


def test_the_record_gives_the_last_and_its_age(tmp_path: Path) -> None:
    """The newer of two counts; 200 days later it is due; the board's entry carries it."""
    now = [1_800_000_000_000]
    record = Calibrations(tmp_path, lambda: now[0])
    record.keep(KIND, [calibration.ice(0.5)], "Maar")
    record.keep(KIND, [calibration.ice(0.2)], "Quillby")
    now[0] += 200 * DAY_MS
    last = record.last(KIND)
    assert last is not None
    assert (last.name, last.age_days, last.is_due) == ("Quillby", 200.0, True)
    probe, words = record.probe(KIND)
    assert (probe.offset_mk, "half a year is over" in words) == (-200, True)


def test_a_probe_that_was_swapped_has_no_calibration(tmp_path: Path) -> None:
    """Another number: uncalibrated, and said so. A thermistor's channel cannot tell: said, too."""
    record = Calibrations(tmp_path, lambda: 1_800_000_000_000)
    record.keep(KIND, [calibration.ice(0.2)], "Maar")
    probe, words = record.probe("ds18b20,2802001a2b0000aa")
    assert (probe.offset_mk, "never calibrated" in words) == (0, True)
    record.keep("ntc,1,10000,32554,10000,3606", [calibration.ice(0.3)], "Maar")
    _, words = record.probe("ntc,1,10000,32554,10000,3606")
    assert "after a swap calibrate anew" in words
