"""Temperature, step, times left, and what to do now."""

import pytest

from rigwire.schedule import Step
from rigwire.states import STATES
from rigwire.tables import FLAG_HEAT_WITHHELD, FLAG_HOLDING
from snapgloss.base.records import Event, Reading, Status
from snapgloss.runs import words
from snapgloss.runs.plan import BatchPlan
from snapgloss.runs.progress import Tracker


def reading(at_s: int, state: str, step_no: int, flags: int = 0) -> Reading:
    """A reading of 33.0 degC."""
    return Reading(
        at_s, at_s * 1000, state, step_no, 33_500, 33_000, 34_000, 21_000, 0, 0, 0, flags
    )


def state(at_s: int, old: str, new: str) -> Event:
    """A move of the state."""
    return Event(at_s, at_s * 1000, "state", STATES.index(new), STATES.index(old))


@pytest.fixture
def tracker(plan: BatchPlan) -> Tracker:
    """A batch that began at 100 s, in step 1 (forecast 4200 s)."""
    tracker = Tracker(plan, simulated=True, state="off", fahrenheit=False)
    tracker.take_event(state(90, "off", "ready"))
    tracker.take_event(state(100, "ready", "melting"))
    tracker.take_event(Event(2, 100_000, "step", 1, 0))
    return tracker


def hands(at_s: int, cause: int) -> Event:
    """Why the batch pauses."""
    return Event(at_s, at_s * 1000, "hands", cause, 0)


@pytest.mark.parametrize(
    ("cause", "said"),
    [
        (1, "Pedal down: heat and stirrer are off. Let it go when you are done."),
        (2, "Bowl lifted: heat and stirrer are off. Put it back when you are done."),
        (3, "The chocolate reading fell or jumped: cold seed, hands, or is the probe out?"),
        (4, "The stirrer stands still: heat is off. Free it, then press start."),
        (5, "The chocolate probe does not follow the heat: is it in the chocolate? Press start"),
        (9, "Heat and stirrer are off while your hands are in. Put the bowl back."),
    ],
)
def test_a_pause_says_why_and_that_it_went_on(tracker: Tracker, cause: int, said: str) -> None:
    """One line by the cause as it begins, the same beside the number, and a line at its end."""
    tracker.take_reading(reading(150, "melting", 1))
    assert tracker.take_event(state(200, "melting", "hands_in"))[0] is None
    line = tracker.take_event(hands(200, cause))[0]
    assert line is not None and line.startswith(said)
    assert tracker.progress().now == line
    assert tracker.take_event(state(260, "hands_in", "melting"))[0] == "Went on."
    assert tracker.progress().now.startswith("Moulds to")


def test_after_ten_minutes_a_pause_asks_for_the_press(tracker: Tracker) -> None:
    """599 s: the bowl alone brings it back. 600 s: one line more, and the words change."""
    tracker.take_event(state(200, "melting", "hands_in"))
    tracker.take_event(hands(200, 2))
    assert tracker.take_reading(reading(799, "hands_in", 1)) is None
    said = "Put the bowl back, then press start: after 10 min it goes on by that alone."
    assert tracker.take_reading(reading(800, "hands_in", 1)) == said
    assert tracker.take_reading(reading(801, "hands_in", 1)) is None
    assert tracker.progress().now == said
    tracker.take_event(state(900, "hands_in", "melting"))
    assert tracker.take_reading(reading(1600, "melting", 1)) is None


def test_a_reading_from_before_does_not_begin_a_pause_anew(tracker: Tracker) -> None:
    """It comes behind the event that ended the pause; 10 minutes on nothing is asked for."""
    tracker.take_event(state(200, "melting", "hands_in"))
    tracker.take_event(hands(200, 2))
    tracker.take_event(state(260, "hands_in", "melting"))
    assert tracker.take_reading(reading(259, "hands_in", 1)) is None
    assert tracker.take_reading(reading(1000, "melting", 1)) is None


def test_off_in_a_pause_is_not_called_going_on(tracker: Tracker) -> None:
    """Somebody turns it off with the bowl lifted."""
    tracker.take_event(state(200, "melting", "hands_in"))
    tracker.take_event(hands(200, 2))
    assert tracker.take_event(state(260, "hands_in", "off"))[0] is None


