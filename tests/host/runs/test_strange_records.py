"""Records of a newer rig, or one gone mad: the batch is followed, told and worked out."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigwire.message_table import REPORTS
from rigwire.messages import MISSING_MC, fields
from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES
from snapgloss.base.records import Event, Reading, Status
from snapgloss.link.decode import known_mc, prompt_name, state_name
from snapgloss.quality.event_words import say_all
from snapgloss.quality.figures import figures_of
from snapgloss.report.marks import marks_of, rows_of
from snapgloss.runs.plan import BatchPlan
from snapgloss.runs.progress import Tracker

MOST = 2**30 - 1
NUMBER = st.one_of(st.integers(-2, 25), st.integers(-MOST, MOST))
STATE = st.one_of(st.integers(0, len(STATES) + 3), st.integers(0, MOST)).map(state_name)
KIND = st.one_of(st.sampled_from(EVENT_NAMES), st.just("kind 99"), st.text(max_size=16))
MC = st.one_of(st.just(MISSING_MC), st.integers(MISSING_MC, 200_000)).map(known_mc)
AT_MS = st.one_of(st.integers(0, 10_000_000), st.integers(0, MOST))
PERMILLE = st.integers(0, 1000)
EVENT = st.builds(Event, st.integers(0, MOST), AT_MS, KIND, NUMBER, NUMBER)
READING = st.builds(
    Reading, st.integers(0, MOST), AT_MS, STATE, st.integers(0, MOST), MC, MC, MC, MC,
    PERMILLE, PERMILLE, PERMILLE, st.integers(0, MOST),
)  # fmt: skip
STATUS = st.builds(
    Status, STATE, st.integers(0, MOST), st.integers(-1, 43_200),
    st.integers(0, MOST).map(prompt_name), st.integers(-1, 43_200), st.integers(-1, 43_200),
    st.integers(0, MOST), st.integers(0, MOST), st.integers(0, MOST),
)  # fmt: skip
ANY = st.one_of(EVENT, READING, STATUS)


def test_the_records_here_are_as_wide_as_the_wire() -> None:
    """Another value of a reading, a status or an event fails here first."""
    assert len(fields(REPORTS["reading"])) == len(Reading._fields) - 1
    assert len(fields(REPORTS["status"])) == len(Status._fields)
    assert len(fields(REPORTS["event"])) == len(Event._fields) - 1


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ANY, max_size=30))
def test_any_records_are_followed(
    plan: BatchPlan, records: list[Event | Reading | Status]
) -> None:
    """Each is taken, and after each there are words for a person."""
    tracker = Tracker(plan, simulated=True, state="off", fahrenheit=False)
    for record in records:
        if isinstance(record, Event):
            tracker.take_event(record)
        elif isinstance(record, Status):
            tracker.take_status(record)
        else:
            tracker.take_reading(record)
        shown = tracker.progress()
        assert shown.step_words
        assert 0 <= shown.share_done <= 1


@given(st.lists(EVENT, max_size=20), st.booleans())
def test_any_events_have_words_and_marks(events: list[Event], fahrenheit: bool) -> None:
    """No more sentences than events; each mark has its place."""
    assert len(say_all(events, fahrenheit)) <= len(events)
    marks = marks_of(events, 0)
    assert len(rows_of(marks, 60.0)) == len(marks)


@given(
    st.lists(READING, max_size=20, unique_by=lambda one: one.at_ms), st.lists(EVENT, max_size=8)
)
def test_any_record_of_a_run_has_figures(readings: list[Reading], events: list[Event]) -> None:
    """In order of time, as a record gives them; nothing but None or a number comes out."""
    in_order = sorted(readings, key=lambda one: one.at_ms)
    said = sorted(events, key=lambda one: one.at_ms)
    figures = figures_of(in_order, said, 31_000, 32_000, 31_500)
    assert figures.minutes_working >= 0
