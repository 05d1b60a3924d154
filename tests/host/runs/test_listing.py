"""What is said of a run that has no end in the record."""

from pathlib import Path

import pytest

from snapgloss.base.records import Identity, Reading
from snapgloss.runs.listing import OPEN, UNDER_WAY, list_runs, show_run
from snapgloss.runs.plan import BatchPlan
from snapgloss.store import open_store

RIG = Identity("b1", 5, "0.1.0", 1, 0, "", "melting", 60_000, 100, 0, 0, 0, 0, False)


@pytest.mark.parametrize(
    ("later_ms", "simulated", "words"),
    [(59_000, False, UNDER_WAY), (61_000, False, OPEN), (59_000, True, OPEN)],
)
def test_a_run_without_an_end(
    plan: BatchPlan, tmp_path: Path, later_ms: int, simulated: bool, words: str
) -> None:
    """A newest reading younger than a minute is a batch under way; an older one may be either,
    and so may one of a simulated rig, whose time is not the host's. The run began 100 s into the
    rig's time; its last reading is 10 s younger."""
    now_ms = [1_790_000_000_000]
    with open_store(tmp_path, lambda: now_ms[0]) as store:
        boot_id = store.boot_id(RIG)
        run_id = store.begin_run(plan.new_run(simulated), boot_id, 100_000)
        last = Reading(9, 110_000, "melting", 1, None, 30_000, None, None, 0, 0, 0, 0)
        store.add_readings(boot_id, [last])
        now_ms[0] += 10_000 + later_ms
        assert [run.words for run in list_runs(store)] == [words]
        assert show_run(store, run_id).summary.words == words


def test_a_run_that_has_no_reading_yet(plan: BatchPlan, tmp_path: Path) -> None:
    """Nothing is known of it: either may be true."""
    with open_store(tmp_path) as store:
        store.begin_run(plan.new_run(False), store.boot_id(RIG), 0)
        assert [run.words for run in list_runs(store)] == [OPEN]
