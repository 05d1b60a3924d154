"""A batch against a scripted rig: what is asked, recorded, said, and how it can end."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from rigwire.states import STATES
from snapgloss.base.errors import LinkError, RigError, StoreBusy, StoreError
from snapgloss.base.records import Reading
from snapgloss.link.client import RigLink
from snapgloss.link.exchange import ANSWER_WAIT_S, TRIES
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.quality.save_it_run import card_of_run
from snapgloss.runs import outcome
from snapgloss.runs.batch import SILENCE_S, run_batch
from snapgloss.runs.connect import introduce
from snapgloss.runs.ending import RunResult
from snapgloss.runs.listing import show_run
from snapgloss.runs.moment import Progress
from snapgloss.runs.patience import FREE_AGAIN, HELD
from snapgloss.runs.plan import BatchPlan
from snapgloss.runs.progress import OFFER_WITHIN_MS
from snapgloss.store import open_store
from snapgloss.store.store import Store

NO = {name: number for number, name in enumerate(STATES)}


class Watcher:
    """Keeps what it is told; may interrupt, as Ctrl-C does."""

    def __init__(self) -> None:
        self.lines: list[tuple[int, str]] = []
        self.seen: list[Progress] = []
        self.interrupt_in = ""

    def progress(self, progress: Progress) -> None:
        """Keep it."""
        self.seen.append(progress)
        if progress.state == self.interrupt_in:
            raise KeyboardInterrupt

    def say(self, at_s: int, words: str) -> None:
        """Keep it."""
        self.lines.append((at_s, words))


@pytest.fixture
def watch() -> Watcher:
    """A watch of our own."""
    return Watcher()


def move(rig: ScriptedRig, at_ms: int, old: str, new: str) -> None:
    """Report a move of the state."""
    rig.state_no = NO[new]
    rig.push_event(at_ms, "state", NO[new], NO[old])


def read(rig: ScriptedRig, at_ms: int, state: str, step_no: int, product_mc: int) -> None:
    """Report a reading in a room of 21 degC."""
    target_mc = (48_000, 33_500, 31_500)[step_no - 1] if step_no else -300_000
    rig.push_reading(
        (at_ms, NO[state], step_no, target_mc, product_mc, 40_000, 21_000, 500, 0, 200, 0)
    )


def begin(rig: ScriptedRig) -> None:
    """A person presses: the batch begins at 20 s."""
    move(rig, 1_000, "off", "ready")
    read(rig, 2_000, "ready", 0, 21_000)
    move(rig, 20_000, "ready", "melting")
    rig.push_event(20_000, "step", 1, 0)
    read(rig, 21_000, "melting", 1, 21_000)


def work(rig: ScriptedRig, seconds: int = 120) -> None:
    """From melting to the work step, which lies in the window throughout."""
    rig.push_event(30_000, "prompt", 2, 120)
    rig.push_event(31_000, "answered", 2, 3)
    move(rig, 40_000, "melting", "working")
    rig.push_event(40_000, "step", 3, 5)
    for second in range(seconds + 1):
        read(rig, 40_000 + second * 1000, "working", 3, 31_500)


def finish(rig: ScriptedRig) -> None:
    """A whole, short batch."""
    begin(rig)
    work(rig)
    move(rig, 160_500, "working", "finished")
    rig.push_event(160_500, "done")


def test_a_batch_is_recorded_from_the_press_to_the_end(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """The schedule goes up, the start is asked for by its digest, and the run begins where the
    rig began it; readings before the press are not part of it."""
    rig.then["ask_start"] = lambda: finish(rig)
    result = run_batch(plan, link, store, watch)
    assert rig.body == plan.body
    assert [m.values for m in rig.done if m.name == "ask_start"] == [[plan.digest]]
    assert (result.outcome, result.words) == ("finished", "Stayed 2 of 2 minutes in the window.")
    assert result.run_id is not None
    readings = store.readings(result.run_id)
    assert [reading.at_ms for reading in readings][:2] == [21_000, 40_000]
    assert len(readings) == 122
    run = store.run(result.run_id)
    assert (run.outcome, run.words) == ("finished", result.words)
    assert (run.chocolate, run.digest, run.seed, run.simulated) == (
        "Lantern 72", plan.digest, 7, True,
    )  # fmt: skip
    assert store.figures(result.run_id) == result.figures
    assert result.figures["minutes_in_window"] == pytest.approx(2.0, abs=0.01)


def test_the_watch_hears_what_to_do(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Press, step, seed with its grams, the noticed dip and the end are said, at device time."""
    rig.then["ask_start"] = lambda: finish(rig)
    run_batch(plan, link, store, watch)
    assert watch.lines == [
        (0, "Press start on the rig: hold the button for 1 to 3 seconds."),
        (0, "Step 1 of 3. Melting to 48.0 °C."),
        (10, "Seed in now: 120 g."),
        (11, "Seed in: noticed by the dip."),
        (20, "Step 3 of 3. Working at 31.5 °C."),
        (140, "All off."),
    ]


