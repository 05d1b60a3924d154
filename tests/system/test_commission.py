"""Steps of commissioning on the virtual rig: the firmware's own answers, recorded and kept."""

import json
from pathlib import Path

import pytest

from rigfw.numbers import BY_STIRRER
from snapgloss.cli.main import run
from snapgloss.rigs.commissioning_steps import BEFORE, KEYS, STEPS
from snapgloss.rigs.description import BENCH_RIG, write

PERSON = [step.key for step in STEPS if step.how != "rig"]
STOPS = ["stop_in_test", "stop_when_off", "stop_in_window", "stop_in_batch"]
QUICK = [*STOPS, "host_silent", "node_sense", "hang", "cable_out", "probe_unplugged"]


def call(data: Path, *arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """One call with a data folder of its own."""
    code = run(["--data", str(data), "commission", "--virtual", *arguments])
    said = capsys.readouterr()
    return code, said.out, said.err


def only(keys: list[str]) -> list[str]:
    """Options for these steps."""
    return [word for key in keys for word in ("--only", key)]


def test_the_firmware_answers_each_fault_as_its_step_asks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Stop loop in each state, last lease, bridged switch, hang, cable, probe: all passed, each
    marked simulated."""
    code, out, err = call(tmp_path, "--name", "Maar", *only(QUICK), "--json", capsys=capsys)
    assert json.loads(out)["simulated"] == [key for key in KEYS if key in QUICK]
    found = {row["key"]: row for row in json.loads(out)["steps"]}
    assert {key: found[key]["state"] for key in QUICK} == dict.fromkeys(QUICK, "passed"), err
    values = {key: found[key]["entry"]["value"] for key in QUICK}
    assert values["stop_in_test"] <= 1.5 and values["stop_in_batch"] <= 1.5
    assert (values["stop_when_off"], values["stop_in_window"]) == (1, 7)
    assert 4.0 <= values["host_silent"] <= 6.5
    assert values["node_sense"] == 12
    assert values["probe_unplugged"] <= 5.0
    assert all(found[key]["entry"]["simulated"] for key in QUICK)
    assert all(found[key]["entry"]["words"].startswith("simulated: ") for key in QUICK)
    assert code == 3  # the other steps are open
    assert json.loads(out)["may_heat_fully"] is False


def test_a_person_lifts_the_probe_and_checks_the_bath(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a batch the lifted probe ends heat within 60 s, and a stirrer that stands pauses it; the
    bath is at the thermometer's."""
    keys = ["ice_point", "warm_bath", "probe_lifted", "stirrer_stalled"]
    _, out, err = call(tmp_path, "--name", "Maar", *only(keys), "--json", capsys=capsys)
    found = {row["key"]: row for row in json.loads(out)["steps"]}
    assert {key: found[key]["state"] for key in keys} == dict.fromkeys(keys, "passed"), err
    assert found["probe_lifted"]["entry"]["value"] <= 60
    assert found["stirrer_stalled"]["entry"]["value"] == BY_STIRRER
    for key in ("ice_point", "warm_bath"):
        assert found[key]["entry"]["words"].startswith("simulated, figure invented: ")


def test_nobody_is_asked_for_what_is_not_fitted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Described without sense and tachometer, the list has every step but theirs, and these
    cannot be asked for."""
    rig = tmp_path / "rig.toml"
    write(rig, BENCH_RIG.model_copy(update={"name": "plain rig"}))
    _, out, _ = call(tmp_path, "--rig", str(rig), "--list", "--json", capsys=capsys)
    assert [row["key"] for row in json.loads(out)["steps"]] == [
        key for key in KEYS if key not in ("node_sense", "stirrer_stalled")
    ]
    asked = ("--rig", str(rig), "--name", "Maar", "--only", "node_sense")
    code, _, err = call(tmp_path, *asked, capsys=capsys)
    assert code == 2
    assert "is described without" in err


def test_the_simulated_rig_is_the_one_described(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """75 W, as the guide's rig: the heat found is that which was given, within 5 %."""
    rig = tmp_path / "rig.toml"
    assert run(["size", "--describe", str(rig)]) == 0
    capsys.readouterr()
    asked = ("--rig", str(rig), "--name", "Maar", "--only", "heat_balance", "--json")
    _, out, err = call(tmp_path, *asked, capsys=capsys)
    found = {row["key"]: row for row in json.loads(out)["steps"]}["heat_balance"]
    assert found["entry"]["value"] == pytest.approx(1.0, abs=0.05), err


def test_what_is_done_stays_and_the_sheet_says_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A person's steps, then the list and the printed page: names, figures, simulated, open."""
    code, _, err = call(tmp_path, "--name", "Maar", *only(PERSON), capsys=capsys)
    assert code == 3
    assert [err.count(f"{group}. {words}") for group, words in BEFORE.items()] == [1, 1, 0, 1]
    _, out, _ = call(tmp_path, "--list", "--json", capsys=capsys)
    state = {row["key"]: row["state"] for row in json.loads(out)["steps"]}
    assert state == {key: "passed" if key in PERSON else "open" for key in KEYS}
    sheet = tmp_path / "sheet.html"
    call(tmp_path, "--sheet", str(sheet), capsys=capsys)
    page = sheet.read_text(encoding="utf-8")
    assert page.count("<td>Maar</td>") == len(PERSON)
    assert f"SIMULATED: {len(PERSON)} of these steps" in page
    assert "They prove nothing about a rig on a bench" in page
    assert page.count('"state">passed, simulated') == len(PERSON)
    assert page.count("<td>simulated, ") == len(PERSON)
    seen = [step.key for step in STEPS if step.how == "seen"]
    assert page.count("<td>simulated, nobody looked: ") == len(seen)
    assert page.count('"state">not done') == len(KEYS) - len(PERSON)
    code, _, err = call(tmp_path, "--proof", str(tmp_path / "proof.txt"), capsys=capsys)
    assert code == 2
    assert "steps are open" in err
    assert not (tmp_path / "proof.txt").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "needs a name to sign it"),
        (("--name", "Maar", "--only", "dance"), "No step is called"),
        (("--name", "Maar", "--port", "p"), "Which rig is on that port?"),
        (("--name", "Maar", "--port", "p", "--rig", "rig.toml"), "rig.toml"),
    ],
)
def test_bad_calls_change_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: str
) -> None:
    """No name, no such step, two rigs: refused before a rig is started."""
    code, _, err = call(tmp_path, *arguments, capsys=capsys)
    assert code == 2
    assert words in err
    assert not (tmp_path / "commissioning").exists()
