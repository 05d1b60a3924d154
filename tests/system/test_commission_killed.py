"""`snapgloss commission` killed before the press: the rig lets go of its window by itself."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from rigwire.states import STATES
from snapgloss.base.records import Event
from snapgloss.rigs.description import BENCH_RIG, write
from snapgloss.runs.connect import connect
from snapgloss.store import sheets
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
WITHIN_S = 30.0


def begun(folder: Path, port: str) -> subprocess.Popen[str]:
    """The command at the step `host_silent`, its rig asked for a start."""
    write(folder / "rig.toml", BENCH_RIG)
    process = subprocess.Popen(
        [sys.executable, "-c", SAY, "--data", str(folder / "data"), "commission", "--port", port,
         "--rig", str(folder / "rig.toml"), "--name", "Maar", "--only", "host_silent"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdin is not None and process.stderr is not None
    process.stdin.write("\n")  # made ready
    process.stdin.flush()
    for line in process.stderr:
        if line.startswith("Press start on the rig"):
            return process
    pytest.fail("the rig was never asked")


def states_told(port: str) -> list[str]:
    """Every change of state in the rig's journal, once it is off again."""
    deadline_s = time.monotonic() + WITHIN_S
    while True:
        link = connect(port)
        there = link.identity
        assert there is not None
        link.follow_from(0, 0)
        records = link.catch_up(there.newest_reading, there.newest_event)
        link.close()
        told = [STATES[one.a] for one in records if isinstance(one, Event) and one.kind == "state"]
        if there.state == "off" and "ready" in told:
            return told
        assert time.monotonic() < deadline_s, told
        time.sleep(0.2)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGKILL])
def test_a_window_is_let_go_before_anybody_presses(tmp_path: Path, number: signal.Signals) -> None:
    """Ctrl-C: off at once. Killed: off 5 s after the last lease, where a window lasts 180 s and
    the simulated person presses after 20; nothing is driven, nothing is written down."""
    with VirtualRigProcess(SpawnOptions(PlantSetup(), speed="2")) as rig:
        process = begun(tmp_path, rig.port)
        process.send_signal(number)
        process.communicate(timeout=WITHIN_S)
        told = states_told(rig.port)
    assert told[told.index("ready") :] == ["ready", "off"]
    assert sheets.read(tmp_path / "data" / "commissioning" / "bench_20rig.txt") == []
