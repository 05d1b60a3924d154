"""A step test against a scripted rig: what is asked, how often, and how it can end."""

from dataclasses import replace

import pytest

from rigwire.states import STATES
from rigwire.tables import PROMPTS
from snapgloss.base.errors import InputError, RigError
from snapgloss.base.records import Reading
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedRig
from snapgloss.runs.leases import NOT_PRESSED, PRESS, StepPlan, run_step

NO = {name: number for number, name in enumerate(STATES)}
PLAN = StepPlan(300, 0, 200, 60_000, 60)


def plan_of(most_s: int) -> StepPlan:
    """PLAN for so long."""
    return replace(PLAN, most_s=most_s)


class Watch:
    """Keeps what it is told; may interrupt, as Ctrl-C does."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.seen: list[tuple[int, int | None]] = []
        self.interrupt_at = -1

    def say(self, words: str) -> None:
        """Keep it."""
        self.said.append(words)

    def reading(self, at_s: int, reading: Reading) -> None:
        """Keep it."""
        self.seen.append((at_s, reading.product_mc))
        if at_s == self.interrupt_at:
            raise KeyboardInterrupt


def move(rig: ScriptedRig, at_ms: int, old: str, new: str) -> None:
    """Report a move of the state."""
    rig.state_no = NO[new]
    rig.push_event(at_ms, "state", NO[new], NO[old])


def read(rig: ScriptedRig, at_ms: int, state: str) -> None:
    """Report a reading."""
    rig.push_reading((at_ms, NO[state], 0, -300_000, 21_000, 22_000, 21_000, 300, 0, 200, 0))


def driven(rig: ScriptedRig, seconds: int) -> None:
    """A person presses at 10 s; the outputs are driven for so long."""
    move(rig, 1_000, "off", "ready")
    move(rig, 10_000, "ready", "testing")
    for second in range(seconds):
        read(rig, 10_000 + second * 1000, "testing")


@pytest.fixture
def awake(rig: ScriptedRig, link: RigLink) -> RigLink:
    """A rig whose probe has answered."""
    read(rig, 500, "off")
    return link


def test_a_test_is_asked_for_leased_and_over(rig: ScriptedRig, awake: RigLink) -> None:
    """What the press allows is asked once, leases repeat exactly that, and readings count from
    the press."""

    def whole() -> None:
        driven(rig, 60)
        rig.then["lease"] = lambda: move(rig, 70_000, "testing", "off")

    rig.then["ask_test"] = whole
    watch = Watch()
    result = run_step(PLAN, awake, watch)
    assert (result.outcome, result.words) == ("done", "The test is over after 1 min; all is off.")
    assert [m.values for m in rig.done if m.name == "ask_test"] == [[300, 0, 200, 60_000, 60]]
    leases = [m.values for m in rig.done if m.name == "lease"]
    assert leases and all(values == [300, 0, 200] for values in leases)
    assert watch.said == [PRESS]
    assert [at_s for at_s, _ in watch.seen] == list(range(60))
    assert len(result.readings) == 60


def test_a_window_is_kept_from_its_first_moment(rig: ScriptedRig, awake: RigLink) -> None:
    """Leases stand right before and after the request, so that a killed program leaves no window
    open; the rig refuses it, for nobody pressed. When it closes the words say why."""

    def close() -> None:
        move(rig, 1_000, "off", "ready")
        for second in range(1, 5):
            read(rig, second * 1000, "ready")
        move(rig, 181_000, "ready", "off")

    rig.answers["lease"] = ("no", ("no_test", "no test is running"))
    rig.then["ask_test"] = close
    result = run_step(PLAN, awake, Watch())
    assert (result.outcome, result.words, result.readings) == ("not_started", NOT_PRESSED, [])
    assert [m.name for m in rig.done][-3:] == ["lease", "ask_test", "lease"]


def test_a_lease_is_kept_though_nothing_comes(rig: ScriptedRig, awake: RigLink) -> None:
    """Without any reading a lease goes out every second of waiting all the same."""
    sent: list[int] = []

    def again() -> None:
        sent.append(1)
        if len(sent) == 4:
            move(rig, 14_000, "testing", "off")
        else:
            rig.then["lease"] = again

    rig.then["lease"] = again
    rig.then["ask_test"] = lambda: driven(rig, 0)
    assert run_step(PLAN, awake, Watch()).outcome == "early"
    assert len(sent) == 4


@pytest.mark.parametrize(("most_s", "spent_s", "outcome"), [
    (10, 1, "early"), (10, 6, "early"), (10, 9, "done"), (2, 0, "early"), (2, 1, "done"),
    (15, 6, "early"), (60, 56, "early"), (60, 57, "done"),
])  # fmt: skip
def test_short_tests_can_end_early_too(
    rig: ScriptedRig, awake: RigLink, most_s: int, spent_s: int, outcome: str
) -> None:
    """Three seconds before its time, or before half of it, is early however short the test."""

    def ends() -> None:
        driven(rig, spent_s + 1)
        move(rig, 10_000 + spent_s * 1000, "testing", "off")

    rig.then["ask_test"] = ends
    assert run_step(plan_of(most_s), awake, Watch()).outcome == outcome


def test_the_window_is_kept_while_nobody_has_pressed(rig: ScriptedRig, awake: RigLink) -> None:
    """Once a second the rig hears that this program is still there; its `no` is no fault."""

    def waits() -> None:
        move(rig, 1_000, "off", "ready")
        for second in range(3):
            read(rig, 2_000 + second * 1000, "ready")
        rig.then["lease"] = lambda: move(rig, 181_000, "ready", "off")

    rig.answers["lease"] = ("no", ("no_test", "no test is running"))
    rig.then["ask_test"] = waits
    assert run_step(PLAN, awake, Watch()).outcome == "not_started"
    assert "lease" in [m.name for m in rig.done]


def test_the_seconds_of_a_whole_test_are_those_that_were_asked_for(
    rig: ScriptedRig, awake: RigLink
) -> None:
    """The rig ends it in the pass in which its time is over, here 4.75 s after the event."""

    def whole() -> None:
        driven(rig, 5)
        move(rig, 14_750, "testing", "off")

    rig.then["ask_test"] = whole
    result = run_step(plan_of(5), awake, Watch())
    assert result.words == "The test is over after 5 s; all is off."


def test_ended_early_is_said(rig: ScriptedRig, awake: RigLink) -> None:
    """Hands in the bowl after 5 s end the test: early, and the words say after how long."""

    def early() -> None:
        driven(rig, 5)
        move(rig, 15_000, "testing", "off")

    rig.then["ask_test"] = early
    result = run_step(PLAN, awake, Watch())
    assert result.outcome == "early"
    assert result.words.startswith("The test ended early, after 5 s:")


def test_a_stop_is_said_with_its_reason(rig: ScriptedRig, awake: RigLink) -> None:
    """A plate too hot stops the rig: its reason in words."""

    def stop() -> None:
        driven(rig, 5)
        rig.push_event(15_000, "stop", 5, 80_000)
        move(rig, 15_000, "testing", "stopped")

    rig.then["ask_test"] = stop
    result = run_step(PLAN, awake, Watch())
    assert result.outcome == "stopped"
    assert "plate" in result.words


def test_ctrl_c_turns_off_at_once(rig: ScriptedRig, awake: RigLink) -> None:
    """Ctrl-C sends off; nothing waits for a lease to run out."""
    rig.then["ask_test"] = lambda: driven(rig, 5)
    watch = Watch()
    watch.interrupt_at = 2
    result = run_step(PLAN, awake, watch)
    assert (result.outcome, result.words) == ("left", "You ended the test; all is off.")
    assert [m.name for m in rig.done][-1] == "off"


def test_a_lease_over_the_press_is_an_error(rig: ScriptedRig, awake: RigLink) -> None:
    """A lease that is refused while the test runs is not taken for its end."""
    rig.answers["lease"] = ("no", ("over_the_press", "the press allowed less than that"))
    rig.then["ask_test"] = lambda: driven(rig, 3)
    with pytest.raises(RigError, match="the press allowed less"):
        run_step(PLAN, awake, Watch())


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        ((300, 0, 0, 60_000, 3601), "A test of 1 h 1 s is not possible."),
        ((300, 0, 0, 75_001, 60), "The plate may not get that hot in a test."),
        ((0, 0, 0, 60_000, 60), "Nothing would be driven."),
    ],
)
def test_what_no_rig_allows_is_refused_before_it_is_asked(
    plan: tuple[int, int, int, int, int], words: str
) -> None:
    """Over the hour, over the plate's ceiling, or nothing at all: a sentence."""
    with pytest.raises(InputError) as caught:
        StepPlan(*plan)
    assert caught.value.message == words


def test_the_stop_button_is_asked_for_in_words(rig: ScriptedRig, awake: RigLink) -> None:
    """A rig that wants it tried before it takes the press: the person is told, once."""
    watch = Watch()

    def asked() -> None:
        rig.push_event(2_000, "prompt", PROMPTS.index("press_stop"), 0)
        driven(rig, 2)
        move(rig, 71_000, "testing", "off")

    rig.then["ask_test"] = asked
    assert run_step(PLAN, awake, watch).outcome == "done"
    assert [words for words in watch.said if "stop button" in words] == [
        "First try the stop button, as once every day: press it, let it go. Then start."
    ]
