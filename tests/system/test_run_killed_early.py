"""A host killed while the rig waits for the press: the same command again takes over."""

import os
import subprocess
import sys
from pathlib import Path

from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
IN_TEMPER = PlantSetup(solid=False, start_c=30.5, start_v=0.01)


def test_the_same_command_joins_the_window_of_a_killed_host(tmp_path: Path) -> None:
    """Killed at the first word that start may be pressed; again: no refusal, and one whole run."""
    path = tmp_path / "kept.toml"
    work = demo().steps[-1].model_copy(update={"hold_s": 60})
    changed = {"method": "kept", "start": "in_temper", "steps": (work,), "name": "Lantern kept"}
    files.write(path, files.ScheduleFile(**{**demo().model_dump(), **changed}))
    with VirtualRigProcess(SpawnOptions(IN_TEMPER, speed="4")) as rig:
        command = [sys.executable, "-c", SAY, "--data", str(tmp_path / "data"), "run", str(path)]
        command += ["--port", rig.port]
        environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
        first = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment)
        assert first.stderr is not None
        while "Press start on the rig" not in first.stderr.readline():
            assert first.poll() is None
        first.kill()
        first.communicate()
        again = subprocess.run(
            command, capture_output=True, text=True, timeout=100, check=False, env=environment
        )
    assert again.returncode == 0, again.stdout + again.stderr
    assert "says no" not in again.stderr
    assert "Working at 31.5 °C" in again.stderr
    # A slow computer may be late for the window, and then joins the batch that was pressed for.
    joined = ("The rig was waiting for this start already", "Joined the batch")
    assert any(words in again.stderr for words in joined), again.stderr
