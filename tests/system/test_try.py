"""The whole of it: the command line, the virtual rig as a process, the record and the report."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from snapgloss.schedules import files
from snapgloss.schedules.demo import demo
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"


class Programs:
    """Starts the program, and leaves none running when the test ends."""

    def __init__(self) -> None:
        self.started: list[subprocess.Popen[str]] = []

    def __call__(self, data: Path, *arguments: str) -> subprocess.Popen[str]:
        """Start the program with its own data folder."""
        process = subprocess.Popen(
            [sys.executable, "-c", SAY, "--data", str(data), *arguments],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )  # fmt: skip
        self.started.append(process)
        return process

    def end(self) -> None:
        """End what still runs."""
        for process in self.started:
            if process.poll() is None:
                process.kill()
            process.communicate()


@pytest.fixture
def start() -> Iterator[Programs]:
    """A way to start the program."""
    programs = Programs()
    yield programs
    programs.end()


def finish(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    """Wait for the program; return exit code, stdout and stderr."""
    out, err = process.communicate(timeout=60)
    return process.returncode, out, err


def read_until(process: subprocess.Popen[str], words: str) -> None:
    """Read stderr up to a line with these words."""
    assert process.stderr is not None
    for line in process.stderr:
        if words in line:
            return
    pytest.fail(f"never said: {words}")


def test_try_tempers_a_batch_and_says_so(start: Programs, tmp_path: Path) -> None:
    """Melted, rested, cooled, seeded, worked in the window: in words, figures, record, report.

    Twice the same seed: the same figures, however fast this computer was each time.
    """
    seed = ("--seed", "5")
    runs = [start(data, "try", "--json", *seed) for data in (tmp_path, tmp_path / "again")]
    (code, out, err), (_, again, _) = (finish(run) for run in runs)
    assert code == 0, err
    result = json.loads(out)
    assert json.loads(again)["figures"] == result["figures"]
    assert (result["outcome"], result["simulated"], result["run"]) == ("finished", True, 1)
    figures = result["figures"]
    assert figures["minutes_in_window"] == pytest.approx(45.0, abs=1.0)
    assert figures["overshoot_c"] <= 0.5
    assert figures["seed_g"] == 120
    assert result["words"].startswith("Stayed 4")
    assert "(simulated)" in err
    for words in ("Press start on the rig", "Seed in now: 120 g.", "Dip a knife.", "All off."):
        assert words in err
    html = Path(result["html"]).read_text(encoding="utf-8")
    assert "Lantern 72" in html
    assert "simulated" in html.lower()
    assert Path(result["png"]).read_bytes()[:4] == b"\x89PNG"
    (run,) = json.loads(finish(start(tmp_path, "runs", "--json"))[1])
    assert (run["run"], run["outcome"], run["words"]) == (1, "finished", result["words"])
    shown = json.loads(finish(start(tmp_path, "show", "1", "--json"))[1])
    assert shown["gaps"] == []
    assert [event for event in shown["events"] if "hands" in json.dumps(event)] == []


def children_of(pid: int) -> list[int]:
    """The processes below one, all generations, as the system lists them now."""
    listed = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False)
    direct = [int(line) for line in listed.stdout.split()]
    return direct + [below for child in direct for below in children_of(child)]


def is_alive(pid: int) -> bool:
    """True while a process of this number runs and is not only waited for."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


def test_ctrl_c_ends_the_simulated_rig_too(start: Programs, tmp_path: Path) -> None:
    """Ctrl-C in `try` ends with 130, one sentence, and no process left behind."""
    process = start(tmp_path, "try", "--speed", "20")
    read_until(process, "Step 1 of 6")
    helpers = children_of(process.pid)
    assert helpers  # the rig, at least, is a process of its own
    process.send_signal(signal.SIGINT)
    code, out, err = finish(process)
    assert code == 130
    assert out.startswith("You left; the simulated rig ended with this program.")
    assert "Traceback" not in err
    (run,) = json.loads(finish(start(tmp_path, "runs", "--json"))[1])
    assert (run["outcome"], run["words"]) == ("unfinished", out.split(". This")[0] + ".")
    assert [pid for pid in helpers if is_alive(pid)] == []


