"""An hour at the bowl, written by the store as the program does; and what must be there of it.

    python tests/faults/powercuts_hour.py FOLDER SECONDS SYNCHRONOUS

A reading a second through the recorder, each flushed as a live batch does; events, notes,
grades and counts between them; two runs on two starts of the rig with the record closed in
between; at the end the runs are packed and the room is given back. After each act the store said
is kept, a line goes into the file of acknowledgements. Nothing waits: the clock is the plan's.
"""

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from snapgloss.base.records import Event, Identity, Reading
from snapgloss.runs.recorder import Recorder
from snapgloss.store import NewRun, engine, open_store
from snapgloss.store.packing import unpack
from snapgloss.store.store import Store

DATA, ACKS = "data", "acks"
FIRST_UTC_MS = 1_790_000_000_000
NEW = NewRun(
    "format = 1\n", "0badf00d", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
    "bench rig", False, None, "Quillby & Maar",
)  # fmt: skip
Found = dict[tuple[str, int], list[object]]
"""By kind and run, counted from 1: what the record has, in order."""


class Act(NamedTuple):
    """One call of the store, and what it adds to the record: kind, run, value."""

    what: str
    run: int
    adds: tuple[tuple[str, object], ...]


def reading(seq: int) -> Reading:
    """A second in work."""
    product_mc = None if seq % 211 == 7 else 31_500 + seq % 17 * 10
    return Reading(
        seq, seq * 1000, "working", 5, 31_500, product_mc, 32_000, 21_000, seq % 80, 0, 500, 128
    )


def plan(seconds: int) -> Iterator[Act]:
    """All acts, in order."""
    for run in (1, 2):
        yield Act("open", run, ())
        yield Act("boot", run, ())
        yield Act("begin", run, (("run", run),))
        for seq in range(seconds // 2):
            adds: list[tuple[str, object]] = [("readings", reading(seq))]
            if seq % 20 == 3:
                adds.append(("events", Event(seq // 20, seq * 1000, "added", 1, seq)))
            yield Act("told", run, tuple(adds))
            if seq % 97 == 50:
                yield Act("note", run, (("notes", f"Note at {seq}. " + "Calm. " * (seq % 50)),))
            if seq % 150 == 75:
                yield Act("grade", run, (("grades", (("sell", "seconds")[seq % 2], f"{seq}")),))
            if seq % 400 == 399:
                yield Act("count", run, (("counts", seq),))
        yield Act("end", run, ())
        yield Act("figures", run, ())
        yield Act("close", run, ())
    yield Act("open", 2, ())
    yield Act("pack", 1, ())
    yield Act("pack", 2, ())
    yield Act("room", 2, ())
    yield Act("note", 1, (("notes", "Packed."),))
    yield Act("close", 2, ())


class Hour:
    """Does the acts on a store of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / DATA
        self._store: Store | None = None
        self._recorder: Recorder | None = None
        self._boot_id = self._now_s = 0
        self._runs: dict[int, int] = {}

    @property
    def store(self) -> Store:
        """The record that is open."""
        assert self._store is not None
        return self._store

    def do(self, act: Act) -> None:
        """Do one; when this returns, the store has said that it is kept."""
        done: Callable[[Act], None] = getattr(self, f"_{act.what}")
        done(act)

    def _open(self, _act: Act) -> None:
        self._store = open_store(self._folder, lambda: FIRST_UTC_MS + self._now_s * 1000)

    def _boot(self, act: Act) -> None:
        identity = Identity(
            "bench", act.run, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, False
        )
        self._boot_id = self.store.boot_id(identity)
        self._recorder = Recorder(self.store, self._boot_id, 0.0)

    def _begin(self, act: Act) -> None:
        self._runs[act.run] = self.store.begin_run(NEW, self._boot_id, 0)

    def _told(self, act: Act) -> None:
        assert self._recorder is not None
        self._recorder.add_all(value for _, value in act.adds)
        self._now_s += 1
        self._recorder.flush(self._now_s)

    def _note(self, act: Act) -> None:
        self.store.add_note(self._runs[act.run], act.adds[0][1])

    def _grade(self, act: Act) -> None:
        verdict, words = act.adds[0][1]
        self.store.add_grade(self._runs[act.run], verdict, [], None, words)

    def _count(self, act: Act) -> None:
        self.store.add_count(self._runs[act.run], {"made": act.adds[0][1]})

    def _end(self, act: Act) -> None:
        self.store.end_run(self._runs[act.run], 10**7, "finished", "Finished.")

    def _figures(self, act: Act) -> None:
        self.store.save_figures(self._runs[act.run], {"lowest_c": 31.1, "overshoot_c": None})

    def _pack(self, act: Act) -> None:
        self.store.pack_run(self._runs[act.run])

    def _room(self, _act: Act) -> None:
        self.store.give_back_room()

    def _close(self, _act: Act) -> None:
        self.store.close()


KINDS = {
    "run": "SELECT id, id FROM runs ORDER BY id",
    "events": "SELECT boot_id, seq, at_ms, kind, a, b FROM events ORDER BY boot_id, seq",
    "notes": "SELECT run_id, words FROM notes ORDER BY id",
    "grades": "SELECT run_id, verdict, words FROM grades ORDER BY id",
    "counts": "SELECT run_id, made FROM counts ORDER BY id",
}
READINGS = f"SELECT boot_id, {', '.join(Reading._fields)} FROM readings ORDER BY boot_id, seq"


def found(raw: sqlite3.Connection) -> Found:
    """What a record has, read by the driver alone; of two starts and two runs, numbered alike."""
    what: Found = {}
    for boot, *values in raw.execute(READINGS):
        what.setdefault(("readings", boot), []).append(Reading._make(values))
    for boot, block in raw.execute("SELECT boot_id, content FROM packed ORDER BY boot_id"):
        what.setdefault(("readings", boot), []).extend(unpack(block))
    for kind, query in KINDS.items():
        for run, *values in raw.execute(query):
            plain = values[0] if len(values) == 1 else tuple(values)
            what.setdefault((kind, run), []).append(plain)
    return what


def main(folder: str, seconds: str, synchronous: str) -> None:
    """Do all acts; after each that returned, say so."""
    engine._PRAGMAS = (*engine._PRAGMAS, f"PRAGMA synchronous = {synchronous}")
    hour = Hour(Path(folder))
    acks = os.open(Path(folder) / ACKS, os.O_WRONLY | os.O_CREAT)
    for act in plan(int(seconds)):
        hour.do(act)
        os.write(acks, f"{act.what}\n".encode())


if __name__ == "__main__":
    main(*sys.argv[1:])
