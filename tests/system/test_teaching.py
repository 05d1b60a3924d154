"""Run, fit, send, run again: what the host makes of a batch is what the next one begins with."""

import contextlib
import json
import subprocess
import sys
from binascii import b2a_base64
from math import log
from pathlib import Path

import pytest

from fw_fakes import FakeKeep, Plant, Rig, cooled_dark
from rigfw.memory import NAME
from rigfw.model import FAN, GAIN, LOSS, STATES
from rigwire.messages import MISSING_MC
from rigwire.schedule import digest
from rigwire.states import STATES as STATE_NAMES
from snapgloss.base.records import Reading
from snapgloss.chocolate.types import type_of
from snapgloss.link.decode import Record
from snapgloss.rigs.learn_log import log_of
from snapgloss.rigs.refine import record_of, refine
from snapgloss.runs import demo
from snapgloss.runs.connect import connect
from snapgloss.schedules import files
from snapgloss.schedules.demo import demo as demo_schedule
from snapgloss.virtual.spawn import VirtualRigProcess

SAY = "from snapgloss.cli.main import main; main()"


def called(data: Path, *command: str) -> "subprocess.CompletedProcess[str]":
    """One call of the program."""
    line = [sys.executable, "-c", SAY, "--data", str(data), *command]
    return subprocess.run(line, capture_output=True, text=True, timeout=200, check=False)


def events_of(port: str) -> list[Record]:
    """All that the rig's journal has."""
    with contextlib.closing(connect(port)) as link:
        there = link.identity
        assert there is not None
        link.follow_from(0, 0)
        return link.catch_up(there.newest_reading, there.newest_event)


def test_the_virtual_rig_is_told_after_its_batch_and_by_the_command(tmp_path: Path) -> None:
    """A batch with 5 minutes' work: told, logged as `loaded` 2; `teach 1` tells it again; the
    same batch is refused where the rig is described otherwise, and nothing more is logged."""
    whole, data = demo_schedule(), tmp_path / "data"
    steps = (*whole.steps[:-1], whole.steps[-1].model_copy(update={"hold_s": 300}))
    files.write(tmp_path / "short.toml", whole.model_copy(update={"steps": steps}))
    other = tmp_path / "other.toml"
    other.write_text('format = 1\nname = "other"\nheater_w = 90\nplate_j_per_k = 500.0\n'
                     "plate_w_per_k = 15.0\nloss_w_per_k = 1.4\nfan_loss_w_per_k = 4.0\n"
                     "probe_lag_s = 8.0\n")  # fmt: skip
    with VirtualRigProcess(demo.demo_rig(2000, 21.0, 1, "max")) as rig:
        done = called(data, "run", str(tmp_path / "short.toml"), "--port", rig.port, "--json")
        assert done.returncode == 0, done.stderr
        told = json.loads(done.stdout)["taught"]
        assert told.startswith("The rig has what batch 1 taught")
        again = called(data, "teach", "1", "--port", rig.port, "--json")
        assert again.returncode == 0, again.stderr
        assert json.loads(again.stdout)["rms_c"] < 0.06
        wrong = called(data, "teach", "1", "--port", rig.port, "--rig", str(other))
        assert wrong.returncode == 3 and "described otherwise" in wrong.stderr
        loaded = [(one.a, one.b) for one in events_of(rig.port)
                  if getattr(one, "kind", "") == "loaded"]  # fmt: skip
    assert loaded[1:] == [(2, 368), (2, 368)] and loaded[0][0] in (0, 1)


def reading_of(rig: Rig) -> Reading:
    """The journal's newest row, as the host has it."""
    ring = rig.app.journal.readings
    row = ring.row(ring.newest())
    mc = [None if value == MISSING_MC else value for value in row[3:7]]
    return Reading(ring.newest(), row[0], STATE_NAMES[row[1]], row[2], *mc, *row[7:11])


def told(rig: Rig, record: bytes) -> str:
    """The name of the answer to the whole of it."""
    text = b2a_base64(record, newline=False).decode()
    name = digest(text.encode())
    assert rig.ask("load_open", len(text), name).name == "ok"
    for at in range(0, len(text), 80):
        assert rig.ask("load_part", at, text[at : at + 80]).name == "ok"
    return rig.ask("load_learned", name).name


def test_a_batch_is_fitted_and_the_next_begins_with_the_fit() -> None:
    """2 kg melted and cooled; losses a half over the described: the host finds them, the rig has
    the host's figures for its own, begins with them, and has them after a reset."""
    keep = FakeKeep()
    plant = Plant(start_c=36.0, loss_w_per_k=1.5)
    rig = Rig(schedule=cooled_dark(), plant=plant, keep=keep)
    rig.start()
    readings = []
    while rig.state() != "cooling" or plant.product_c > 30.0:
        rig.run(1)
        readings.append(reading_of(rig))
        assert len(readings) < 7200, rig.state()
    rig.app.off()
    rig.run(2)
    own = list(rig.app.regulator.learned())
    fit = refine(log_of(readings, 2000, type_of("dark"), None), rig.app.config)
    assert fit.figures[LOSS - STATES] == pytest.approx(log(1.5), abs=0.1)
    assert told(rig, record_of(rig.app.config, fit.figures)) == "ok"
    assert list(rig.app.regulator.learned()) == list(fit.figures) != own
    plant.product_c = plant.plate_c = plant.probe_c = 36.0
    rig.start()
    rig.run(1)
    begun = rig.app.regulator.learned()
    for at in (GAIN, LOSS, FAN):
        assert begun[at - STATES] == pytest.approx(fit.figures[at - STATES], abs=0.03)
    assert list(Rig(keep=keep).app.regulator.learned()) == list(fit.figures)
    assert NAME in keep.files and not rig.faults
