"""Dew points against tables and two open libraries, and the answer for a cold bar."""

import math

import metpy.calc
import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from metpy.units import units

from snapgloss.base.errors import InputError
from snapgloss.chocolate.moist_air import dew_point_c, saturation_pa, turn_out

psychrolib.SetUnitSystem(psychrolib.SI)
AIR = st.floats(-45.0, 60.0)
HUMIDITY = st.floats(0.1, 100.0)


@pytest.mark.parametrize(
    ("at_c", "table_pa", "within"),
    [(5.0, 872.6, 0.002), (25.0, 3169.7, 0.004), (50.0, 12351.3, 0.002)],
)
def test_saturation_is_that_of_the_handbook(at_c, table_pa, within):
    """ASHRAE Handbook Fundamentals 2017, ch. 1 table 3, saturation pressures in Pa."""
    assert saturation_pa(at_c) == pytest.approx(table_pa, rel=within)


def test_magnus_itself_is_computed_right():
    """3160.1 and 12345 Pa: the Magnus form worked by hand."""
    assert saturation_pa(25.0) == pytest.approx(3160.1, abs=0.1)
    assert saturation_pa(50.0) == pytest.approx(12345, abs=1)


def test_air_that_holds_the_pressure_of_5_degrees_has_that_dew_point():
    """25 degC air with 872.6 of 3169.7 Pa (27.53 %), both of the ASHRAE table, is wet at 5.00."""
    assert dew_point_c(25.0, 27.53) == pytest.approx(5.00, abs=0.05)


@pytest.mark.parametrize(
    ("air_c", "percent", "dew_c"),
    [(20.0, 59.97, 12.0), (20.0, 72.92, 15.0), (25.0, 47.26, 13.0), (30.0, 48.62, 18.0)],
)
def test_dew_point_by_the_full_equation(air_c, percent, dew_c):
    """The Hyland-Wexler equation of ASHRAE, solved for these four, calculated apart."""
    assert dew_point_c(air_c, percent) == pytest.approx(dew_c, abs=0.03)


@pytest.mark.parametrize(
    ("air_c", "percent", "table_c"), [(20.0, 60.0, 12), (30.0, 80.0, 26), (50.0, 70.0, 43)]
)
def test_dew_point_of_a_printed_table(air_c, percent, table_c):
    """A humidity table in print, whole degrees cut off: the true value is up to 1 above."""
    assert math.floor(dew_point_c(air_c, percent)) == table_c or dew_point_c(
        air_c, percent
    ) == pytest.approx(table_c, abs=0.3)


def test_dew_point_against_psychrolib():
    """psychrolib 2.5 (ASHRAE 2017 equations): within 0.06 K from 0 to 45 degC."""
    for air_c in (1.0, 10.0, 18.0, 22.0, 25.0, 30.0, 45.0):
        for percent in (20.0, 40.0, 60.0, 80.0, 99.0):
            other_c = psychrolib.GetTDewPointFromRelHum(air_c, percent / 100)
            if other_c > 0.0:  # below, psychrolib turns to ice
                assert dew_point_c(air_c, percent) == pytest.approx(other_c, abs=0.06)


def test_dew_point_against_metpy():
    """metpy 1.7 (another set of constants): within 0.1 K from 5 to 35 degC."""
    for air_c in (5.0, 12.0, 22.0, 35.0):
        for percent in (30.0, 60.0, 90.0):
            other = metpy.calc.dewpoint_from_relative_humidity(
                air_c * units.degC, percent * units.percent
            )
            assert dew_point_c(air_c, percent) == pytest.approx(other.m_as("degC"), abs=0.1)


@given(AIR)
def test_saturated_air_is_wet_at_its_own_temperature(at_c):
    """Td(T, 100 %) = T, an identity, for any T."""
    assert dew_point_c(at_c, 100.0) == pytest.approx(at_c, abs=1e-9)