def test_fahrenheit_where_a_person_reads(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """The same lines in degrees Fahrenheit; the record stays in Celsius."""
    rig.then["ask_start"] = lambda: finish(rig)
    result = run_batch(plan, link, store, watch, fahrenheit=True)
    assert (0, "Step 1 of 3. Melting to 118.4 °F.") in watch.lines
    assert result.figures["working_highest_c"] == 31.5


def test_a_stop_is_said_in_words(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A stopped rig ends the run as stopped, with its reason in words."""

    def stop() -> None:
        begin(rig)
        rig.push_event(25_000, "stop", 1, 0)
        move(rig, 25_000, "melting", "stopped")

    rig.then["ask_start"] = stop
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "stopped"
    assert result.words == "Stopped: the chocolate probe gives no reading."
    assert (5, "Stopped: the chocolate probe gives no reading. Heat is off.") in watch.lines
    assert store.run(result.run_id or 0).outcome == "stopped"


def test_off_is_said_with_its_step(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A batch turned off ends as off and names the step."""

    def off() -> None:
        begin(rig)
        move(rig, 26_000, "melting", "off")

    rig.then["ask_start"] = off
    result = run_batch(plan, link, store, watch)
    assert (result.outcome, result.words) == ("off", "Turned off in step 1 of 3.")
    assert result.cut_short is False


def test_nobody_presses(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """When the start window closes there is no run, and the words say why."""

    def close() -> None:
        move(rig, 1_000, "off", "ready")
        rig.push_event(181_000, "window", 0)
        move(rig, 181_000, "ready", "off")

    rig.then["ask_start"] = close
    result = run_batch(plan, link, store, watch)
    assert result == RunResult(
        None, "not_started", "The start window closed: nobody pressed start on the rig.", {}
    )
    assert store.runs() == []


def test_a_closing_window_event_is_no_end(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A window that closes because of the press itself does not end the batch."""

    def press() -> None:
        move(rig, 1_000, "off", "ready")
        rig.push_event(19_000, "window", 0)
        move(rig, 20_000, "ready", "melting")
        move(rig, 21_000, "melting", "finished")

    rig.then["ask_start"] = press
    assert run_batch(plan, link, store, watch).outcome == "finished"


@pytest.mark.parametrize(("simulated", "at_least"), [(0, 2), (1, 0)])
def test_a_real_rig_is_told_that_its_window_is_kept_until_the_press(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher, simulated: int, at_least: int
) -> None:
    """Before the request, at once after it, and while it waits; leases of nothing, and none in
    the batch. A simulated rig is not told."""
    rig.simulated = simulated
    link = introduce(rig, ScriptedClock(rig))

    def press() -> None:
        move(rig, 20_000, "ready", "melting")
        move(rig, 21_000, "melting", "finished")

    def wait_for_one_more() -> None:
        rig.then["lease"] = press
        rig.push_event(2_000, "press", 100)

    rig.then["lease"] = wait_for_one_more
    rig.then["ask_start"] = lambda: move(rig, 1_000, "off", "ready")
    if simulated:
        rig.then["ask_start"] = press
    assert run_batch(plan, link, store, watch).outcome == "finished"
    link.close()
    told = [one for one in rig.done if one.name == "lease"]
    names = [one.name for one in rig.done]
    assert len(told) >= at_least and bool(told) == (not simulated)
    assert all(tuple(one.values) == (0, 0, 0) for one in told)
    at = names.index("ask_start")
    assert simulated or (names[at - 1], names[at + 1]) == ("lease", "lease")


def test_an_impossible_move_is_noted(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A move the table does not know is written down as a note, and the batch goes on."""

    def odd() -> None:
        begin(rig)
        move(rig, 30_000, "melting", "ready")
        move(rig, 31_000, "ready", "melting")
        move(rig, 32_000, "melting", "finished")

    rig.then["ask_start"] = odd
    result = run_batch(plan, link, store, watch)
    said = "The rig went from melting to ready, which its table of states does not know."
    assert result.outcome == "finished"
    assert [note.words for note in store.notes(result.run_id or 0)] == [said]
    assert (10, said) in watch.lines


def under_way(rig: ScriptedRig, plan: BatchPlan) -> RigLink:
    """The batch has gone on without a host; the link of a program that comes again."""
    rig.digest = plan.digest
    work(rig)
    move(rig, 160_500, "working", "finished")
    rig.settled_anew()
    rig.state_no = NO["working"]
    return introduce(rig, ScriptedClock(rig))


def test_ctrl_c_leaves_the_rig_running_and_the_same_run_is_joined(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Ctrl-C sends no off; what came is kept, and the same schedule joins the same run."""
    rig.then["ask_start"] = lambda: begin(rig)
    watch.interrupt_in = "melting"
    left = run_batch(plan, link, store, watch)
    assert left.outcome == "left"
    assert "the rig carries on by itself" in left.words
    assert not [m for m in rig.done if m.name == "off"]
    assert len(store.readings(left.run_id or 0)) == 1
    link.close()

    again = under_way(rig, plan)
    rejoining = Watcher()
    joined = run_batch(plan, again, store, rejoining)
    again.close()
    assert (joined.run_id, joined.outcome) == (left.run_id, "finished")
    first_s = (1000 * len(rig.readings) - store.parts(1)[0].start_ms) // 1000
    assert rejoining.lines[0] == (first_s, "Joined the batch that is under way.")
    assert first_s > 100
    assert len(store.readings(joined.run_id or 0)) == 122
    assert len(store.runs()) == 1


def test_bags_are_in_the_record_as_soon_as_the_run_is(
    plan: BatchPlan,
    rig: ScriptedRig,
    link: RigLink,
    store: Store,
    watch: Watcher,
    monkeypatch: Any,
) -> None:
    """A program killed right after the press: the run and its bags are there, or neither."""
    rig.then["ask_start"] = lambda: begin(rig)

    def killed(*_all: object) -> None:
        raise SystemExit

    monkeypatch.setattr("snapgloss.runs.recorder.Recorder.flush", killed)
    with pytest.raises(SystemExit):
        run_batch(replace(plan, lots=("24-117", "B/7")), link, store, watch)
    assert [(use.run_id, use.lot) for use in store.uses()] == [(1, "24-117"), (1, "B/7")]


def test_a_bag_named_on_joining_is_kept_once(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """The same command again adds no second entry; a bag that is new comes to the first."""
    rig.then["ask_start"] = lambda: begin(rig)
    watch.interrupt_in = "melting"
    run_batch(replace(plan, lots=("24-117",)), link, store, watch)
    link.close()
    again = under_way(rig, plan)
    run_batch(replace(plan, lots=("24-117", "B/7")), again, store, Watcher())
    again.close()
    assert [use.lot for use in store.uses()] == ["24-117", "B/7"]
    with store._reading() as connection:
        assert len(connection.exec_driver_sql("SELECT id FROM uses").all()) == 2


def test_joined_in_its_last_step(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A batch joined when only its end is still to come ends too, timed from its first start."""
    rig.then["ask_start"] = lambda: (begin(rig), work(rig, 10))[0]
    watch.interrupt_in = "working"
    left = run_batch(plan, link, store, watch)
    link.close()

    rig.digest = plan.digest
    rig.settled_anew()
    again = introduce(rig, ScriptedClock(rig))
    move(rig, 60_000, "working", "finished")
    later = Watcher()
    joined = run_batch(plan, again, store, later)
    again.close()
    assert (joined.run_id, joined.outcome) == (left.run_id, "finished")
    assert (40, "All off.") in later.lines


def test_joined_by_a_host_that_never_saw_it(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher
) -> None:
    """Another computer joins: the run begins with the oldest reading that the rig has kept."""
    rig.state_no, rig.digest = NO["working"], plan.digest
    read(rig, 50_000, "working", 3, 31_500)
    read(rig, 51_000, "working", 3, 31_500)
    rig.settled_anew()
    link = introduce(rig, ScriptedClock(rig))
    move(rig, 60_000, "working", "finished")
    result = run_batch(plan, link, store, watch)
    link.close()
    assert result.outcome == "finished"
    assert [r.at_ms for r in store.readings(result.run_id or 0)] == [50_000, 51_000]


@pytest.mark.parametrize("kept", [True, False])
def test_a_batch_that_ended_unseen_is_closed(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher, kept: bool
) -> None:
    """The same schedule run again ends the record of a batch that finished without a host, with
    or without the event that says so; nothing is uploaded and no start is asked for."""
    rig.then["ask_start"] = lambda: begin(rig)
    watch.interrupt_in = "melting"
    left = run_batch(plan, link, store, watch)
    link.close()
    work(rig)
    if kept:
        move(rig, 160_500, "working", "finished")
    rig.state_no = NO["finished"]
    rig.settled_anew()
    again = introduce(rig, ScriptedClock(rig))
    result = run_batch(plan, again, store, Watcher())
    again.close()
    assert (result.run_id, result.outcome) == (left.run_id, "finished")
    assert result.words == "Stayed 2 of 2 minutes in the window."
    assert not {m.name for m in rig.done} & {"load_open", "ask_start"}
    assert store.run(result.run_id or 0).outcome == "finished"


def test_a_batch_turned_off_unseen_says_in_which_step(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Left in the melt, turned off by another: the record knows that it had come that far."""
    left_in_melting(plan, rig, link, store, watch)
    read(rig, 30_000, "melting", 1, 40_000)
    rig.state_no = NO["off"]
    rig.settled_anew()
    again = introduce(rig, ScriptedClock(rig))
    result = run_batch(plan, again, store, Watcher())
    again.close()
    assert (result.run_id, result.outcome) == (1, "off")
    assert result.words.startswith(f"Turned off in step 1 of {len(plan.steps)}.")


def test_a_full_disk_says_that_the_rig_carries_on(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """A record that cannot be written ends the program, and the remedy names what goes on."""

    def full(*_: object) -> None:
        raise StoreError("The disk is full.", "Free some space.")

    monkeypatch.setattr(store, "add_told", full)
    rig.then["ask_start"] = lambda: finish(rig)
    with pytest.raises(StoreError) as caught:
        run_batch(plan, link, store, watch)
    assert caught.value.remedy == (
        "Free some space. This batch is no longer recorded. A real rig carries on by itself."
    )
    assert "off" not in [m.name for m in rig.done]


def hold_record(store: Store, clock: ScriptedClock, until_s: float, monkeypatch: Any) -> None:
    """Let another program hold the record until a moment of the link's clock."""

    def held(name: str) -> Callable[..., Any]:
        write = getattr(store, name)

        def try_it(*values: Any) -> Any:
            if clock.at_s < until_s:
                raise StoreBusy("The record stayed locked.", "Close the other snapgloss.")
            return write(*values)

        return try_it

    for name in ("begin_run", "add_readings", "add_events", "add_note", "end_run"):
        monkeypatch.setattr(store, name, held(name))


def test_a_record_held_for_25_s_loses_nothing(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher,
    clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """Another program holds the record from the press on: it is told once, and when it lets go
    the whole batch is written."""
    rig.then["ask_start"] = lambda: finish(rig)
    hold_record(store, clock, 25.0, monkeypatch)
    result = run_batch(plan, link, store, watch)
    assert (result.run_id, result.outcome) == (1, "finished")
    assert len(store.readings(1)) == 122
    said = [words for _, words in watch.lines]
    assert (said.count(HELD), said.count(FREE_AGAIN)) == (1, 1)


def test_a_record_held_for_long_ends_the_recording(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher,
    clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """After 10 min the error comes out with what goes on, and the rig is left alone."""
    rig.then["ask_start"] = lambda: finish(rig)
    hold_record(store, clock, 1e9, monkeypatch)
    with pytest.raises(StoreError, match="stayed locked") as caught:
        run_batch(plan, link, store, watch)
    assert caught.value.remedy.endswith("A real rig carries on by itself.")
    assert 600 <= clock.at_s <= 620
    assert "off" not in [m.name for m in rig.done]


def test_ctrl_c_while_the_record_is_held_leaves_a_started_rig_alone(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher,
    clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """Somebody has pressed, and the run could not be written yet: Ctrl-C sends no off."""
    rig.then["ask_start"] = lambda: begin(rig)
    monkeypatch.setattr(store, "begin_run", lambda *_: (_ for _ in ()).throw(StoreBusy("Held.")))
    monkeypatch.setattr(link, "let_pass", lambda _: (_ for _ in ()).throw(KeyboardInterrupt))
    result = run_batch(plan, link, store, watch)
    assert (result.run_id, result.outcome) == (None, "left")
    assert "carries on by itself" in result.words
    assert "off" not in [m.name for m in rig.done]


def test_ctrl_c_before_the_press_closes_the_window(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """An open start window is not left behind: off is sent, and nothing was started."""
    rig.then["ask_start"] = lambda: move(rig, 1_000, "off", "ready")
    watch.interrupt_in = "ready"
    result = run_batch(plan, link, store, watch)
    assert (result.run_id, result.outcome) == (None, "left")
    assert [m.name for m in rig.done][-1] == "off"


def test_a_pulled_cable_keeps_the_run_open(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """What came before is recorded, the run stays unfinished, and the words say what to do."""

    def pull() -> None:
        begin(rig)
        rig.unplug()

    rig.then["ask_start"] = pull
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "link_lost"
    assert "the cable came out" in result.words
    assert "If the rig has power, the batch goes on by itself." in result.words
    assert len(store.readings(result.run_id or 0)) == 1
    assert store.run(result.run_id or 0).outcome == "unfinished"
    assert [note.words for note in store.notes(result.run_id or 0)] == [result.words]


def test_a_rig_that_is_looked_for_may_be_without_power(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A rig that is gone may stand dark: nothing says that it carries on, only that it does with
    power, and that it is looked for."""

    def pull() -> None:
        begin(rig)
        rig.unplug()

    def seek(board: str, say: Callable[[str], None]) -> RigLink:
        raise LinkError("The rig was not found again.", "Plug it in.")

    rig.then["ask_start"] = pull
    run_batch(plan, link, store, watch, seek=seek)
    said = next(said for _, said in watch.lines if "Looking for it" in said)
    assert said.endswith("If the rig has power, the batch goes on by itself. Looking for it ...")
    assert "The rig carries on" not in said


def test_a_cable_pulled_before_the_press_is_an_error(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Without a batch there is nothing to keep: the link's own error comes out."""
    rig.then["ask_start"] = rig.unplug
    with pytest.raises(LinkError, match="the cable came out"):
        run_batch(plan, link, store, watch)
    assert store.runs() == []


def test_a_silent_rig_is_asked_then_given_up(
    plan: BatchPlan,
    rig: ScriptedRig,
    link: RigLink,
    store: Store,
    watch: Watcher,
    clock: ScriptedClock,
) -> None:
    """After SILENCE_S without a word the rig is asked; TRIES answers later the link is lost."""

    def fall_silent() -> None:
        begin(rig)
        rig.answers["hello"] = None

    rig.then["ask_start"] = fall_silent
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "link_lost"
    assert clock.at_s <= SILENCE_S + TRIES * ANSWER_WAIT_S + 1.0


def reset(rig: ScriptedRig, nonce: int = 78) -> None:
    """The rig loses its power: a new boot with an empty journal, and all off."""
    rig.boot_nonce, rig.state_no, rig.statuses = nonce, NO["off"], 0
    rig.readings.clear()
    rig.events.clear()
    rig.push_event(0, "boot", 1)
    rig.push_status(NO["off"], 0, -1, 0, -1, -1, 0, 0, 0)


def test_a_rig_that_started_anew_carries_on_in_the_same_run(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A reset in mid-batch, an offer, a press: two parts of one run, no reading lost or doubled,
    and the two boots are not mixed though their sequence numbers are the same."""

    def cut() -> None:
        begin(rig)
        work(rig, 5)
        reset(rig)
        for second in range(1, 4):
            read(rig, second * 1000, "off", 0, 31_000)
        move(rig, 3_500, "off", "ready")
        rig.push_event(3_500, "offer", 3, 31_000)
        read(rig, 4_000, "ready", 0, 31_000)
        move(rig, 5_000, "ready", "working")
        rig.push_event(5_000, "step", 3, 5)
        rig.push_event(5_000, "carried_on", 3, 31_000)
        read(rig, 6_000, "working", 3, 31_000)
        move(rig, 7_000, "working", "finished")

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert (result.outcome, result.run_id) == ("finished", 1)
    assert len(store.runs()) == 1
    assert [part.start_ms for part in store.parts(1)] == [20_000, 0]
    readings = store.readings(1)
    assert [r.seq for r in readings] == [1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 3, 4]
    assert [r.product_mc for r in readings[-5:]] == [31_000] * 5
    assert [r.at_ms for r in readings] == sorted(r.at_ms for r in readings)
    said = [said for _, said in watch.lines]
    assert "The rig started anew: all is off. It looks whether it can carry on." in said
    offer = "The rig offers to carry on with step 3 at 31.0 °C"
    assert f"{offer}: press start on the rig within 2 minutes." in said
    assert "Carried on with step 3 at 31.0 °C." in said
    assert said.count("Press start on the rig: hold the button for 1 to 3 seconds.") == 1
    carry = [one for one in watch.seen if one.state == "ready" and one.at_s > 10]
    assert all("carries on where it was" in one.now for one in carry)


def test_an_old_status_does_not_end_what_the_rig_carries_on(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Back from a power cut the rig answers hello with `ready`, while its first statuses, `off`,
    still wait in the queue: the offer and the press after them are taken all the same."""

    def carry_on() -> None:
        move(rig, 5_000, "ready", "melting")
        rig.push_event(5_000, "carried_on", 1, 21_000)
        read(rig, 6_000, "melting", 1, 21_000)
        move(rig, 7_000, "melting", "finished")

    def cut() -> None:
        begin(rig)
        reset(rig)
        rig.push_event(3_500, "state", NO["ready"], NO["off"], heard=False)
        rig.push_event(3_500, "offer", 1, 21_000, heard=False)
        rig.push_status(NO["off"], 0, -1, 0, -1, -1, 0, 0, 0)
        rig.state_no = NO["ready"]
        rig.then["fetch_events"] = carry_on

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert (result.outcome, len(store.parts(1))) == ("finished", 2)
    assert "Carried on with step 1 at 21.0 °C." in [said for _, said in watch.lines]


def test_an_offer_that_somebody_turns_off_is_not_called_unanswered(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Off 20 s into the offer: the words do not say that nobody pressed within 2 minutes."""

    def cut() -> None:
        begin(rig)
        reset(rig)
        move(rig, 3_500, "off", "ready")
        rig.push_event(3_500, "offer", 1, 21_000)
        move(rig, 23_500, "ready", "off")

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "off"
    assert "was turned off before anybody pressed start to carry on" in result.words
    assert "2 minutes" not in result.words


@pytest.mark.parametrize(("simulated", "told"), [(0, 1), (1, 0)])
def test_how_long_it_stood_still_is_said_of_a_real_rig(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher,
    monkeypatch: pytest.MonkeyPatch, simulated: int, told: int,
) -> None:  # fmt: skip
    """The computer's clock times the gap; a simulated rig has another time."""

    def cut() -> None:
        begin(rig)
        reset(rig)
        move(rig, 3_500, "off", "ready")
        rig.push_event(3_500, "offer", 1, 21_000)
        move(rig, 124_000, "ready", "off")

    monkeypatch.setattr(outcome, "stood_still", lambda *_: "It stood still for about 1 min.")
    rig.simulated = simulated
    link = introduce(rig, ScriptedClock(rig))
    rig.then["ask_start"] = cut
    run_batch(plan, link, store, watch)
    link.close()
    said = [line for _, line in watch.lines]
    assert said.count("It stood still for about 1 min.") == told


def test_how_long_it_stood_still(plan: BatchPlan, tmp_path: Path) -> None:
    """By the computer's clock: the last reading 1 s after the press, a new start 61 s after it."""
    utc_ms = [0]
    rig = ScriptedRig()
    link = introduce(rig, ScriptedClock(rig))
    assert link.identity is not None
    with open_store(tmp_path, lambda: utc_ms[0]) as store:
        boots = [store.boot_id(link.identity._replace(boot_nonce=nonce)) for nonce in (1, 2)]
        run_id = store.begin_run(plan.new_run(False), boots[0], 20_000)
        reading = Reading(0, 21_000, "melting", 1, None, 21_000, None, None, 0, 0, 0, 0)
        store.add_readings(boots[0], [reading])
        utc_ms[0] = 62_000
        store.add_part(run_id, boots[1], 0)
        assert outcome.stood_still(store, run_id) == (
            "It stood still for about 1 min, by this computer's clock."
        )
    link.close()


def test_an_offer_that_nobody_takes_ends_as_off(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """The offer closes without a press: off, and the words name the step and the offer."""

    def cut() -> None:
        begin(rig)
        reset(rig)
        move(rig, 3_500, "off", "ready")
        rig.push_event(3_500, "offer", 1, 21_000)
        read(rig, 4_000, "ready", 0, 21_000)
        rig.push_event(123_500, "window", 0)
        move(rig, 123_500, "ready", "off")

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "off"
    assert result.words.startswith(
        "Cut short in step 1 of 3: the rig started anew and nobody pressed start within 2 minutes"
    )
    assert (store.run(1).outcome, result.cut_short) == ("off", True)


def test_a_rig_that_offers_nothing_ends_the_batch(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """No offer within OFFER_WITHIN_MS of the rig's own time: off, and not before."""

    def cut() -> None:
        begin(rig)
        reset(rig)
        read(rig, OFFER_WITHIN_MS, "off", 0, 20_000)
        read(rig, OFFER_WITHIN_MS + 1000, "off", 0, 20_000)

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert (result.outcome, store.parts(1)[-1].end_ms) == ("off", OFFER_WITHIN_MS + 1000)
    assert "did not offer to carry on" in result.words


def test_a_reset_before_the_press_is_no_batch(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A rig that starts anew with its start window open: nothing began, and the words say so."""

    def cut() -> None:
        move(rig, 1_000, "off", "ready")
        reset(rig)

    rig.then["ask_start"] = cut
    result = run_batch(plan, link, store, watch)
    assert (result.run_id, result.words) == (
        None, "The rig started anew before anyone pressed start.",
    )  # fmt: skip
    assert store.runs() == []


def test_another_board_in_mid_run_is_not_mixed_in(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Another board answers on the same port: the words name both, and nothing of it is kept."""

    def swap() -> None:
        begin(rig)
        rig.board = "stranger"
        reset(rig)
        read(rig, 1_000, "off", 0, 25_000)

    rig.then["ask_start"] = swap
    result = run_batch(plan, link, store, watch)
    assert result.outcome == "link_lost"
    assert "Another rig is on that port now: stranger, not scripted." in result.words
    assert [r.seq for r in store.readings(1)] == [1]
    assert len(store.parts(1)) == 1


def left_in_melting(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A batch left by its host in the first step."""
    rig.then["ask_start"] = lambda: begin(rig)
    watch.interrupt_in = "melting"
    assert run_batch(plan, link, store, watch).outcome == "left"
    link.close()
    rig.settled_anew()


def test_a_host_that_was_away_joins_the_boot_that_carried_on(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Power cut and press while no host was there: the same run gets a second part, whole."""
    left_in_melting(plan, rig, link, store, watch)
    reset(rig)
    rig.push_event(3_000, "offer", 1, 21_000)
    rig.push_event(4_000, "carried_on", 1, 21_000)
    for second in range(1, 10):
        read(rig, second * 1000, "melting", 1, 21_000)
    rig.settled_anew()
    rig.state_no, rig.digest = NO["melting"], plan.digest
    again = introduce(rig, ScriptedClock(rig))
    move(rig, 11_000, "melting", "finished")
    joined = run_batch(plan, again, store, Watcher())
    again.close()
    assert (joined.run_id, joined.outcome) == (1, "finished")
    assert [r.seq for r in store.readings(1)] == [1, *range(9)]
    lost = "from 2 on: the rig started anew before more of them could be fetched"
    assert f"readings {lost}" in show_run(store, 1).gaps
    assert (store.figures(1)["longest_gap_s"] or 0.0) >= 4.0
    seam_ms = store.readings(1)[1].at_ms
    assert store.unheard_ms(1)[0] <= seam_ms
    card = card_of_run(store, 1)
    assert card is None or "stood still" not in card.what


def test_an_old_run_of_a_rig_switched_off_is_closed(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A rig that has long been on and off again: the old run is closed as off, and said; the new
    batch is another run."""
    left_in_melting(plan, rig, link, store, watch)
    reset(rig)
    for second in range(1, 40):
        read(rig, second * 1000, "off", 0, 21_000)
    rig.settled_anew()
    again = introduce(rig, ScriptedClock(rig))
    rig.then["ask_start"] = lambda: finish(rig)
    later = Watcher()
    result = run_batch(plan, again, store, later)
    again.close()
    assert (result.run_id, result.outcome) == (2, "finished")
    assert store.run(1).outcome == "off"
    assert (
        0, "Run 1 of this schedule was cut short: the rig was switched off. It is closed.",
    ) in later.lines  # fmt: skip


def test_a_batch_started_elsewhere_is_not_the_old_run(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Another boot that tempers the same schedule without having carried on is another batch."""
    left_in_melting(plan, rig, link, store, watch)
    reset(rig)
    move(rig, 1_000, "ready", "melting")
    read(rig, 2_000, "melting", 1, 21_000)
    rig.settled_anew()
    rig.digest = plan.digest
    again = introduce(rig, ScriptedClock(rig))
    move(rig, 11_000, "melting", "finished")
    result = run_batch(plan, again, store, Watcher())
    again.close()
    assert (result.run_id, store.run(1).outcome) == (2, "off")


def test_a_window_left_open_by_a_host_that_died_is_joined(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher
) -> None:
    """`ready` with this schedule: nothing is uploaded or asked for again, for a hand may be on the
    button; the person is told what to press, and the press begins the batch."""
    move(rig, 1_000, "off", "ready")
    rig.digest = plan.digest
    rig.settled_anew()
    link = introduce(rig, ScriptedClock(rig))
    move(rig, 9_000, "ready", "melting")
    move(rig, 10_000, "melting", "finished")
    result = run_batch(plan, link, store, watch)
    link.close()
    assert (result.run_id, result.outcome) == (1, "finished")
    assert {m.name for m in rig.done} == {"hello"}
    assert watch.lines[0] == (
        0, "The rig was waiting for this start already: nothing has begun yet. "
        "Press start on the rig: hold the button for 1 to 3 seconds.",
    )  # fmt: skip


def test_what_a_host_that_died_in_the_window_did_not_write_is_fetched(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher, tmp_path: Path
) -> None:
    """Readings 0 and 1 are in the record, 2 to 4 came while nobody listened: none is lost."""
    move(rig, 1_000, "off", "ready")
    for at_s in range(1, 6):
        read(rig, 1000 * at_s, "ready", 0, 21_000)
    rig.digest = plan.digest
    rig.settled_anew()
    first = introduce(rig, ScriptedClock(rig))
    assert first.identity is not None
    boot_id = store.boot_id(first.identity)
    first.follow_from(0, 0)
    heard = [r for r in first.catch_up(1, -1) if isinstance(r, Reading) and r.seq < 2]
    store.add_readings(boot_id, heard)
    first.close()
    rig.settled_anew()
    link = introduce(rig, ScriptedClock(rig))
    move(rig, 9_000, "ready", "melting")
    read(rig, 10_000, "melting", 1, 21_000)
    move(rig, 11_000, "melting", "finished")
    result = run_batch(plan, link, store, watch)
    link.close()
    assert result.outcome == "finished"
    with closing(sqlite3.connect(tmp_path / "snapgloss.sqlite3")) as kept:
        numbers = [row[0] for row in kept.execute("SELECT seq FROM readings ORDER BY seq")]
    assert (len(heard), numbers) == (2, [0, 1, 2, 3, 4, 5])


def test_a_window_of_another_schedule_is_closed_first(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher
) -> None:
    """`ready` with another schedule: off, said in words, then a start as usual."""
    rig.state_no, rig.digest = NO["ready"], "0badcafe"
    link = introduce(rig, ScriptedClock(rig))
    rig.then["off"] = lambda: move(rig, 500, "ready", "off")
    rig.then["ask_start"] = lambda: finish(rig)
    result = run_batch(plan, link, store, watch)
    link.close()
    assert result.outcome == "finished"
    asked = [m.name for m in rig.done if m.name in ("off", "load_open", "ask_start")]
    assert asked == ["off", "load_open", "ask_start"]
    assert watch.lines[0] == (
        0, "The rig was waiting for the start of another schedule. It waits no more.",
    )  # fmt: skip


def test_another_batch_under_way(
    plan: BatchPlan, rig: ScriptedRig, store: Store, watch: Watcher
) -> None:
    """A rig that tempers something else is left alone, and the error says so."""
    rig.state_no, rig.digest = NO["cooling"], "0badcafe"
    link = introduce(rig, ScriptedClock(rig))
    with pytest.raises(RigError, match="in the middle of another batch"):
        run_batch(plan, link, store, watch)
    link.close()
    assert [m.name for m in rig.done] == ["hello"]


def test_a_hole_in_the_pushes_is_filled_and_a_loss_is_logged(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """Unheard readings are fetched into the run; overwritten ones are logged as a gap."""

    def holes() -> None:
        begin(rig)
        for second in range(10):
            values = (22_000 + second * 1000, NO["melting"], 1, 48_000, 22_000, 0, 0, 0, 0, 0, 0)
            rig.push_reading(values, heard=False)
        rig.lost_below[0] = 6
        move(rig, 33_000, "melting", "finished")

    rig.then["ask_start"] = holes
    result = run_batch(plan, link, store, watch)
    gaps = store.gaps(result.run_id or 0)
    assert [(gap.stream, gap.from_seq, gap.to_seq) for gap in gaps] == [("readings", 2, 5)]
    assert [r.seq for r in store.readings(result.run_id or 0)] == [1, 6, 7, 8, 9, 10, 11]


def test_console_text_is_kept(
    plan: BatchPlan, rig: ScriptedRig, link: RigLink, store: Store, watch: Watcher
) -> None:
    """A traceback on the rig's console ends up in the record of that boot."""

    def speak() -> None:
        rig.send(b"Traceback: here\r\n")
        finish(rig)

    rig.then["ask_start"] = speak
    run_batch(plan, link, store, watch)
    assert link.identity is not None
    assert store.console(store.boot_id(link.identity)) == ["Traceback: here\r\n"]
