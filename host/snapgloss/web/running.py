"""The live session and all that is built on it, from start to end."""

import contextlib
import logging
from collections.abc import Callable, Iterator, Sequence
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.types import ASGIApp

from snapgloss.runs.ending import RunResult
from snapgloss.runs.known_rigs import keys_of
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import Staged, staged_of
from snapgloss.web.app import build
from snapgloss.web.desk import Desk
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.gate import Rules
from snapgloss.web.heavy import Heavy, write_report_of
from snapgloss.web.hub import Hub
from snapgloss.web.site import Site
from snapgloss.web.sites import Sites

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store.store import Store
    from snapgloss.web.serve import RigAt, ServeOptions

REPORTED = ("finished", "off", "stopped")
SAMPLE_MOULDS = 16
PLANS = 200  # worked out by one process
FAULTS_FILE, FAULTS_MOST_BYTES = "page-faults.log", 1_000_000


@contextlib.contextmanager
def running(
    options: "ServeOptions", store: "Store", rigs: "Sequence[RigAt]", rules: Rules
) -> Iterator[tuple[ASGIApp, Callable[[], None]]]:
    """Start the sessions; give the app and how its streams are ended; let the rigs go at the
    end."""
    keep_faults(options.folder)
    with Heavy() as heavy, Heavy(PLANS) as planner:

        def report(result: RunResult) -> None:
            if result.run_id is not None and result.outcome in REPORTED:
                heavy.begin(write_report_of, options.folder, result.run_id)

        audit, are_many = Audit(options.folder), len(rigs) > 1
        found = []
        for key, at in zip(keys_of([at.name for at in rigs]), rigs, strict=True):
            place = _place(options.folder, key) if are_many else None
            session = Session(
                store, options.folder, at.rig, at.find_port, report, board=at.board, place=place
            )
            sample = _sample(options, at.rig) if options.virtual_speed is not None else None
            desk = Desk(audit, rig=at.name if are_many else "")
            found.append(
                Site(session, store, options.folder, desk, Hub(session.feed), sample, heavy,
                     planner, key, at.name, are_many)
            )  # fmt: skip
        sites = Sites(found)
        app = build(sites, rules, audit)
        for site in found:
            site.session.start()
        try:
            yield app, sites.end
        finally:
            _stop([site.session for site in found])


def _place(folder: Path, key: str) -> Path:
    """The folder of what is kept of one rig of several."""
    place = folder / "rigs" / key
    place.mkdir(parents=True, exist_ok=True)
    return place


def _stop(sessions: "Sequence[Session]") -> None:
    """Let all rigs go at once: each may take a while."""
    for session in sessions:
        session.end()
    for session in sessions:
        session.stop()


def keep_faults(folder: Path) -> None:
    """Write what goes wrong inside into a file: a person at the terminal gets sentences."""
    kept = RotatingFileHandler(
        folder / FAULTS_FILE, maxBytes=FAULTS_MOST_BYTES, backupCount=1, delay=True
    )
    kept.setLevel(logging.WARNING)
    kept.setFormatter(logging.Formatter("%(asctime)s %(name)s %(message)s"))
    logging.getLogger().addHandler(kept)


def _sample(options: "ServeOptions", rig: "RigDescription") -> Callable[[], Staged]:
    """The batch of the simulated workshop."""

    def sample() -> Staged:
        from snapgloss.runs.demo import SEED, demo_schedule
        from snapgloss.schedules.demo import WORKSHOP

        schedule = demo_schedule(options.mass_g)
        return staged_of(schedule, rig, options.room_c, WORKSHOP, SEED, moulds=SAMPLE_MOULDS)

    return sample