def test_time_left_by_forecast(tracker: Tracker) -> None:
    """While a step heats, what is left is its forecast less the time spent, in device seconds."""
    tracker.take_reading(reading(700, "melting", 1))
    now = tracker.progress()
    assert (now.at_s, now.step_left_s, now.batch_left_s) == (600, 3600, 3600 + 900 + 2700)
    assert now.share_done == pytest.approx(600 / 7800)
    assert (now.step_no, now.steps, now.step_words) == (1, 3, "Melting to 48.0 °C")
    assert (now.product_mc, now.room_mc, now.simulated) == (33_000, 21_000, True)


def test_a_late_step_never_promises_less_than_its_hold(tracker: Tracker) -> None:
    """When the forecast is used up, the hold of the step is still to come."""
    tracker.take_reading(reading(9_000, "melting", 1))
    assert tracker.progress().step_left_s == 300


def test_time_left_of_a_hold_is_the_devices(tracker: Tracker) -> None:
    """Once the step's clock runs, the device's own count is shown."""
    tracker.take_status(Status("melting", 1, 123, "none", -1, -1, 0, 0, 0))
    tracker.take_reading(reading(4_000, "melting", 1, FLAG_HOLDING))
    assert tracker.progress().step_left_s == 123


@pytest.mark.parametrize(
    ("event", "said", "waiting"),
    [
        (Event(9, 200_000, "prompt", 2, 120), "Seed in now: 120 g.", True),
        (Event(9, 200_000, "prompt", 3, 0), "Dip a knife.", True),
        (
            Event(9, 200_000, "answered", 3, 1),
            "Moulds to 22 to 26 °C. Weigh 120 g of seed.",
            False,
        ),
        (state(200, "melting", "hands_in"), "Heat and stirrer are off while", True),
        (state(200, "melting", "ready"), words.PRESS_START, True),
    ],
)
def test_what_to_do_now(tracker: Tracker, event: Event, said: str, waiting: bool) -> None:
    """A prompt asks; an answered one frees the hands again."""
    tracker.take_reading(reading(150, "melting", 1))
    tracker.take_event(event)
    now = tracker.progress()
    assert now.now.startswith(said)
    assert now.waiting is waiting


def test_stopped_says_why_and_what_to_do(tracker: Tracker) -> None:
    """A stop shows its reason as the step and the way out as what to do."""
    tracker.take_event(Event(9, 200_000, "stop", 7, 0))
    tracker.take_event(state(200, "melting", "stopped"))
    now = tracker.progress()
    assert now.step_words == "Stopped: the stop button is pressed or its wire is open"
    assert "A press never starts it." in now.now
    assert tracker.over is True


def test_withheld_heat_is_said(tracker: Tracker) -> None:
    """Heat held back is named while the flag stands."""
    tracker.take_status(Status("melting", 1, -1, "none", -1, -1, 0, 5, 0))
    tracker.take_reading(reading(150, "melting", 1, FLAG_HEAT_WITHHELD))
    assert tracker.progress().withheld == "the plate is too hot"
    tracker.take_reading(reading(151, "melting", 1))
    assert tracker.progress().withheld == ""


OFF = Status("off", 0, -1, "none", -1, -1, 0, 0, 0)


def test_a_status_is_believed_once_the_rig_says_it_again(tracker: Tracker) -> None:
    """A status that shows the end asks for the rig's own answer, and that ends the batch."""
    tracker.take_status(Status("finished", 0, -1, "none", -1, -1, 0, 0, 0))
    assert (tracker.over, tracker.seems_over) == (False, True)
    tracker.settle("finished")
    assert (tracker.over, tracker.ended_state, tracker.seems_over) == (True, "finished", False)
    assert tracker.progress().share_done == 1.0


def test_a_status_from_before_the_offer_ends_nothing(tracker: Tracker) -> None:
    """After a power cut hello already says `ready`; the boot's first status, `off`, was queued
    before and comes later. The batch is carried on."""
    tracker.take_reading(reading(150, "melting", 1))
    tracker.start_anew("ready", 60_000)
    tracker.take_status(OFF)
    tracker.settle("ready")
    tracker.take_event(state(4, "off", "ready"))
    tracker.take_event(Event(2, 4_000, "offer", 1, 33_000))
    tracker.take_status(OFF)
    assert (tracker.over, tracker.anew) == (False, "offered")
    tracker.settle("ready")
    tracker.take_event(state(25, "ready", "melting"))
    tracker.take_event(Event(4, 25_000, "carried_on", 1, 33_000))
    assert (tracker.over, tracker.anew) == (False, "carried_on")


