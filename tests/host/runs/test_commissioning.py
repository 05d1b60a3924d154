"""Doing steps: what is written down, what is skipped, what a cut leaves, what the rig measures."""

from pathlib import Path
from typing import Any

import pytest

from rigwire.states import STATES
from rigwire.tables import PROMPTS
from snapgloss.base.errors import InputError, LinkError, RigError
from snapgloss.base.records import Reading
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.rigs.commissioning import Entry, state_words
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.probe_list import entry
from snapgloss.runs import commission_measures as measures
from snapgloss.runs import fitted
from snapgloss.runs.commission_drive import BatchDrive, Drive, StarvedError, Told
from snapgloss.runs.commission_place import Place
from snapgloss.runs.commissioning import Sheet, do_step, signed, wanted_keys
from snapgloss.runs.connect import introduce
from snapgloss.runs.fitted import Fitted
from snapgloss.runs.leases import StepPlan

TESTING, OFF, STOPPED, READY = (STATES.index(s) for s in ("testing", "off", "stopped", "ready"))


class Hands:
    """Answers as the test says."""

    pulls_cable = True

    def __init__(self, figure: float | None = 37.0, seen: bool | None = True) -> None:
        self.figure_is, self.seen_is = figure, seen
        self.leaves: BaseException | None = None
        self.said: list[str] = []
        self.acted: list[str] = []

    def begin(self, key: str) -> None:
        """Nothing to put right."""

    def say(self, words: str) -> None:
        """Keep."""
        self.said.append(words)

    def act(self, key: str) -> None:
        """Keep."""
        self.acted.append(key)

    def look_up(self) -> None:
        """Go on, or end as the test says."""
        if self.leaves is not None:
            raise self.leaves

    def ready(self, words: str) -> None:
        """Done."""
        self.said.append(words)

    def figure(self, words: str, unit: str) -> float | None:
        """As said."""
        return self.figure_is

    def seen(self, words: str, must: str) -> bool | None:
        """As said."""
        return self.seen_is


class Bench:
    """A scripted rig with somebody at it, and a sheet."""

    def __init__(self, data: Path) -> None:
        self.rig, self.hands = ScriptedRig(), Hands()
        self.clock = ScriptedClock(self.rig)
        link = introduce(self.rig, self.clock)
        self.place = Place(link, self.hands, BENCH_RIG, lambda: link, 5000.0)
        self.now_utc_ms = 1_800_000_000_000
        self.sheet = Sheet(data, BENCH_RIG, lambda: self.now_utc_ms)

    def readings(self, count: int, product_mc: int = 0, plate_mc: int = 0, **more: int) -> None:
        """So many readings, one a second, in off unless told otherwise."""
        state_no, heat = more.get("state_no", OFF), more.get("heat", 0)
        for _ in range(count):
            at_ms = 1000 * (len(self.rig.readings) + 1)
            self.rig.push_reading(
                (at_ms, state_no, 0, -300000, product_mc, plate_mc, 21000, heat, 0, 0, 0)
            )

    def flow(self, *spans: tuple[int, int]) -> None:
        """While the host waits, readings come: so many of each value, for both probes."""
        waiting, wait = list(spans), self.place.link.wait

        def with_readings(at_most_s: float) -> bool:
            if not waiting:
                return wait(at_most_s)
            count, mc = waiting.pop(0)
            self.readings(count, mc, mc)
            self.rig.settle()
            return True

        self.place.link.wait = with_readings  # type: ignore[method-assign]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """A rig, hands and an empty sheet."""
    return Bench(tmp_path)


def test_a_step_is_written_with_figure_name_board_and_description(bench: Bench) -> None:
    """A person's figure inside its bounds: passed, signed, of this rig, simulated as it says."""
    bench.hands.figure_is = 10.1
    entry = do_step("pull_downs", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value, entry.name) == ("passed", 10.1, "Maar")
    assert (entry.board, entry.simulated) == ("scripted", 1)
    assert entry.rig_crc == bench.sheet.rig_crc
    assert bench.sheet.entries() == [entry]


