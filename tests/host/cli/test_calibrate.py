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


def test_a_calibration_made_anew_from_what_the_rig_shows(call: Any) -> None:
    """With the last one on the board ice shows 0.00 and 37 shows 37.00: the same comes out; 0.1
    more in both shifts by that. Without a last one it is refused."""
    name = ("calibrate", "--name", "Maar", "--probe", PROBE, "--json")
    shown = ("--as-shown", "--ice", "0.0 C", "--bath", "37.0 C", "37.0 C")
    refused = call(*name, *shown)
    assert (refused.code, "has no calibration in this record" in refused.err) == (2, True)
    first = call(*name, "--ice", "0.2 C", "--bath", "37.0 C", "36.8 C").value
    again = call(*name, *shown).value
    assert (again["offset_mk"], again["slope_e5"]) == (first["offset_mk"], first["slope_e5"])
    shifted = call(*name, "--as-shown", "--ice", "0.1 C", "--bath", "37.0 C", "37.1 C").value
    assert (shifted["offset_mk"], shifted["slope_e5"]) == (-302, 1093)


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
        (
            ("--name", "M", "--bath", "37.0 C", "36.8 C", "--bath", "37.1 C", "36.8 C"),
            "--bath is given more than once",
        ),
        (
            ("--name", "M", "--bath", "37.0 C", "36.8 C", "--good-to", "0 C"),
            "No thermometer is good to 0",
        ),
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
