"""`snapgloss calibrate`: figures with units, refusals, and what deploy takes along."""

from typing import Any

import pytest

PROBE = "ds18b20,2801001a2b00005f"


def test_two_points_in_words_and_for_programs(call: Any) -> None:
    """Offset, slope, and what of the window is sure."""
    given = ("calibrate", "--name", "Maar", "--probe", PROBE, "--ice", "0.2 C",
             "--bath", "37.0 C", "36.8 C")  # fmt: skip
    assert "31.15 to 31.85 °C are surely inside" in call(*given).out
    value = call(*given, "--json").value
    assert (value["offset_mk"], value["slope_e5"], value["uncertainty_c"]) == (-202, 1093, 0.147)


def test_boiling_in_the_hills(call: Any) -> None:
    """1500 ft: water boils at 98.4 degC; weather makes the point poor."""
    answer = call("calibrate", "--name", "Maar", "--probe", PROBE, "--boiling", "98.6 C",
                  "--altitude", "1500 ft", "--json")  # fmt: skip
    (point,) = answer.value["points"]
    assert point["true_c"] == pytest.approx(98.46, abs=0.05)
    assert point["u_c"] > 0.5


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--name", "M", "--ice", "0.2"), "has no unit"),
        (
            (
                "--name",
                "M",
            ),
            "one point or two",
        ),
        (("--ice", "0.2 C"), "needs a name"),
        (("--name", "M", "--ice", "3 C"), "broken or a wrong probe"),
        (("--name", "M", "--ice", "0.2 C", "--altitude", "9000 m"), "out of range"),
        (("--name", "M", "--ice", "0 C", "--bath", "10 C", "10 C"), "tell no slope"),
    ],
)
def test_bad_points_end_with_a_sentence(call: Any, options: tuple[str, ...], words: str) -> None:
    """Exit code 2; nothing is kept."""
    answer = call("calibrate", "--probe", PROBE, *options)
    assert answer.code == 2
    assert words in answer.err


def test_an_unknown_probe_is_refused(call: Any) -> None:
    """A number that is none."""
    assert "is no probe" in call("calibrate", "--probe", "k,1", "--name", "M", "--ice", "0 C").err
