"""A call of the command line inside this process, and a record with one small run."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from rigwire.tables import PROMPTS
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.cli import main
from snapgloss.schedules.demo import demo, demo_text
from snapgloss.store import NewRun, open_store


class Answer(NamedTuple):
    """What one call ended with."""

    code: int
    out: str
    err: str

    @property
    def value(self) -> Any:
        """The one JSON value on stdout."""
        return json.loads(self.out)


Call = Callable[..., Answer]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder of the test's own."""
    return tmp_path / "data"


@pytest.fixture
def call(data: Path, capsys: pytest.CaptureFixture[str]) -> Call:
    """Call the command line with the test's own data folder."""

    def call(*arguments: str) -> Answer:
        capsys.readouterr()
        code = main.run(["--data", str(data), *arguments])
        out, err = capsys.readouterr()
        return Answer(code, out, err)

    return call


@pytest.fixture
def run_1(data: Path) -> int:
    """A finished run of 10 minutes of work in the window, with a seed and a note."""
    schedule = demo()
    identity = Identity("b1", 5, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, True)
    new = NewRun(
        demo_text(), "0123abcd", schedule.chocolate, schedule.type, schedule.method, 2000,
        31_000, 32_000, 31_500, "bench rig", True, 1, "Quillby & Maar",
    )  # fmt: skip
    readings = [
        Reading(s, 60_000 + s * 1000, "working", 6, 31_500, 31_400, 32_000, 21_000, 0, 0, 0, 128)
        for s in range(601)
        if s not in (300, 301, 302)
    ]
    with open_store(data) as store:
        boot_id = store.boot_id(identity)
        run_id = store.begin_run(new, boot_id, 60_000)
        store.add_readings(boot_id, readings)
        prompt = Event(0, 90_000, "prompt", PROMPTS.index("seed_in"), 120)
        store.add_events(boot_id, [prompt, Event(1, 660_000, "done", 0, 0)])
        store.end_run(run_id, 660_000, "finished", "Stayed 10 of 10 minutes in the window.")
        store.save_figures(run_id, {"minutes_working": 10.0, "working_lowest_c": 31.4})
        store.add_gap(boot_id, "readings", 300, 302, "overwritten")
        store.add_note(run_id, "A calm batch.")
    return run_id
