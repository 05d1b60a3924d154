"""Sentences with °C told in °F."""

import pytest

from snapgloss.base.fahrenheit import in_fahrenheit


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("A room of 35.0 °C is too warm.", "A room of 95.0 °F is too warm."),
        ("Use air of 10 to 14 °C.", "Use air of 50 to 57 °F."),
        ("Give -30 to 70 °C.", "Give -22 to 158 °F."),
        ("Leave it until it is within 2 °C of the cold.",
         "Leave it until it is within 4 °F of the cold."),
        ("It heads for 12 °C, not for the 20 °C stated.",
         "It heads for 54 °F, not for the 68 °F stated."),
        ('"85 °C" is not so; 2 kg, 20 to 40 min.', '"85 °C" is not so; 2 kg, 20 to 40 min.'),
        ("5 to 8 % at -0.5 °C", "5 to 8 % at 31.1 °F"),
        ("36 C loses the temper: keep it at or below 34 C.",
         "97 F loses the temper: keep it at or below 93 F."),
        ("2 Cups at 30 CO2", "2 Cups at 30 CO2"),
    ],
)  # fmt: skip
def test_a_sentence_in_fahrenheit(words: str, told: str) -> None:
    """Exact pairs; ranges, differences, what was typed."""
    assert in_fahrenheit(words) == told
