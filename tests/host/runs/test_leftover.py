"""What a host left open for another schedule is completed and closed before a new start."""

from dataclasses import replace

import pytest
from tests.host.runs.test_batch import (
    NO,
    Watcher,
    finish,
    left_in_melting,
    move,
    read,
    reset,
    work,
)

from rigwire.schedule import Schedule
from snapgloss.base.errors import RigError
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs.batch import run_batch
from snapgloss.runs.connect import introduce
from snapgloss.runs.plan import BatchPlan
from snapgloss.store.store import Store


@pytest.fixture
def left(plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store) -> None:
    """A host that left its batch in the melt."""
    left_in_melting(plan, rig, link, store, Watcher())


@pytest.fixture
def other(plan: BatchPlan) -> BatchPlan:
    """Another schedule: the same steps for another mass."""
    first = plan.schedule
    smaller = Schedule("Chalk white", first.method, "solid", 1500, 55_000, first.steps)
    return replace(plan, schedule=smaller)


def _start_other(rig: ScriptedRig, store: Store, other: BatchPlan, watch: Watcher) -> int | None:
    link = introduce(rig, ScriptedClock(rig))
    rig.then["ask_start"] = lambda: finish(rig)
    result = run_batch(other, link, store, watch)
    link.close()
    return result.run_id


def test_a_run_that_ended_unseen_is_completed_before_another_schedule_starts(
    left: None, rig: ScriptedRig, store: Store, plan: BatchPlan, other: BatchPlan
) -> None:
    """The host left in the melt; the rig ran to its end. Nothing of that is lost or left open."""
    work(rig)
    move(rig, 160_500, "working", "finished")
    rig.settled_anew()
    before = len(store.readings(1))
    new = Watcher()
    assert _start_other(rig, store, other, new) == 2
    run = store.run(1)
    assert (run.outcome, run.words) == ("finished", "Stayed 2 of 2 minutes in the window.")
    assert len(store.readings(1)) > before + 100
    assert store.gaps(1) == []
    said = "Run 1, which was left, has ended: it ran to its end. Its record is complete now."
    assert said in [words for _, words in new.lines]


def test_what_the_rig_has_overwritten_is_a_stated_gap(
    left: None, rig: ScriptedRig, store: Store, plan: BatchPlan, other: BatchPlan
) -> None:
    """A journal that has gone round: the gap is written, and the run closed without an end."""
    held = len(rig.readings)
    for second in range(30, 60):
        read(rig, 1000 * second, "working", 3, 31_500)
    move(rig, 61_000, "working", "finished")
    read(rig, 62_000, "finished", 0, 31_500)
    rig.lost_below = [held + 20, len(rig.events)]
    rig.settled_anew()
    new = Watcher()
    assert _start_other(rig, store, other, new) == 2
    assert store.run(1).outcome == "unfinished"
    assert store.run(1).words == "Its end was not recorded: the rig had overwritten it."
    gaps = [(gap.from_seq, gap.to_seq) for gap in store.gaps(1) if gap.stream == "readings"]
    assert gaps == [(held, held + 19)]


def test_an_offer_to_carry_on_is_not_taken_away_by_another_schedule(
    left: None, rig: ScriptedRig, store: Store, plan: BatchPlan, other: BatchPlan
) -> None:
    """After a power cut the rig waits for a press: a wrong file must not cost the batch."""
    reset(rig)
    rig.push_event(3_000, "offer", 1, 21_000)
    rig.settled_anew()
    rig.state_no, rig.digest = NO["ready"], plan.digest
    again = introduce(rig, ScriptedClock(rig))
    with pytest.raises(RigError, match="offers to carry on with another batch"):
        run_batch(other, again, store, Watcher())
    again.close()
    assert "off" not in {m.name for m in rig.done}
    assert store.run(1).outcome == "unfinished"
