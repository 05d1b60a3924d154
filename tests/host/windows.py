"""A record with graded batches at chosen points, for looking and for tests. Invented."""

from collections.abc import Sequence

from snapgloss.base.records import Identity
from snapgloss.chocolate.types import DARK
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.grading import grade
from snapgloss.schedules.files import to_text
from snapgloss.schedules.maker import make
from snapgloss.schedules.moving import moved
from snapgloss.store import NewRun
from snapgloss.store.store import Store

CHOCOLATE = "Copper Fern 68"


def keep_graded(
    store: Store,
    batches: Sequence[tuple[int, int, str]],
    method: str = "cooled",
    **changes: object,
) -> list[int]:
    """Keep a finished run for each low (or seeding) point and working temperature, milli-degC,
    and grade it; an empty verdict leaves it ungraded. `changes` are fields of NewRun."""
    usual = make(DARK, BENCH_RIG, 2000, method, chocolate_name=CHOCOLATE)
    hello = ("0.1.0", 1, 0, "", "off", 55000, 100, 0, 0, 0, 0, False)
    runs = []
    for low_mc, work_mc, verdict in batches:
        schedule = moved(usual, low_mc, work_mc)
        new = NewRun(
            to_text(schedule), "0badf00d", CHOCOLATE, "dark", method, 2000, schedule.window.low_mc,
            schedule.window.high_mc, work_mc, "bench rig", False, None, "Quillby & Maar",
        )._replace(**changes)  # fmt: skip
        run = store.begin_run(new, store.boot_id(Identity("pico-1", 7, *hello)), 0)
        store.end_run(run, 1_000_000, "finished", "Finished.")
        if verdict:
            grade(store, run, verdict)
        runs.append(run)
    return runs
