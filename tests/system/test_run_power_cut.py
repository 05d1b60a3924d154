"""`run` through a power cut of a simulated rig: one record with a gap in it."""

import json
import os
import subprocess
import sys
from pathlib import Path

from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.store import open_store
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
IN_TEMPER = PlantSetup(solid=False, start_c=30.5, start_v=0.01)


def kept(folder: Path) -> Path:
    """A schedule of 5 minutes' work with chocolate that is still in temper."""
    path = folder / "kept.toml"
    work = demo().steps[-1].model_copy(update={"hold_s": 300})
    changed = {"method": "kept", "start": "in_temper", "steps": (work,), "name": "Lantern kept"}
    files.write(path, files.ScheduleFile(**{**demo().model_dump(), **changed}))
    return path


def run(rig: VirtualRigProcess, data: Path, schedule: Path) -> "subprocess.CompletedProcess[str]":
    """Run the command to its end."""
    command = ["--data", str(data), "run", str(schedule), "--port", rig.port, "--json"]
    return subprocess.run(
        [sys.executable, "-c", SAY, *command], capture_output=True, text=True, timeout=110,
        check=False, env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip


def test_a_cut_that_nobody_can_carry_on_from_ends_with_3(tmp_path: Path) -> None:
    """2.5 h without power: the rig offers nothing, the run is `off`, the exit code 3."""
    options = SpawnOptions(IN_TEMPER, faults=["power_cut@100-9000"])
    with VirtualRigProcess(options) as rig:
        done = run(rig, tmp_path / "data", kept(tmp_path))
    result = json.loads(done.stdout)
    assert (done.returncode, result["outcome"]) == (3, "off"), done.stderr
    assert "did not offer to carry on" in result["words"]


def test_a_short_cut_is_one_record_with_a_gap(tmp_path: Path) -> None:
    """60 s without power at second 100, a press on the offer: the same run goes on in a second
    part and finishes, and nothing false is said."""
    options = SpawnOptions(IN_TEMPER, speed="60", faults=["power_cut@100-160"])
    data = tmp_path / "data"
    with VirtualRigProcess(options) as rig:
        done = run(rig, data, kept(tmp_path))
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert (result["run"], result["outcome"]) == (1, "finished"), done.stderr
    assert "The rig offers to carry on with step 1" in done.stderr
    assert "Carried on with step 1" in done.stderr
    assert "nobody pressed" not in done.stderr + result["words"]
    with open_store(data) as store:
        assert len(store.runs()) == 1
        first, second = store.parts(1)
        assert second.boot_id != first.boot_id
        carried = [e.kind for e in store.events(1) if e.kind in ("offer", "carried_on")]
        assert carried == ["offer", "carried_on"]
        whole = store.readings(1)
    of_boots = [r.seq for r in whole]
    begun = of_boots.index(0)
    assert of_boots[begun:] == list(range(len(whole) - begun)), "a reading is lost or doubled"
    assert sum(r.state == "working" for r in whole) >= 290
