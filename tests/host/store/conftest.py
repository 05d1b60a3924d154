"""A store in a folder of its own, and the smallest things to put into it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from snapgloss.base.records import Event, Identity, Reading
from snapgloss.store import NewRun, open_store
from snapgloss.store.store import Store

FIRST_UTC_MS = 1_790_000_000_000


class FakeClock:
    """UTC milliseconds that stand still until moved."""

    def __init__(self) -> None:
        self.utc_ms = FIRST_UTC_MS

    def __call__(self) -> int:
        return self.utc_ms


@pytest.fixture
def clock() -> FakeClock:
    """A clock moved by hand."""
    return FakeClock()


@pytest.fixture
def store(tmp_path: Path, clock: FakeClock) -> Iterator[Store]:
    """An empty store at head."""
    with open_store(tmp_path / "data", clock) as opened:
        yield opened


@pytest.fixture
def new_run() -> NewRun:
    """The description of a run, as a batch gives it."""
    return NewRun(
        schedule_toml="format = 1\n",
        digest="0badf00d",
        chocolate="Lantern 72",
        type="dark",
        method="seeded",
        mass_g=2000,
        window_low_mc=31000,
        window_high_mc=32000,
        work_mc=31500,
        rig="bench rig",
        simulated=True,
        seed=1,
        workshop="Quillby & Maar",
    )


@pytest.fixture
def identity():
    """Makes the identity of a board's start."""

    def make(boot_nonce: int = 7, board: str = "bench-1") -> Identity:
        return Identity(
            board, boot_nonce, "0.1.0", 1, 0, "", "off", 55000, 100, -1, -1, -1, -1, True
        )

    return make


@pytest.fixture
def reading():
    """Makes a reading of one second, `seq` seconds after the rig's start."""

    def make(seq: int, product_mc: int | None = 31500, at_ms: int | None = None) -> Reading:
        at_ms = seq * 1000 if at_ms is None else at_ms
        return Reading(seq, at_ms, "working", 5, 31500, product_mc, None, 21000, 120, 0, 500, 128)

    return make


@pytest.fixture
def event():
    """Makes an event of one second, `seq` seconds after the rig's start."""

    def make(seq: int, kind: str = "added", a: int = 1, b: int = 120) -> Event:
        return Event(seq, seq * 1000, kind, a, b)

    return make
