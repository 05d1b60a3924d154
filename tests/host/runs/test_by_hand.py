"""By hand: recorded as any other batch, the rig left alone, every end a record."""

from typing import Any

import pytest

from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import Event, Identity, Reading
from snapgloss.link.decode import Boot
from snapgloss.runs.by_hand import ANEW, HandPlan, temper_by_hand
from snapgloss.runs.listing import show_run
from snapgloss.store import open_store

PLAN = HandPlan("Lantern 72", "dark", "kept", 1000)


class Script:
    """A link that gives what it was told to, then ends as told. It has no verb that asks for
    anything: a call of one would be an AttributeError."""

    def __init__(self, records: list[Any], end: type[BaseException] | None, state: str = "off"):
        self.identity = Identity(
            "b1", 7, "0.1.0", 1, 0, "", state, 60_000, 100, 0, 41, 0, 3, False
        )
        self._records, self._end, self._at_s = records, end, 0.0
        self.followed: tuple[int, int] | None = None

    def follow_from(self, reading_seq: int, event_seq: int) -> None:
        self.followed = (reading_seq, event_seq)

    def wait(self, at_most_s: float) -> bool:
        self._at_s += at_most_s
        return True

    def take(self) -> list[Any]:
        if not self._records and self._end is not None:
            raise self._end("out") if self._end is LinkError else self._end
        taken, self._records = self._records[:7], self._records[7:]
        return taken

    def now_s(self) -> float:
        return self._at_s


class Heard:
    """What was told."""

    def __init__(self) -> None:
        self.said: list[tuple[int, str]] = []
        self.shown: list[tuple[int, str, int | None]] = []
        self.presses_at: list[int] = []

    def presses(self) -> int:
        now_s = self.shown[-1][0]
        due = [at_s for at_s in self.presses_at if at_s <= now_s]
        self.presses_at = [at_s for at_s in self.presses_at if at_s > now_s]
        return len(due)

    def say(self, at_s: int, words: str) -> None:
        self.said.append((at_s, words))

    def show(self, at_s: int, state: str, product_mc: int | None) -> None:
        self.shown.append((at_s, state, product_mc))


def _readings(count: int = 300, state: str = "off") -> list[Reading]:
    return [
        Reading(42 + n, 100_000 + n * 1000, state, 0, None, 30_000 if n < 20 else 31_400, None,
                21_000, 0, 0, 0, 0)
        for n in range(count)
    ]  # fmt: skip


@pytest.fixture
def store(tmp_path):
    """A record of its own."""
    with open_store(tmp_path) as opened:
        yield opened


def test_a_batch_by_hand_is_a_run_like_any_other(store):
    """Steps as the coach saw them, figures, words; the journal from before is not taken."""
    link, heard = Script(_readings(), KeyboardInterrupt), Heard()
    result = temper_by_hand(PLAN, link, store, heard)
    assert link.followed == (42, 4)
    assert result.words == "Tempered by hand. Stayed 5 of 5 minutes in the window."
    run = store.run(result.run_id)
    assert (run.rig, run.outcome, run.simulated) == ("by hand", "finished", False)
    kept = store.readings(result.run_id)
    assert [(r.state, r.step_no) for r in kept[::100]] == [
        ("rewarming", 1), ("working", 2), ("working", 2),
    ]  # fmt: skip
    assert len(kept) == 300 and {r.heat_permille for r in kept} == {0}
    assert store.figures(result.run_id)["minutes_working"] == pytest.approx(277 / 60)
    assert [at_s for at_s, _ in heard.said] == [0, 22]
    assert heard.shown[-1] == (299, "working", 31_400)


@pytest.mark.parametrize(
    ("more", "end", "words"),
    [
        ([], LinkError, "until the cable came out."),
        (_readings(5, "melting"), KeyboardInterrupt, "until the rig was started."),
    ],
)
def test_every_end_is_a_record(store, more, end, words):
    """A pulled cable, a rig that somebody starts: what came before is kept and closed."""
    result = temper_by_hand(PLAN, Script([*_readings(100), *more], end), store, Heard())
    assert words in result.words
    assert len(store.readings(result.run_id)) == 100
    assert store.run(result.run_id).ended_utc_ms is not None


def test_a_rig_that_starts_anew_ends_it(store):
    """Its readings would be of another boot."""
    link = Script([*_readings(50)], KeyboardInterrupt)
    link._records.append(Boot(link.identity._replace(boot_nonce=8)))
    assert temper_by_hand(PLAN, link, store, Heard()).words.startswith(ANEW)


def test_no_reading_no_record(store):
    """Ctrl-C before anything came."""
    result = temper_by_hand(PLAN, Script([], KeyboardInterrupt), store, Heard())
    assert (result.run_id, store.runs()) == (None, [])