@pytest.mark.parametrize(
    ("key", "figure", "seen", "result"),
    [
        ("pull_downs", 47.0, None, "failed"),
        ("pull_downs", None, None, "skipped"),
        ("fuses", None, True, "passed"),
        ("fuses", None, False, "failed"),
        ("fuses", None, None, "skipped"),
    ],
)
def test_what_a_person_finds(
    bench: Bench, key: str, figure: float | None, seen: bool | None, result: str
) -> None:
    """Out of bounds and "not so" fail; passed over is written as skipped, and keeps it open."""
    bench.hands.figure_is, bench.hands.seen_is = figure, seen
    assert do_step(key, bench.place, bench.sheet, "Maar").result == result
    state = next(one for one in bench.sheet.states() if one.step.key == key)
    assert state.state == result


def test_only_open_steps_are_asked_for_again(bench: Bench) -> None:
    """After one is done the next begins; a repeat of one by name is one more entry."""
    first = wanted_keys((), bench.sheet)
    bench.hands.figure_is = 10.0
    do_step(first[0], bench.place, bench.sheet, "Maar")
    assert wanted_keys((), bench.sheet) == first[1:]
    assert wanted_keys((first[0],), bench.sheet) == [first[0]]
    do_step(first[0], bench.place, bench.sheet, "Quillby")
    assert [one.name for one in bench.sheet.entries()] == ["Maar", "Quillby"]
    with pytest.raises(InputError, match='No step is called "dance"'):
        wanted_keys(("dance",), bench.sheet)


def test_a_probe_swapped_between_its_steps_and_the_proof(bench: Bench, tmp_path: Path) -> None:
    """Deployed with another chocolate probe: its ice point is open again, a look at fuses not."""
    bench.rig.simulated = 0
    bench.place.link.hello("test")
    keep_probes(tmp_path, "2801001a2b00005f")
    bench.flow((3, 5000), (40, 125))
    assert do_step("ice_point", bench.place, bench.sheet, "Maar").result == "passed"
    do_step("fuses", bench.place, bench.sheet, "Maar")
    assert {"ice_point", "fuses"}.isdisjoint(wanted_keys((), bench.sheet))
    keep_probes(tmp_path, "2802001a2b0000aa")
    assert [key for key in wanted_keys((), bench.sheet) if key in ("ice_point", "fuses")] == [
        "ice_point"
    ]
    state = next(one for one in bench.sheet.states() if one.step.key == "ice_point")
    assert state_words(state) == "of another probe"


def keep_probes(data: Path, number: str) -> None:
    """As deploy writes down what it put on the scripted board."""
    fitted.keep(data, "scripted", {"chocolate": Fitted(entry(f"ds18b20,{number}"), None)}, 0)


def test_another_description_begins_anew(bench: Bench, tmp_path: Path) -> None:
    """The same rig with another heater: nothing of its record counts."""
    bench.hands.figure_is = 10.0
    do_step("pull_downs", bench.place, bench.sheet, "Maar")
    other = Sheet(tmp_path, BENCH_RIG.model_copy(update={"heater_w": 75}), lambda: 0)
    assert other.path == bench.sheet.path
    assert {one.state for one in other.states()} == {"open"}


def test_a_name_must_sign() -> None:
    """Nobody, or a name of two lines, signs nothing."""
    for name in ("", "  ", "Maar\nQuillby"):
        with pytest.raises(InputError):
            signed(name)
    assert signed(" Maar ") == "Maar"