@pytest.mark.parametrize(("closed_s", "ran_out"), [(124, True), (64, False)])
def test_an_offer_ran_out_only_after_its_two_minutes(
    tracker: Tracker, closed_s: int, ran_out: bool
) -> None:
    """120 s of the rig's own time; a window closed earlier was closed by somebody."""
    tracker.start_anew("off", 60_000)
    tracker.take_event(state(4, "off", "ready"))
    tracker.take_event(Event(2, 4_000, "offer", 1, 33_000))
    assert tracker.offer_ran_out is False
    tracker.take_event(state(closed_s, "ready", "off"))
    assert (tracker.over, tracker.offer_ran_out) == (True, ran_out)


def test_unknown_numbers_are_words_too(plan: BatchPlan) -> None:
    """Numbers of a newer rig become text, never an exception."""
    kinds = ("step", "state", "prompt", "answered", "added", "stop", "withheld", "news")
    assert [words.event_line(Event(0, 0, kind, 99, 98), plan.steps) for kind in kinds] == [
        "Step 99: no. 98.", None, None, "Prompt: answered.", None, "Stopped: no. 99. Heat is off.",
        "Heat is held back: no. 99.", None,
    ]  # fmt: skip


def test_an_offer_to_carry_on_says_what_to_press(plan: BatchPlan) -> None:
    """The person beside the bowl reads the step, the temperature and the two minutes."""
    offer = words.event_line(Event(0, 0, "offer", 6, 31_437), plan.steps)
    assert offer == (
        "The rig offers to carry on with step 6 at 31.4 °C: "
        "press start on the rig within 2 minutes."
    )
    carried = words.event_line(Event(0, 0, "carried_on", 6, 31_437), plan.steps)
    assert carried == "Carried on with step 6 at 31.4 °C."


def test_once_the_seed_is_in_the_step_names_what_the_rig_holds(plan: BatchPlan) -> None:
    """Seeding at 33.5 until the seed is in, from then on the target of the next step."""
    tracker = Tracker(plan, simulated=True, state="seeding", fahrenheit=False)
    tracker.take_event(Event(0, 500, "step", 2, 3))
    before = Reading(1, 1000, "seeding", 2, 33_500, 33_600, None, None, 0, 0, 1000, 0)
    tracker.take_reading(before)
    assert tracker.progress().step_words == "Seeding at 33.5 °C"
    tracker.take_reading(before._replace(seq=2, at_ms=2000, target_mc=31_500))
    assert tracker.progress().step_words == "Stirring the seed in at 31.5 °C"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0 s"), (59, "59 s"), (95, "2 min"), (4200, "1 h 10 min")]
)
def test_about(seconds: int, text: str) -> None:
    """Times are no finer than a person uses them."""
    assert words.about(seconds) == text


@pytest.mark.parametrize(
    ("step_no", "left_s", "said"),
    [
        (1, 960, "Seed in about 16 min."),
        (1, 120, "Take the seed to hand: about 2 min."),
        (1, 10, "Take the seed to hand: any moment now."),
        (3, 120, "Nothing to do."),
    ],
)
def test_cooling_counts_down_to_the_seed_only(step_no: int, left_s: int, said: str) -> None:
    """A cool step before the seed counts down to it; one after it has nothing to say."""
    cool = Step("cool", 33_500, 0, 2000, 60_000)
    steps = [cool, Step("seed", 33_500, 360, 500, 34_000, 2, 600, 120), cool]
    assert words.meanwhile(steps, step_no, left_s, fahrenheit=False) == said


def test_the_start_window_counts_down(plan: BatchPlan) -> None:
    """By the rig's own clock, from when it opened; none once the batch has begun."""
    tracker = Tracker(plan, simulated=True, state="off", fahrenheit=False)
    assert tracker.progress().window_left_s is None
    tracker.take_event(state(90, "off", "ready"))
    assert tracker.progress().window_left_s == 180
    tracker.take_reading(reading(130, "ready", 0))
    assert tracker.progress().window_left_s == 140
    tracker.take_reading(reading(400, "ready", 0))
    assert tracker.progress().window_left_s == 0
    tracker.take_event(state(401, "ready", "melting"))
    assert tracker.progress().window_left_s is None
