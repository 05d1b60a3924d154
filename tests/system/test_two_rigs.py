"""Two simulated rigs at once from the command line: known by name, each with a run of its own."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from snapgloss.rigs.description import BENCH_RIG, write
from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.store import open_store
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"
NAMES = ("Oven side", "By the door")
WITHIN_S = 120


@pytest.fixture
def rigs() -> Iterator[list[VirtualRigProcess]]:
    """Two bowls in temper, of different masses."""
    with ExitStack() as parts:
        setups = [
            PlantSetup(mass_g=mass_g, solid=False, start_c=30.5, start_v=0.01, seed=seed)
            for seed, mass_g in ((1, 1000.0), (2, 1500.0))
        ]
        yield [
            parts.enter_context(VirtualRigProcess(SpawnOptions(one, speed="60"))) for one in setups
        ]


def say(data: Path, *arguments: str) -> subprocess.Popen[str]:
    """Begin a command as a person types it."""
    command = [sys.executable, "-c", SAY, "--data", str(data), *arguments]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_two_batches_at_once(tmp_path: Path, rigs: list[VirtualRigProcess]) -> None:
    """Both are added by name, both run at the same time into one record, and each run has its own
    rig's readings, every one, and the rig's name."""
    data = tmp_path / "data"
    work = demo().steps[-1].model_copy(update={"hold_s": 240})
    whole = {**demo().model_dump(), "method": "kept", "start": "in_temper", "steps": (work,)}
    schedule = tmp_path / "kept.toml"
    files.write(schedule, files.ScheduleFile(**whole))
    for name, rig in zip(NAMES, rigs, strict=True):
        described = tmp_path / f"{name}.toml"
        write(described, BENCH_RIG.model_copy(update={"name": name}))
        added = say(data, "rigs", "--add", str(described), "--port", rig.port)
        answer = added.communicate(timeout=WITHIN_S)
        assert added.returncode == 0, answer
    begun = [say(data, "run", str(schedule), "--on", name, "--json") for name in NAMES]
    told = [process.communicate(timeout=WITHIN_S) for process in begun]
    assert [process.returncode for process in begun] == [0, 0], told
    runs = [json.loads(out)["run"] for out, _ in told]
    with open_store(data) as store:
        assert [store.run(run).rig for run in runs] == list(NAMES)
        boots = [store.parts(run)[0].boot_id for run in runs]
        assert boots[0] != boots[1]
        for run in runs:
            readings = store.readings(run)
            numbers = [reading.seq for reading in readings]
            assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
            assert len(numbers) >= 240
            assert store.gaps(run) == []