@pytest.fixture
def short(tmp_path: Path) -> Path:
    """A schedule that only keeps: in temper at the start, warmed, worked for two minutes."""
    kept = {"method": "kept", "start": "in_temper", "name": "Lantern 72 kept"}
    work = demo().steps[-1].model_copy(update={"hold_s": 120})
    schedule = files.ScheduleFile(**{**demo().model_dump(), **kept, "steps": (work,)})
    path = tmp_path / "short.toml"
    files.write(path, schedule)
    return path


@pytest.fixture
def virtual() -> Iterator[VirtualRigProcess]:
    """Two kilograms still in temper, at 30 times real time."""
    setup = PlantSetup(solid=False, start_c=30.5, start_v=0.01)
    with VirtualRigProcess(SpawnOptions(setup, speed="30")) as rig:
        yield rig


def test_ctrl_c_leaves_the_batch_to_the_rig_and_run_joins_it(
    start: Programs, tmp_path: Path, short: Path, virtual: VirtualRigProcess
) -> None:
    """`run` interrupted: exit 130, the rig carries on; `run` again joins and ends the same run."""
    arguments = ("run", str(short), "--port", virtual.port, "--json")
    left = start(tmp_path / "data", *arguments)
    read_until(left, "Step 1 of 1")
    left.send_signal(signal.SIGINT)
    code, out, _ = finish(left)
    assert code == 130
    assert json.loads(out)["outcome"] == "left"
    code, out, err = finish(start(tmp_path / "data", *arguments))
    joined = json.loads(out)
    assert "Joined the batch that is under way." in err
    assert (code, joined["outcome"], joined["run"]) == (0, "finished", 1)
    assert joined["figures"]["longest_gap_s"] == 0.0
    assert joined["figures"]["minutes_total"] >= 2.0


def test_a_pulled_cable_is_an_outcome(
    start: Programs, tmp_path: Path, short: Path, virtual: VirtualRigProcess
) -> None:
    """A port that goes away in a batch: code 4, in words, and the run stays open."""
    arguments = ("--port", virtual.port, "--seek", "0 s", "--json")
    process = start(tmp_path / "data", "run", str(short), *arguments)
    read_until(process, "Step 1 of 1")
    virtual.close()
    code, out, err = finish(process)
    result = json.loads(out)
    assert (code, result["outcome"], result["run"]) == (4, "link_lost", 1)
    assert "the cable came out" in result["words"]
    assert "Traceback" not in err


def test_a_rig_that_stays_away_is_looked_for(
    start: Programs, tmp_path: Path, short: Path, virtual: VirtualRigProcess
) -> None:
    """With --seek the command looks for the rig that long, in words, and then gives up."""
    arguments = ("--port", virtual.port, "--seek", "2 s", "--json")
    process = start(tmp_path / "data", "run", str(short), *arguments)
    read_until(process, "Step 1 of 1")
    virtual.close()
    code, out, err = finish(process)
    assert (code, json.loads(out)["outcome"]) == (4, "link_lost")
    assert "Looking for it ..." in err
    assert "was not found again within 2 s" in json.loads(out)["words"]


def test_a_second_program_finds_the_port_busy(
    start: Programs, tmp_path: Path, short: Path, virtual: VirtualRigProcess
) -> None:
    """Two hosts cannot share a rig: the second one is told so, with code 4."""
    first = start(tmp_path / "data", "run", str(short), "--port", virtual.port)
    read_until(first, "Press start")
    code, _, err = finish(start(tmp_path / "data", "run", str(short), "--port", virtual.port))
    first.send_signal(signal.SIGINT)
    finish(first)
    assert code == 4
    holder = f"python (process {first.pid})" if sys.platform == "linux" else ""
    assert f"The port {virtual.port} is busy" in err
    assert holder in err


def test_a_stop_ends_with_its_reason(start: Programs, tmp_path: Path) -> None:
    """A probe out of the bowl stops the batch: code 3, the reason in words, a record of it."""
    with VirtualRigProcess(
        SpawnOptions(PlantSetup(), speed="max", faults=("probe_missing@600",))
    ) as rig:
        path = tmp_path / "demo.toml"
        files.write(path, demo())
        code, out, err = finish(start(tmp_path, "run", str(path), "--port", rig.port))
    assert code == 3, err
    assert out.startswith("Stopped: the chocolate probe gives no reading.")
    (run,) = json.loads(finish(start(tmp_path, "runs", "--json"))[1])
    assert run["outcome"] == "stopped"