@given(AIR, HUMIDITY, HUMIDITY)
def test_damper_air_has_a_higher_dew_point_never_above_the_air(at_c, one, two):
    """Monotone in humidity, at most the air's own temperature."""
    drier, damper = sorted((one, two))
    assert dew_point_c(at_c, drier) <= dew_point_c(at_c, damper) <= at_c + 1e-9


@given(AIR, HUMIDITY)
def test_dew_point_is_the_inverse_of_saturation(at_c, percent):
    """The vapour pressure of the air saturates at the dew point."""
    dew_c = dew_point_c(at_c, percent)
    if dew_c >= -45.0:
        assert saturation_pa(dew_c) == pytest.approx(saturation_pa(at_c) * percent / 100, rel=1e-9)


def test_arrays_in_arrays_out():
    """The shape is the broadcast one; each place as by itself."""
    found = dew_point_c(np.array([[20.0], [25.0]]), np.array([40.0, 60.0, 80.0]))
    assert found.shape == (2, 3)
    assert found[1, 2] == dew_point_c(25.0, 80.0)


@pytest.mark.parametrize("percent", [0.0, -5.0, 100.1, math.nan, math.inf])
def test_a_humidity_that_cannot_be_is_refused(percent):
    """0 and over 100 % end in a sentence."""
    with pytest.raises(InputError, match="A humidity of"):
        dew_point_c(22.0, percent)


@pytest.mark.parametrize("air_c", [-60.0, 61.0, math.nan])
def test_air_that_cannot_be_is_refused(air_c):
    """Outside -45..60 degC the form does not hold."""
    with pytest.raises(InputError, match="no temperature of a kitchen"):
        dew_point_c(air_c, 50.0)


def test_a_cold_bar_in_a_damp_room_waits():
    """22 degC and 60 %: dew point 13.9, a bar of 12 gets wet (worked by hand)."""
    found = turn_out(12.0, 22.0, 60.0)
    assert found.answer == "wait"
    assert found.dew_c == pytest.approx(13.9, abs=0.05)
    assert found.margin_k == pytest.approx(-1.9, abs=0.05)


def test_a_narrow_margin_waits_too():
    """22 degC and 50 %: dew point 11.1, only 0.9 K over it; 2 K is common practice."""
    found = turn_out(12.0, 22.0, 50.0)
    assert (found.answer, round(found.margin_k, 1)) == ("wait", 0.9)
    dew_c = dew_point_c(22.0, 50.0)
    assert turn_out(dew_c + 1.99, 22.0, 50.0).answer == "wait"
    assert turn_out(dew_c + 2.01, 22.0, 50.0).answer == "now"


def test_a_room_that_is_too_damp_is_named():
    """At 95 % no bar can be 2 K over the dew point of the room."""
    assert turn_out(12.0, 22.0, 95.0).answer == "dry or cool the room"


@pytest.mark.parametrize("bar_c", [24.1, 26.0, 33.0, 40.0, 60.0])
def test_a_bar_too_warm_to_be_set_is_never_turned_out(bar_c):
    """Above 24 degC nothing is set enough to leave its mould, however dry the room; milk fat
    lowers that by what it lowers the melting."""
    for percent in (10.0, 50.0, 95.0):
        assert turn_out(bar_c, 22.0, percent).answer == "not set"
    assert turn_out(24.0, 22.0, 50.0).answer == "now"
    assert turn_out(23.0, 22.0, 50.0, 1.3).answer == "not set"
    assert turn_out(22.7, 22.0, 50.0, 1.3).answer == "now"


def test_nobody_waits_for_a_bar_to_melt():
    """30 degC and 85 %: dry only from 29.2 on, where nothing is set; at 60 %, 23.4, it waits."""
    found = turn_out(12.0, 30.0, 85.0)
    assert found.safe_c == pytest.approx(29.2, abs=0.1)
    assert found.answer == "dry or cool the room"
    assert turn_out(12.0, 30.0, 60.0).answer == "wait"
    assert turn_out(12.0, 30.0, 60.0, 1.6).answer == "dry or cool the room"