def test_ice_point_is_the_mean_of_half_a_minute(bench: Bench) -> None:
    """30 readings after the first three: 0.125 degC, passed; before them something else."""
    bench.flow((3, 5000), (40, 125))
    entry = do_step("ice_point", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == ("passed", 0.125)


def test_a_bath_is_judged_against_the_thermometer(bench: Bench) -> None:
    """37.75 against 37.0: 0.75 off, failed; a bath of 30 degC is none and is not written."""
    bench.flow((40, 37_750))
    entry = do_step("warm_bath", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == ("failed", 0.75)
    bench.hands.figure_is = 30.0
    bench.flow((40, 30_000))
    with pytest.raises(InputError, match="not between 35 and 40"):
        do_step("warm_bath", bench.place, bench.sheet, "Maar")
    assert len(bench.sheet.entries()) == 1


def test_a_probe_that_drops_out_fails_its_step(bench: Bench) -> None:
    """One missing reading among thirty: no mean is made up."""
    bench.flow((20, 0), (1, -300_000), (20, 0))
    assert do_step("ice_point", bench.place, bench.sheet, "Maar").result == "failed"


def test_a_locked_rig_says_why(bench: Bench) -> None:
    """Its own words, whether it has a display or not; nothing is written."""
    bench.rig.state_no = STATES.index("locked")
    why = "the rig is locked: a probe that is not in the list"
    bench.rig.answers["ask_test"] = ("no", ("locked", why))
    with pytest.raises(RigError, match="a probe that is not in the list"):
        do_step("host_silent", bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


def test_a_rig_that_falls_silent_leaves_no_entry(bench: Bench) -> None:
    """Cut short: nothing is written, the step stays open."""
    with pytest.raises(RigError, match="tells no readings"):
        do_step("ice_point", bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


def test_a_cable_pulled_in_a_step_leaves_no_entry(bench: Bench) -> None:
    """The link's error goes up; nothing is written."""
    bench.rig.then["hello"] = bench.rig.unplug
    with pytest.raises(LinkError):
        do_step("probes_agree", bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


def test_a_rig_whose_board_was_out_is_asked_for_and_heard_again(bench: Bench) -> None:
    """Steps without power take it out of its socket: the next that needs it opens a new link."""
    old, fresh = bench.place.link, Bench(Path("unused"))
    bench.rig.unplug()
    bench.place.reopen = lambda: fresh.place.link
    fresh.place.hands = bench.hands
    fresh.flow((3, 5000), (40, 125))
    entry = do_step("ice_point", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == ("passed", 0.125)
    assert bench.place.link is fresh.place.link is not old
    assert any("not heard" in words for words in bench.hands.said)


@pytest.mark.parametrize("key", ["probes_agree", "stuck_on"])
def test_without_a_plate_probe_no_cut_out_can_be_chosen(bench: Bench, key: str) -> None:
    """Said in words before anything is driven; nothing is written."""
    bench.place.rig = BENCH_RIG.model_copy(update={"has_plate": False})
    with pytest.raises(RigError, match="no cut-out can be chosen"):
        do_step(key, bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


def test_a_real_rigs_words_carry_no_mark(bench: Bench) -> None:
    """The same step on a rig that is none of the simulated: the figure alone."""
    assert bench.place.link.identity is not None
    bench.place.link.identity = bench.place.link.identity._replace(simulated=False)
    bench.hands.figure_is = 10.1
    entry = do_step("pull_downs", bench.place, bench.sheet, "Maar")
    assert (entry.simulated, entry.words) == (False, "10.1 kΩ; must be: 3 to 11 kΩ")


@pytest.mark.parametrize("state", ["ready", "melting", "testing", "locked"])
def test_a_busy_rig_begins_no_step(bench: Bench, state: str) -> None:
    """Only off or finished; a locked rig measures nothing."""
    bench.rig.state_no = STATES.index(state)
    with pytest.raises(RigError, match="the step cannot begin"):
        do_step("ice_point", bench.place, bench.sheet, "Maar")


def test_a_stop_of_the_step_before_is_cleared_at_the_rig(bench: Bench) -> None:
    """Stopped: the person is told to put it right and press; still stopped, it does not begin."""
    bench.rig.state_no = STOPPED
    with pytest.raises(RigError, match="The rig is stopped"):
        do_step("ice_point", bench.place, bench.sheet, "Maar")
    assert any("press the rig's button" in words for words in bench.hands.said)


def pressed(bench: Bench, *later: Any) -> None:
    """After the request: the window, the press, then what comes, one call with each lease."""
    steps = list(later)

    def lease() -> None:
        if steps:
            steps.pop(0)()
            bench.rig.then["lease"] = lease

    def press() -> None:
        bench.rig.push_event(1000, "state", READY, OFF)
        bench.rig.push_event(3000, "state", TESTING, READY)
        bench.rig.then["lease"] = lease

    bench.rig.then["ask_test"] = press


def drive(bench: Bench, **more: Any) -> Any:
    """A drive of a minute."""
    plan = StepPlan(150, 0, 200, 60_000, 60)
    return Drive(bench.place.link, plan, bench.hands, **more).run()


def end(bench: Bench, at_ms: int, state_no: int = OFF, stop: int = 0) -> None:
    """The test is over."""
    bench.rig.push_event(at_ms, "state", state_no, TESTING)
    if stop:
        bench.rig.push_event(at_ms, "stop", stop, 0)


def test_a_stop_is_told_with_its_code_and_time(bench: Bench) -> None:
    """State first, its reason after: both are waited for."""
    pressed(
        bench,
        lambda: bench.readings(2, 21000, 21000, state_no=TESTING, heat=150),
        lambda: end(bench, 2500, STOPPED, 7),
    )
    told = drive(bench)
    assert (told.stop_code, told.stopped_ms, told.ended_ms) == (7, 2500, 2500)
    assert told.last_ms(lambda one: one.heat_permille > 0) == 2000


def test_the_stop_button_is_asked_for_in_words(bench: Bench) -> None:
    """After each reset the rig wants it tried first: the person hears so, then is pressed on."""
    pressed(
        bench,
        lambda: bench.rig.push_event(1500, "prompt", PROMPTS.index("press_stop"), 0),
        lambda: bench.readings(2, 21000, 21000, state_no=TESTING, heat=150),
        lambda: end(bench, 2500, STOPPED, 7),
    )
    drive(bench)
    assert any(words.startswith("First try the stop button") for words in bench.hands.said)


def test_nobody_pressing_is_no_finding(bench: Bench) -> None:
    """The window closes: an error, not a failed step."""
    bench.rig.then["ask_test"] = lambda: (
        bench.rig.push_event(1000, "state", READY, OFF),
        bench.rig.push_event(181_000, "state", OFF, READY),
    )
    with pytest.raises(RigError, match="nobody pressed"):
        drive(bench)


@pytest.mark.parametrize("asks", ["ask_test", "ask_start"])
def test_a_window_is_kept_by_leases_and_let_go_with_the_host(bench: Bench, asks: str) -> None:
    """Of a test and of a batch. While nobody presses each second sends a lease: the rig closes a
    window whose leases end (tests/shared/test_fw_edges_testing.py), so a killed host leaves none
    open."""
    asked: list[str] = []
    bench.rig.answers["lease"] = ("no", ("no_test", "no test is running"))

    def close_it() -> None:
        asked.append("lease")
        if len(asked) < 3:
            bench.rig.then["lease"] = close_it
        else:
            bench.rig.push_event(181_000, "state", OFF, READY)

    bench.rig.then[asks] = lambda: bench.rig.push_event(1000, "state", READY, OFF)
    bench.rig.then["lease"] = close_it
    with pytest.raises(RigError, match="nobody pressed"):
        if asks == "ask_test":
            drive(bench)
        else:
            BatchDrive(bench.place.link, b"[1]", bench.hands, lambda: None, 30).run()
    assert asked == ["lease"] * 3
    names = [m.name for m in bench.rig.done]
    assert names[names.index(asks) - 1] == "lease"


@pytest.mark.parametrize(
    ("closed_ms", "kind", "words"),
    [(9000, StarvedError, "too slow to keep it"), (3000, RigError, "nobody pressed")],
)
def test_a_window_that_this_computer_let_go_is_no_finding(
    bench: Bench, closed_ms: int, kind: type[RigError], words: str
) -> None:
    """Closed 8 s after the last word from here, long before its time: done again. Closed while
    it was kept, as by a hand: nobody pressed."""
    bench.rig.answers["lease"] = ("no", ("no_test", "no test is running"))
    bench.rig.then["ask_test"] = lambda: (
        bench.rig.push_event(1000, "state", READY, OFF),
        bench.rig.push_event(closed_ms, "state", OFF, READY),
    )
    with pytest.raises(kind, match=words) as refused:
        drive(bench)
    assert type(refused.value) is kind


@pytest.mark.parametrize("leaves", [KeyboardInterrupt(), RuntimeError("a fault of ours")])
def test_whoever_ends_a_drive_turns_the_rig_off(bench: Bench, leaves: BaseException) -> None:
    """Ctrl-C and faults of ours alike: off is sent, before the press as after it."""
    bench.hands.leaves = leaves
    with pytest.raises(type(leaves)):
        drive(bench)
    assert [one.name for one in bench.rig.done][-1] == "off"


def test_leases_that_came_too_late_are_no_finding(bench: Bench) -> None:
    """The rig ended by itself 5 s after the last lease: this computer's fault, said so."""
    pressed(
        bench,
        lambda: bench.readings(2, 21000, 21000, state_no=TESTING),
        lambda: end(bench, 9000),
    )
    with pytest.raises(RigError, match="too slow with its leases"):
        drive(bench)


def refuse_test(bench: Bench, words: str) -> None:
    """The rig says no to the next request for a test."""
    bench.rig.answers["ask_test"] = ("no", ("not_in_order", words))


@pytest.mark.parametrize(
    ("words", "result"),
    [
        ("the stop button is pressed or its wire is open", "passed"),
        ("there is no bowl on the plate", "failed"),
        (None, "failed"),
    ],
)
def test_a_pressed_stop_button_must_be_what_refuses_a_start(
    bench: Bench, words: str | None, result: str
) -> None:
    """Refused for it: passed. For another reason, or not at all: failed, and the rig is off."""
    if words:
        refuse_test(bench, words)
    entry = do_step("stop_when_off", bench.place, bench.sheet, "Maar")
    assert entry.result == result
    assert [one for one in bench.hands.said if "stop button" in one][-2:] == [
        "Press the stop button and leave it pressed.", "Turn the stop button free.",
    ]  # fmt: skip
    asked = [one.name for one in bench.rig.done if one.name in ("ask_test", "off")]
    assert asked == (["ask_test"] if words else ["ask_test", "off"])


@pytest.mark.parametrize(("code", "result"), [(7, "passed"), (0, "failed"), (12, "failed")])
def test_in_the_start_window_the_stop_button_stops(bench: Bench, code: int, result: str) -> None:
    """By the stop loop; a window that closed by itself, or another stop, fails."""

    def pressed_stop(_key: str) -> None:
        bench.rig.push_event(4000, "state", STOPPED if code else OFF, READY)
        if code:
            bench.rig.push_event(4000, "stop", code, 0)

    bench.hands.act = pressed_stop  # type: ignore[method-assign]

    def opened() -> None:
        bench.rig.push_event(1000, "state", READY, OFF)
        bench.readings(3, 21_000, 21_000, state_no=READY)

    bench.rig.then["ask_test"] = opened
    bench.rig.answers["lease"] = ("no", ("no_test", "no test is running"))
    entry = do_step("stop_in_window", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == (result, code)


def test_a_window_that_wants_the_stop_button_tried_is_no_finding(bench: Bench) -> None:
    """There a press does not stop: said which step comes first, nothing is written."""
    bench.rig.then["ask_test"] = lambda: (
        bench.rig.push_event(1000, "state", READY, OFF),
        bench.rig.push_event(1000, "prompt", PROMPTS.index("press_stop"), 0),
    )
    with pytest.raises(RigError, match="wants its stop button tried first"):
        do_step("stop_in_window", bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []
    assert [one.name for one in bench.rig.done][-1] == "off"


@pytest.mark.parametrize(("cause", "result"), [(4, "passed"), (3, "failed"), (0, "failed")])
def test_a_held_stirrer_must_be_why_the_batch_pauses(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, cause: int, result: str
) -> None:
    """By its tachometer; not by the reading of hands, nor by a batch that went on. Then off."""
    monkeypatch.setattr(Drive, "run", lambda _drive: Told(hands_cause=cause, ended_ms=9000))
    bench.flow((40, 41_000))
    entry = do_step("stirrer_stalled", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == (result, cause)
    assert [one.name for one in bench.rig.done][-1] == "off"


@pytest.mark.parametrize("key", ["stirrer_held", "warm_bath"])
def test_a_figure_passed_over_in_a_step_of_the_rig_is_skipped(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    """As anywhere else: written down as skipped, not as failed."""
    monkeypatch.setattr(Drive, "run", lambda _drive: Told())
    bench.hands.figure_is = None
    bench.flow((40, 37_000))
    entry = do_step(key, bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.words) == ("skipped", "simulated, figure invented: passed over")


def stuck(bench: Bench, monkeypatch: pytest.MonkeyPatch, end_mc: int) -> Entry:
    """A stuck-on run of 20 W in a room of 21 degC whose plate levels out there."""
    plates = [end_mc - (end_mc - 21_000) * 0.99**second for second in range(360)]
    told = Told([
        Reading(at, 1000 * at, "testing", 0, 30_000, 30_000, round(plate), 21_000, 200, 0, 0, 0)
        for at, plate in enumerate(plates)
    ])  # fmt: skip
    monkeypatch.setattr(Drive, "run", lambda _drive: told)
    return do_step("stuck_on", bench.place, bench.sheet, "Maar")


def test_a_stuck_on_run_chooses_the_cut_out_by_hand(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """38.4 degC at 20 W of 100: at most 21 + 17.4 x 5 = 108; hottest plate 48 + 100 / 15 = 54.7,
    so 65 to 100 degC; 65, its link 84. At least 21 + 17.4 x 5^0.8 = 84 degC: it opens."""
    entry = stuck(bench, monkeypatch, 38_400)
    assert (entry.result, round(entry.value or 0, 1)) == ("passed", 38.4)
    assert entry.words == (
        "simulated: 38.40 °C; Cut-out: rated 65 °C (possible: 65 to 100); thermal link 84 °C."
    )


def test_a_stuck_on_run_that_no_cut_out_fits_fails(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """30 degC at 20 W: at most 66 with all heat; 65 opens at 70 at the latest: never. The record
    says why."""
    entry = stuck(bench, monkeypatch, 30_000)
    assert entry.result == "failed"
    assert "No cut-out fits" in entry.words and "a thicker plate" in entry.words


def test_the_old_journal_is_not_taken_for_new(bench: Bench) -> None:
    """A stop of an hour ago stands in the rig's journal; a test that runs well has none."""
    bench.rig.push_event(10, "stop", 7, 0, heard=False)
    pressed(
        bench,
        lambda: bench.readings(2, 21000, 21000, state_no=TESTING),
        lambda: end(bench, 60_000),
    )
    bench.place.link.lease = lambda *_powers: bench.rig.then.pop("lease", lambda: None)()
    assert drive(bench, lease_s=1).stop_code == 0


@pytest.mark.parametrize(("figure", "result"), [(0.6, "passed"), (2.4, "failed")])
def test_the_stirrer_is_driven_while_a_person_holds_it(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, figure: float, result: str
) -> None:
    """The stirrer alone at full speed, no heat; the current is asked for when it stands again."""
    plans: list[StepPlan] = []

    def run(drive: Drive) -> Told:
        plans.append(drive._plan)
        return Told(ended_ms=20_000)

    monkeypatch.setattr(Drive, "run", run)
    bench.hands.figure_is = figure
    entry = do_step("stirrer_held", bench.place, bench.sheet, "Maar")
    assert (entry.result, entry.value) == (result, figure)
    assert [plan.powers for plan in plans] == [(0, 0, 1000)]


DRIVEN = ["stop_in_test", "host_silent", "node_sense", "probe_unplugged", "stuck_on"]


@pytest.mark.parametrize("key", [*DRIVEN, "cable_out"])
def test_a_rig_that_loses_its_power_in_a_step_leaves_no_entry(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    """It starts anew: cut short, not failed. Only the hang asks for a new start."""
    monkeypatch.setattr(Drive, "run", lambda _drive: Told(is_new_boot=True))
    with pytest.raises(RigError, match="started anew in the middle"):
        do_step(key, bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


@pytest.mark.parametrize("key", DRIVEN)
def test_a_cable_that_comes_out_in_a_step_leaves_no_entry(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    """Only one step asks for it; the others are done again."""
    monkeypatch.setattr(Drive, "run", lambda _drive: Told(is_cable_out=True))
    with pytest.raises(LinkError, match="came out in the middle"):
        do_step(key, bench.place, bench.sheet, "Maar")
    assert bench.sheet.entries() == []


@pytest.mark.parametrize(
    ("nonce", "board", "state", "result"),
    [
        (78, "scripted", "off", "passed"),
        (78, "scripted", "locked", "passed"),
        (77, "scripted", "off", "failed"),
        (78, "another", "off", "failed"),
        (78, "scripted", "melting", "failed"),
    ],
)
def test_a_hang_ends_in_a_new_start_that_may_take_the_port_along(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, nonce: int, board: str, state: str, result: str
) -> None:
    """The link opened anew must find the same board, another start, and nothing driven."""
    monkeypatch.setattr(Drive, "run", lambda _drive: Told(is_cable_out=True))
    back = ScriptedRig()
    back.boot_nonce, back.board, back.state_no = nonce, board, STATES.index(state)
    bench.place.reopen = lambda: introduce(back, ScriptedClock(back))
    assert do_step("hang", bench.place, bench.sheet, "Maar").result == result


def test_every_rig_step_has_its_measure() -> None:
    """No step says "rig" that nothing measures, and no measure is of no step."""
    from snapgloss.rigs.commissioning_steps import STEPS

    assert set(measures.MEASURES) == {step.key for step in STEPS if step.how == "rig"}
