"""The command that makes and checks schedules."""

from pathlib import Path
from typing import Any

import pytest

from snapgloss.schedules import files


def test_a_new_schedule_is_printed_as_toml(call: Any) -> None:
    """stdout is a schedule file and nothing else; the forecast is on stderr."""
    answer = call("schedule", "--chocolate", "Ferry Milk 48", "--type", "milk", "--mass", "1 kg")
    made = files.from_text(answer.out)
    assert (made.chocolate, made.type, made.method) == ("Ferry Milk 48", "milk", "seeded")
    assert (made.mass_g, made.start) == (1000, "solid")
    assert answer.err.splitlines()[0] == "Ferry Milk 48, 1 kg, seeded"
    assert "Forecast, in all" in answer.err


def test_kept_begins_in_temper(call: Any) -> None:
    """The usual start of `kept` is chocolate in temper."""
    assert files.from_text(call("schedule", "--method", "kept").out).start == "in_temper"


def test_a_bowl_fed_hot_is_asked_for(call: Any) -> None:
    """--start hot gives a ceiling of 60 and a first step that cools; it is pointed out."""
    answer = call("schedule", "--start", "hot")
    made = files.from_text(answer.out)
    assert (made.start, made.ceiling_mc, made.steps[0].kind) == ("hot", 60_000, "cool")
    assert "The bowl may be fed hot, up to 60 C" in answer.out.splitlines()[2]
    assert "Unusual: The bowl may be fed at up to 60 C" in answer.err
    fahrenheit = call("schedule", "--start", "hot", "--fahrenheit").err
    assert "Unusual: The bowl may be fed at up to 140 °F" in fahrenheit


def test_milk_fat_is_asked_for(call: Any) -> None:
    """By hand: 4 % more than the 16 % of milk, 29.8 - 0.32; a bare number is refused."""
    made = files.from_text(call("schedule", "--type", "milk", "--milk-fat", "20 %").out)
    assert (made.work_mc, made.milk_fat_permille) == (29_480, 200)
    bare = call("schedule", "--milk-fat", "20")
    assert (bare.code, bare.err.splitlines()[0]) == (2, '--milk-fat: "20" has no unit.')


def test_written_then_checked(call: Any, tmp_path: Path) -> None:
    """--out writes a file that is read back the same; a second time it is refused."""
    path = tmp_path / "mine.toml"
    answer = call("schedule", "--out", str(path))
    assert answer.out == f"Written to {path}. Next: snapgloss run {path} --port PORT\n"
    checked = call("schedule", str(path))
    assert checked.code == 0
    assert checked.out.splitlines()[1].startswith("  1  Melting to 48.0 °C  ")
    again = call("schedule", "--out", str(path))
    assert again.code == 2
    assert "is there already" in again.err


def test_in_fahrenheit(call: Any, tmp_path: Path) -> None:
    """The forecast's temperatures are in °F then; the file stays as it is."""
    answer = call("schedule", "--fahrenheit")
    assert "Melting to 118.4 °F" in answer.err
    assert 'target = "48 C"' in answer.out


def test_as_json(call: Any) -> None:
    """Schedule, TOML, a forecast for each step, warnings, and the reasons of what was made."""
    value = call("schedule", "--json").value
    assert list(value) == ["schedule", "toml", "forecast", "warnings", "plan"]
    assert len(value["forecast"]) == len(value["schedule"]["steps"]) == 6
    assert value["forecast"][5]["hold_min"] == 45.0
    assert files.from_text(value["toml"]).chocolate == "Dark chocolate"


def test_a_room_too_warm_is_refused(call: Any) -> None:
    """The forecast says no before chocolate is wasted, and nothing is printed or written."""
    answer = call("schedule", "--room", "33 C")
    assert (answer.code, answer.out) == (2, "")
    assert "°C" in answer.err


@pytest.mark.parametrize("wish", [("--type", "milk"), ("--out", "other.toml"), ("--mass", "1 kg")])
def test_a_file_goes_without_wishes(call: Any, tmp_path: Path, wish: tuple[str, str]) -> None:
    """FILE together with an option that makes a schedule is refused."""
    path = tmp_path / "mine.toml"
    call("schedule", "--out", str(path))
    answer = call("schedule", str(path), *wish)
    assert answer.code == 2
    assert answer.err.startswith("A FILE is checked as it is")
