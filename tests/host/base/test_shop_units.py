"""Lengths, speeds and powers with their unit."""

import pytest

from snapgloss.base import shop_units
from snapgloss.base.errors import InputError


@pytest.mark.parametrize(
    ("parser", "text", "value"),
    [("length_um", "7 mm", 7000), ("length_um", "0,7 cm", 7000), ("length_um", "1 in", 25_400),
     ("speed_mm_per_s", "1.5 m/s", 1500), ("speed_mm_per_s", "3.6 km/h", 1000),
     ("speed_mm_per_s", "200 ft/min", 1016), ("power_w", "80 W", 80), ("power_w", "0.1kw", 100)],
)  # fmt: skip
def test_quantities_are_read(parser, text, value):
    """An inch is 25.4 mm, a foot 12 of them, by definition."""
    assert getattr(shop_units, parser)(text) == value


@pytest.mark.parametrize(
    ("parser", "text", "words"),
    [("length_um", "7", "has no unit"), ("length_um", "7 kg", "is not a length"),
     ("length_um", "-1 mm", "is out of range"), ("speed_mm_per_s", "99 m/s", "out of range"),
     ("power_w", "0 W", "out of range"), ("power_w", "", "is not a power")],
)  # fmt: skip
def test_others_are_refused(parser, text, words):
    """One sentence with the text, and the limits in the first unit."""
    with pytest.raises(InputError) as refused:
        getattr(shop_units, parser)(text)
    assert words in refused.value.message


def test_the_limits_are_told_in_the_usual_unit():
    """Not in the base unit of the program."""
    with pytest.raises(InputError) as refused:
        shop_units.length_um("5 in m")
    assert refused.value.remedy == "Write it like 7 mm."
    with pytest.raises(InputError) as refused:
        shop_units.length_um("2000 mm")
    assert refused.value.remedy == "Give a value between 0.1 mm and 1000 mm."