def test_a_rig_at_work_is_left_alone(store):
    """Refused before anything is recorded."""
    with pytest.raises(RigError, match="at work"):
        temper_by_hand(PLAN, Script([], None, "working"), store, Heard())
    assert store.runs() == []


def test_a_batch_that_was_killed_is_closed_by_the_next(store):
    """What a killed program left open is ended at its last reading, with its figures."""
    link = Script(_readings(60), RuntimeError)
    with pytest.raises(RuntimeError):
        temper_by_hand(PLAN, link, store, Heard())
    assert store.run(1).ended_utc_ms is None
    later = Script([r._replace(seq=r.seq + 500, at_ms=r.at_ms + 500_000) for r in _readings(60)],
                   KeyboardInterrupt)  # fmt: skip
    assert temper_by_hand(PLAN, later, store, Heard()).run_id == 2
    closed = store.run(1)
    assert (closed.outcome, "was killed" in closed.words) == ("unfinished", True)
    assert store.figures(1)["minutes_working"] > 0
    assert len(store.readings(2)) == 60


def test_ctrl_c_pressed_twice_closes_the_record_all_the_same(store, monkeypatch):
    """The second press comes while the end is written: figures and words are there."""
    ends = []
    real = store.end_run

    def impatient(*given):
        ends.append(given)
        if len(ends) == 1:
            raise KeyboardInterrupt
        real(*given)

    monkeypatch.setattr(store, "end_run", impatient)
    result = temper_by_hand(PLAN, Script(_readings(), KeyboardInterrupt), store, Heard())
    assert store.run(result.run_id).words == result.words
    assert result.words == "Tempered by hand. Stayed 5 of 5 minutes in the window."
    assert store.figures(result.run_id)["minutes_in_window"] > 4


def test_the_record_of_it_says_what_that_of_a_rig_says(store):
    """Steps, questions, answers and moulds by their time, between what the rig itself told; the
    journal of the rig is followed as before, and a second batch of that boot keeps its own."""
    link, heard = Script(_readings(), KeyboardInterrupt), Heard()
    link._records.insert(50, Event(4, 140_500, "hands", 1, 0))
    heard.presses_at = [40, 120, 180]
    first = temper_by_hand(PLAN._replace(lots=("24-117",)), link, store, heard)
    told = [(e.at_ms // 1000, e.kind, e.a, e.b) for e in store.events(first.run_id)]
    assert told[:4] == [(100, "step", 1, 4), (122, "reached", 1, 31_400), (122, "step", 2, 5),
                        (122, "prompt", 3, 0)]  # fmt: skip
    assert [(kind, a) for _, kind, a, _ in told[4:]] == [
        ("hands", 1), ("answered", 3), ("added", 3), ("added", 3),
    ]  # fmt: skip
    assert [at_s for at_s, *_ in told] == sorted(at_s for at_s, *_ in told)
    assert store.last_seq(1) == (341, 4)
    store.add_gap(1, "events", 0, 1, "lost before it began")
    assert store.gaps(1) == []
    words = [line.words for line in show_run(store, 1).events]
    assert words[:2] == ["rewarm begins", "31.4 °C reached"]
    assert "pouring begins: 2 portions in" in words[-1]
    assert [use.lot for use in store.uses()] == ["24-117"]
    kept = store.readings(1)
    assert {(r.target_mc, r.plate_mc) for r in kept} == {(31_500, None)}
    figures = store.figures(1)
    assert figures["pour_in_window_share"] == 1.0 and figures["pour_minutes"] > 1
    again = Script([r._replace(seq=r.seq + 500, at_ms=r.at_ms + 500_000) for r in _readings(60)],
                   KeyboardInterrupt)  # fmt: skip
    second = temper_by_hand(PLAN, again, store, Heard())
    assert [e.kind for e in store.events(second.run_id)] == ["step", "reached", "step", "prompt"]
    assert len(store.events(first.run_id)) == len(told)


def test_without_an_event_of_the_rig_its_journal_is_followed_from_the_first(store):
    """Events of our own are none of its numbers."""
    temper_by_hand(PLAN, Script(_readings(30), KeyboardInterrupt), store, Heard())
    assert store.last_seq(1) == (71, -1)
    assert store.gaps(1) == []


def test_the_simulated_person_answers_20_s_after_each_question(store):
    """On the virtual rig nobody sits at the keys."""
    plan = PLAN._replace(answers_itself=True)
    temper_by_hand(plan, Script(_readings(), KeyboardInterrupt), store, Heard())
    by_kind = {e.kind: e.at_ms for e in store.events(1)}
    assert 20_000 <= by_kind["answered"] - by_kind["prompt"] < 30_000
