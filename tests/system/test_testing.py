"""`snapgloss test` on the virtual rig: driven, recorded, and off when it ends."""

import json
import os
import signal
import subprocess
import sys

import pytest

from snapgloss.rigs.description import BENCH_RIG
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"


def start(*arguments: str) -> subprocess.Popen[str]:
    """Start the command."""
    return subprocess.Popen(
        [sys.executable, "-c", SAY, "test", *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip


def test_a_step_of_heat_warms_the_plate() -> None:
    """60 s of full heat, stirred: exit 0, a reading a second, the plate warmer by what 100 W do to
    its 500 J/K less what the bowl takes (at least 5 degC, at most 12)."""
    arguments = ("--virtual", "--heat", "100%", "--stir", "20%", "--for", "60 s", "--json")
    out, err = start(*arguments).communicate(timeout=60)
    result = json.loads(out)
    assert (result["outcome"], result["simulated"]) == ("done", True), err
    readings = result["readings"]
    assert 58 <= len(readings) <= 61
    assert {r["heat_permille"] for r in readings[2:-1]} == {1000}
    assert 5_000 <= readings[-1]["plate_mc"] - readings[0]["plate_mc"] <= 12_000


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGKILL])
def test_all_is_off_however_the_command_ends(number: signal.Signals) -> None:
    """Ctrl-C at once, SIGKILL after the last lease: the rig is off, and takes a new test."""
    with VirtualRigProcess(SpawnOptions(PlantSetup(), speed="5")) as rig:
        process = start("--port", rig.port, "--heat", "100%", "--for", "10 min")
        assert process.stdout is not None
        for _ in range(5):
            assert "heat 100 %" in process.stdout.readline()
        process.send_signal(number)
        process.communicate(timeout=20)
        assert process.returncode == (130 if number == signal.SIGINT else -signal.SIGKILL)
        out = again_when_off(rig.port)
    assert json.loads(out)["outcome"] == "done"
    assert {r["heat_permille"] for r in json.loads(out)["readings"]} == {0}


def again_when_off(port: str) -> str:
    """Ask for another test until the rig's last lease has run out; 5 s of a rig at 5 times that
    speed, and 2 s in which it waits for its dead reader. What the test printed."""
    for _ in range(10):
        process = start("--port", port, "--fan", "50%", "--for", "5 s", "--json")
        out, err = process.communicate(timeout=20)
        if process.returncode == 0:
            return out
        assert "the rig is busy" in err, (out, err)
    pytest.fail("the rig never turned off")


def test_more_than_the_rig_allows_is_a_sentence() -> None:
    """A plate hotter than this rig allows: the rig's own words, exit code 3."""
    cool_plate = BENCH_RIG.model_copy(update={"plate_ceiling_c": 65.0}).to_config_text()
    with VirtualRigProcess(SpawnOptions(PlantSetup(), "20", cool_plate)) as rig:
        process = start("--port", rig.port, "--heat", "10%", "--plate", "70 C")
        out, err = process.communicate(timeout=20)
    assert (process.returncode, out) == (3, "")
    assert "the plate may not get that hot on this rig" in err
