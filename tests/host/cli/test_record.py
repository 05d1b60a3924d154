"""The commands that read the record."""

import json
from pathlib import Path
from typing import Any

from snapgloss.schedules.demo import demo_text
from snapgloss.store import open_store


def test_no_runs_yet(call: Any) -> None:
    """An empty record says what to do; as JSON it is an empty list."""
    assert call("runs") == (0, "No batch yet. See one tempered: snapgloss try.\n", "")
    assert call("runs", "--json").value == []


def test_runs_as_json(call: Any, run_1: int) -> None:
    """A list of runs with the documented keys."""
    answer = call("runs", "--json")
    assert (answer.code, answer.err) == (0, "")
    (run,) = answer.value
    assert list(run) == [
        "run", "began", "chocolate", "type", "method", "mass_g", "rig", "workshop", "simulated",
        "outcome", "words", "grade",
    ]  # fmt: skip
    assert (run["run"], run["chocolate"], run["mass_g"]) == (run_1, "Lantern 72", 2000)
    assert (run["simulated"], run["outcome"]) == (True, "finished")
    assert run["began"].endswith("Z")


def test_runs_for_a_person(call: Any, run_1: int) -> None:
    """Two lines a run, with its number, name, words, and that it was simulated."""
    first, second = call("runs").out.splitlines()
    assert first.split()[0] == str(run_1)
    assert first.endswith("Lantern 72, 2 kg, seeded  simulated")
    assert second.strip() == "finished. Stayed 10 of 10 minutes in the window."


def test_the_list_has_grades_and_fits_80_columns(call: Any, run_1: int, data: Path) -> None:
    """A long sentence goes on under its beginning; the worst of all looks stands behind it."""
    words = "Stayed 26 of 26 minutes in the window; 8 min more not recorded, and some more words."
    with open_store(data) as store:
        store.end_run(run_1, 660_000, "finished", words)
    call("grade", "1", "seconds")
    lines = call("runs").out.splitlines()
    assert max(map(len, lines)) <= 80
    assert [line[:6] for line in lines[1:]] == [" " * 6] * 2
    assert lines[-1].endswith(" Bars: seconds.")
    assert call("runs", "--json").value[0]["grade"] == "seconds"


def test_show_as_json(call: Any, run_1: int) -> None:
    """All of a run in one value, with the schedule as it was sent."""
    shown = call("show", str(run_1), "--json").value
    assert shown["figures"] == {"minutes_working": 10.0, "working_lowest_c": 31.4}
    assert (shown["window_low_mc"], shown["window_high_mc"]) == (31_000, 32_000)
    assert [event["at_s"] for event in shown["events"]] == [30, 600]
    assert shown["notes"] == ["A calm batch."]
    assert shown["gaps"] == ["readings 300 to 302: overwritten"]
    assert shown["schedule_toml"] == demo_text()
    assert shown["workshop"] == "Quillby & Maar"


def test_show_for_a_person(call: Any, run_1: int) -> None:
    """Window, verdict, figures, events by the clock, notes and gaps."""
    lines = [line.strip() for line in call("show", str(run_1)).out.splitlines()]
    assert lines[0] == "Run 1: Lantern 72, 2 kg, seeded"
    assert lines[1].endswith("simulated rig, firmware 0.1.0, Quillby & Maar")
    assert lines[2] == "Window 31.0 °C to 32.0 °C, working at 31.5 °C"
    assert lines[3] == "Finished. Stayed 10 of 10 minutes in the window."
    assert lines[4].split(maxsplit=3)[:3] == ["Lowest", "while", "working"]
    assert lines[4].endswith("31.4 °C")
    assert "0:00  asked: seed in, 120 g" in lines
    assert lines[-5:] == ["Notes", "A calm batch.", "", "Lost readings",
                          "readings 300 to 302: overwritten"]  # fmt: skip


def test_show_in_fahrenheit(call: Any, run_1: int) -> None:
    """Every temperature is in °F then, and none in °C."""
    out = call("show", str(run_1), "--fahrenheit").out
    assert "Window 87.8 °F to 89.6 °F" in out
    assert "°C" not in out


def test_report(call: Any, run_1: int, data: Path, tmp_path: Path) -> None:
    """Both files are written where it says, in the data folder or in the one named."""
    usual = call("report", str(run_1)).out.splitlines()
    assert usual == [str(data / "reports" / f"run-1.{kind}") for kind in ("html", "png", "pdf")]
    assert all(Path(path).stat().st_size > 1000 for path in usual)
    other = call("report", str(run_1), "--out", str(tmp_path / "there"), "--json").value
    assert other == {
        "run": 1,
        "html": str(tmp_path / "there" / "run-1.html"),
        "png": str(tmp_path / "there" / "run-1.png"),
        "pdf": str(tmp_path / "there" / "run-1.pdf"),
    }
    assert json.dumps(other)
    assert Path(other["html"]).exists()
