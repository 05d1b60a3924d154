"""`snapgloss size`: units, refusals, figures for people and for programs."""

import json

import pytest

from snapgloss.cli.main import run


def test_the_recommended_rig_in_words(capsys):
    """Heater, fuse and races are printed; with --why each figure has formula and source."""
    assert run(["size"]) == 0
    plain = capsys.readouterr().out
    assert "heater, taken" in plain and "75 W" in plain
    assert "Stop button pressed" in plain and " ".join(plain.split()).count("In time.") == 9
    assert max(len(line) for line in plain.splitlines()) <= 80
    assert run(["size", "--why"]) == 0
    assert "[IEC 60335-1 cord table; IEC 60228]" in capsys.readouterr().out


def test_json_has_every_figure_with_its_unit(capsys):
    """One JSON value with figures, races, cautions and no cut-out without a run."""
    assert run(["size", "--build", "large", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["heater_w"] == 180
    assert all(row["unit"] and row["formula"] and row["source"] for row in found["figures"])
    assert found["cut_out"] is None


def test_a_run_chooses_the_cut_out(capsys):
    """Three plate readings, the power and the hottest usual plate."""
    plates = ["--plate", "27 C", "--plate", "31 C", "--plate", "33.6 C"]
    assert run(["size", "--hottest", "54 C", "--run", "20 W", *plates]) == 0
    assert (
        "Cut-out: rated 65 °C (possible: 64 to 78); thermal link 84 °C." in capsys.readouterr().out
    )


def test_the_level_of_the_record_chooses_the_same(capsys):
    """38.4 degC, as the record has it, instead of three readings."""
    assert run(["size", "--hottest", "54 C", "--run", "20 W", "--levels", "38.43 C"]) == 0
    assert "Cut-out: rated 65 °C" in capsys.readouterr().out


def test_the_rig_is_described_in_a_file_once(tmp_path, capsys):
    """The file is one that `check` calls usable; one that is there is not written over."""
    file = tmp_path / "rig.toml"
    assert run(["size", "--describe", str(file)]) == 0
    assert run(["check", str(file)]) == 0
    assert "heater_w = 75" in file.read_text(encoding="utf-8")
    assert run(["size", "--describe", str(file)]) == 2
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--mass", "2"], "has no unit"),
        (["--mass", "-2 kg"], "out of range"),
        (["--mass", "0 kg"], "A mass of 0 kg cannot be sized."),
        (["--mass", "90 kg"], "A mass of 90 kg cannot be sized."),
        (["--room", "70"], "has no unit"),
        (["--room", "70 F", "--melt", "0 s"], "cannot be sized"),
        (["--melt", "75"], "has no unit"),
        (["--heater", "75"], "has no unit"),
        (["--heater", "2 kW"], "A heater of 2000 W cannot be sized."),
        (["--hottest", "54 C"], "The cut-out needs a whole run."),
        (["--levels", "38 C"], "The cut-out needs a whole run."),
        (["--levels", "38 C", "--plate", "27 C"], "The cut-out needs a whole run."),
        (["--mass", "1e3 kg"], "is not a mass"),
    ],
)
def test_bad_figures_end_with_a_sentence(arguments, words, capsys):
    """Exit code 2 and words; nothing is printed as a result."""
    assert run(["size", *arguments]) == 2
    said = capsys.readouterr()
    assert words in said.err
    assert said.out == ""
