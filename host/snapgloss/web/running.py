"""The live session and all that is built on it, from start to end."""

import contextlib
from collections.abc import Callable, Iterator
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


@contextlib.contextmanager
def running(
    options: "ServeOptions", store: "Store", find_port: Callable[[], str], rules: Rules
) -> Iterator[ASGIApp]:
    """Start the session; give the app; let the rig go at the end."""
    with Heavy() as heavy:

        def report(result: RunResult) -> None:
            if result.run_id is not None and result.outcome in REPORTED:
                heavy.begin(write_report_of, options.folder, result.run_id)

        session = Session(store, options.folder, options.rig, find_port, report)
        audit = Audit(options.folder)
        sample = _sample(options) if options.virtual_speed is not None else None
        site = Site(session, store, options.folder, Desk(audit), Hub(session.feed), sample)
        app = build(site, rules, audit)
        session.start()
        try:
            yield app
        finally:
            session.stop()


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
