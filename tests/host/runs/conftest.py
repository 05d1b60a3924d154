"""A short seeded batch, a scripted rig and a record in memory of the test's own folder."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from rigwire.schedule import Schedule, Step
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs.connect import introduce
from snapgloss.runs.plan import BatchPlan
from snapgloss.store import open_store
from snapgloss.store.store import Store


@pytest.fixture
def plan() -> BatchPlan:
    """Three steps of Lantern 72: melt with a question, seed with a portion, work."""
    steps = [
        Step("melt", 48_000, 300, 3000, 60_000, prompt=1, wait_s=300),
        Step("seed", 33_500, 360, 500, 34_000, prompt=2, wait_s=600, grams=120),
        Step("work", 31_500, 2700, 500, 34_000, prompt=3),
    ]
    return BatchPlan(
        schedule=Schedule("Lantern 72", "seeded", "solid", 2000, 55_000, steps),
        schedule_toml="format = 1\n",
        chocolate="Lantern 72",
        type="dark",
        window_low_mc=31_000,
        window_high_mc=32_000,
        work_mc=31_500,
        rig="bench rig",
        workshop="Quillby & Maar",
        seed=7,
        forecast_s=(4200, 900, 2700),
    )


@pytest.fixture
def rig() -> ScriptedRig:
    """A rig of our own."""
    return ScriptedRig()


@pytest.fixture
def clock(rig: ScriptedRig) -> ScriptedClock:
    """The link's clock."""
    return ScriptedClock(rig)


@pytest.fixture
def link(rig: ScriptedRig, clock: ScriptedClock) -> Iterator[RigLink]:
    """A link that has said hello."""
    link = introduce(rig, clock)
    yield link
    link.close()


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty record."""
    with open_store(tmp_path) as store:
        yield store
