"""The live session and all that is built on it, from start to end."""

import contextlib
import logging
from collections.abc import Callable, Iterator
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.types import ASGIApp

from snapgloss.runs.ending import RunResult
from snapgloss.runs.live.session import Session
from snapgloss.runs.live.staged import Staged, staged_of
from snapgloss.web.app import build
from snapgloss.web.desk import Desk
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.gate import Rules
from snapgloss.web.heavy import Heavy, write_report_of
from snapgloss.web.hub import Hub
from snapgloss.web.site import Site

if TYPE_CHECKING:
    from snapgloss.store.store import Store
    from snapgloss.web.serve import ServeOptions

REPORTED = ("finished", "off", "stopped")
SAMPLE_MOULDS = 16
PLANS = 200  # worked out by one process
FAULTS_FILE, FAULTS_MOST_BYTES = "page-faults.log", 1_000_000


@contextlib.contextmanager
def running(
    options: "ServeOptions", store: "Store", find_port: Callable[[], str], rules: Rules
) -> Iterator[tuple[ASGIApp, Callable[[], None]]]:
    """Start the session; give the app and how its streams are ended; let the rig go at the end."""
    keep_faults(options.folder)
    with Heavy() as heavy, Heavy(PLANS) as planner:

        def report(result: RunResult) -> None:
            if result.run_id is not None and result.outcome in REPORTED:
                heavy.begin(write_report_of, options.folder, result.run_id)

        session = Session(store, options.folder, options.rig, find_port, report)
        audit = Audit(options.folder)
        sample = _sample(options) if options.virtual_speed is not None else None
        site = Site(
            session, store, options.folder, Desk(audit), Hub(session.feed), sample, heavy, planner
        )
        app = build(site, rules, audit)
        session.start()
        try:
            yield app, site.hub.end
        finally:
            session.stop()


def keep_faults(folder: Path) -> None:
    """Write what goes wrong inside into a file: a person at the terminal gets sentences."""
    kept = RotatingFileHandler(
        folder / FAULTS_FILE, maxBytes=FAULTS_MOST_BYTES, backupCount=1, delay=True
    )
    kept.setLevel(logging.WARNING)
    kept.setFormatter(logging.Formatter("%(asctime)s %(name)s %(message)s"))
    logging.getLogger().addHandler(kept)


def _sample(options: "ServeOptions") -> Callable[[], Staged]:
    """The batch of the simulated workshop."""

    def sample() -> Staged:
        from snapgloss.runs.demo import SEED, demo_schedule
        from snapgloss.schedules.demo import WORKSHOP

        schedule = demo_schedule(options.mass_g)
        return staged_of(
            schedule, options.rig, options.room_c, WORKSHOP, SEED, moulds=SAMPLE_MOULDS
        )

    return sample
