"""Quantities are read exactly, with their unit, or refused by a sentence that names the text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base import units
from snapgloss.base.errors import InputError


# Exact pairs of the two scales: F = C * 9/5 + 32 by definition; cited in degC to two decimals.
@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        (82, 27.78),
        (83, 28.33),
        (84, 28.89),
        (86, 30.00),
        (88, 31.11),
        (89, 31.67),
        (90, 32.22),
        (91, 32.78),
        (113, 45.00),
        (122, 50.00),
        (131, 55.00),
    ],
)
def test_fahrenheit_pairs(fahrenheit, celsius):
    """Both the float helper and the parser give the exact pair."""
    assert units.c_from_f(fahrenheit) == pytest.approx(celsius, abs=0.005)
    assert units.temperature_mc(f"{fahrenheit} F") == pytest.approx(celsius * 1000, abs=5)


def test_form_v_melting_point_in_fahrenheit():
    """33.8 degC is 92.84 degF exactly (9/5 and 32 by definition)."""
    assert units.f_from_c(33.8) == pytest.approx(92.84, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("31.5 C", 31500),
        (" 31.5C ", 31500),
        ("31,5 °C", 31500),
        ("31.5 degC", 31500),
        ("89.6 °F", 32000),
        ("-5 C", -5000),
        (".5 C", 500),
    ],
)
def test_temperature_forms(text, expected):
    """The usual ways to write a temperature give the same milli-degrees."""
    assert units.temperature_mc(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("90 s", 90),
        ("10 min", 600),
        ("1 h 10 min", 4200),
        ("1h10min5s", 4205),
        ("1.5 h", 5400),
        ("0 s", 0),
        ("2 hours", 7200),
    ],
)
def test_span_forms(text, expected):
    """A length of time may be one part, several from large to small, or a decimal."""
    assert units.span_s(text) == expected


def test_mass_forms():
    """Kilograms and grams are exact; the pound is 453.59237 g by definition, rounded."""
    assert [units.mass_g(t) for t in ("2 kg", "120 g", "1.25 kg")] == [2000, 120, 1250]
    assert units.mass_g("4 lb") == 1814  # 4 * 453.59237 = 1814.37


def test_rate_forms():
    """A rate may be per minute or per hour, in either scale; 1.8 F is 1 C of difference."""
    texts = ("1 C/min", "0.5 °C / min", "30 C/h", "1.8 F/min")
    assert [units.rate_mc_per_min(t) for t in texts] == [1000, 500, 500, 1000]


def test_creep_forms():
    """A creep is kept per hour: 0.5 C/h would be 8.33 thousandths a minute."""
    texts = ("0.5 C/h", "0.9 F/h", "0.01 C/min")
    assert [units.creep_mc_per_h(t) for t in texts] == [500, 500, 600]


PARSERS = (
    units.temperature_mc,
    units.span_s,
    units.mass_g,
    units.rate_mc_per_min,
    units.creep_mc_per_h,
)


@pytest.mark.parametrize("parse", PARSERS)
@pytest.mark.parametrize("text", ["31.5", "nan", "inf C", "-inf", "1e3 C", "", "C", "9" * 99])
def test_bare_and_impossible_numbers_are_refused(parse, text):
    """No unit, no number, not a number, infinite, endless: refused, naming the text."""
    with pytest.raises(InputError) as refused:
        parse(text)
    assert text[:20] in refused.value.message
    assert refused.value.remedy


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (units.temperature_mc, "1500 C"),
        (units.temperature_mc, "-41 C"),
        (units.span_s, "-5 min"),
        (units.span_s, "169 h"),
        (units.mass_g, "-1 g"),
        (units.mass_g, "101 kg"),
        (units.rate_mc_per_min, "-1 C/min"),
        (units.rate_mc_per_min, "101 C/min"),
    ],
)
def test_absurd_sizes_are_refused(parse, text):
    """Values nobody can mean are refused as out of range."""
    with pytest.raises(InputError, match="out of range"):
        parse(text)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (units.mass_g, "1,500 g"),
        (units.temperature_mc, "31,500 C"),
        (units.span_s, "1,000 s"),
    ],
)
def test_comma_that_may_be_a_thousands_mark_is_refused(parse, text):
    """1,500 g may be 1.5 g or 1500 g, so it is asked for again."""
    with pytest.raises(InputError, match="two ways"):
        parse(text)


@pytest.mark.parametrize("text", ["10 min 1 h", "1 h 1 h", "1 h 10", "5 weeks", "1 h -5 min"])
def test_muddled_spans_are_refused(text):
    """Parts out of order, twice, without unit or with mixed signs are refused."""
    with pytest.raises(InputError):
        units.span_s(text)


@given(st.integers(-40_000, 200_000))
def test_temperature_round_trip(mc):
    """What is written to a file is read back to the milli-degree."""
    assert units.temperature_mc(units.write_temperature(mc)) == mc


@given(st.integers(0, units.SPAN_MAX_S))
def test_span_round_trip(seconds):
    """What is shown is read back to the second."""
    assert units.span_s(units.show_span(seconds)) == seconds


@given(st.integers(0, units.MASS_MAX_G))
def test_mass_round_trip(grams):
    """What is shown is read back to the gram."""
    assert units.mass_g(units.show_mass(grams)) == grams


@given(st.integers(0, units.RATE_MAX_MC_PER_MIN))
def test_rate_round_trip(rate):
    """What is written to a file is read back exactly."""
    assert units.rate_mc_per_min(units.write_rate(rate)) == rate


@given(st.integers(0, 100_000))
def test_creep_round_trip(mc_per_h):
    """What is written to a file is read back exactly."""
    assert units.creep_mc_per_h(units.write_creep(mc_per_h)) == mc_per_h


@given(st.floats(-40, 200))
def test_scales_round_trip(celsius):
    """Celsius to Fahrenheit and back is the same temperature."""
    assert units.c_from_f(units.f_from_c(celsius)) == pytest.approx(celsius, abs=1e-9)


@given(st.text(), st.sampled_from(PARSERS))
def test_any_text_gives_a_whole_number_or_an_input_error(text, parse):
    """No text escapes as another error."""
    try:
        assert type(parse(text)) is int
    except InputError as refused:
        assert "\n" not in str(refused)


@pytest.mark.parametrize(
    ("mc", "fahrenheit", "shown"),
    [
        (31500, False, "31.5 °C"),
        (31500, True, "88.7 °F"),
        (28333, False, "28.3 °C"),
        (-50, False, "0.0 °C"),
        (None, True, "no reading"),
    ],
)
def test_shown_temperature(mc, fahrenheit, shown):
    """A person sees one decimal and the scale; a missing reading is said so."""
    assert units.show_temperature(mc, fahrenheit) == shown


@pytest.mark.parametrize(("at_s", "text"), [(0, "0:00"), (59.9, "0:00"), (5760, "1:36")])
def test_shown_time_since_the_start(at_s, text):
    """Hours and whole minutes, rounded down."""
    assert units.show_h_mm(at_s) == text


@pytest.mark.parametrize(
    ("text", "permille"), [("18 %", 180), ("18.5%", 185), ("0 %", 0), ("100 %", 1000)]
)
def test_shares(text, permille):
    """A share is read in thousandths and written so that it reads back."""
    assert units.share_permille(text) == permille
    assert units.share_permille(units.write_share(permille)) == permille


@pytest.mark.parametrize("text", ["18", "101 %", "-1 %", "0.25 %", "nan %", "18 percent", "%", ""])
def test_shares_that_are_none(text):
    """Without its sign, out of range, or finer than 0.1 %: refused."""
    with pytest.raises(InputError):
        units.share_permille(text)


def test_fahrenheit_doubt():
    """Only a figure that is too high in °C and fits as °F is doubted; 88 F is 31.1 °C exactly."""
    assert units.fahrenheit_doubt(88_000, 60_000) == "; is that Fahrenheit? 88 F is 31.1 C"
    assert units.fahrenheit_doubt(59_000, 60_000) == ""  # fits as it is
    assert units.fahrenheit_doubt(141_000, 60_000) == ""  # 60.6 °C
    assert units.fahrenheit_doubt(61_000, 60_000) == ""  # 16.1 °C: nobody tempers there


def test_shown_difference():
    """1 K is 1.8 °F of difference: the offset of 32 has no part in it."""
    assert units.show_difference(0.5) == "0.5 °C"
    assert units.show_difference(0.5, True, 2) == "0.90 °F"


def test_shown_span():
    """Parts that are zero are left out."""
    shown = [units.show_span(s) for s in (0, 90, 600, 4200, 3600, -60)]
    assert shown == ["0 s", "1 min 30 s", "10 min", "1 h 10 min", "1 h", "-1 min"]


def test_part_of_a_second_or_gram_is_refused():
    """Schedules hold whole seconds and grams; a part is asked to be rounded."""
    for parse, text in ((units.span_s, "0.5 s"), (units.mass_g, "0.5 g")):
        with pytest.raises(InputError, match="not a whole number") as refused:
            parse(text)
        assert text in refused.value.message
