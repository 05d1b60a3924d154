"""What a record of commissioning says: only passed, signed, recent and of this rig counts."""

import pytest

from rigfw.commissioned import cap_permille
from snapgloss.base.errors import InputError
from snapgloss.rigs.commissioning import (
    DAY_MS,
    Entry,
    There,
    board_of,
    check_proof,
    is_proof,
    judged,
    open_steps,
    proof,
    simulated_keys,
    state_words,
    states,
    verdict,
)
from snapgloss.rigs.commissioning_steps import BEFORE, KEYS, MONTHLY, STEPS, steps_of
from snapgloss.rigs.description import BENCH_RIG

NOW = 1_800_000_000_000
CRC = "0123abcd"


def entry(key: str, **changes: object) -> Entry:
    """A passed, signed step of a real rig, an hour ago."""
    usual = Entry(
        NOW - 3_600_000, key, "passed", 1.0, "as it must be", "Maar", "pico-1", CRC, False
    )
    return usual._replace(**changes)


def all_passed() -> list[Entry]:
    """Every step, passed."""
    return [entry(key) for key in KEYS]


def test_everything_passed_and_signed_gives_the_proof() -> None:
    """No step is open; the board reads the proof as its own and gives all heat."""
    found = states(all_passed(), CRC, NOW)
    assert open_steps(found) == []
    rig_text = BENCH_RIG.to_config_text()
    assert cap_permille(proof(found, rig_text), rig_text, 100) == 1000
    assert "may have all of its heat" in verdict(found)


def test_nothing_done_is_all_open() -> None:
    """An empty record: every step open, in order, and 20 W."""
    found = states([], CRC, NOW)
    assert [one.step.key for one in open_steps(found)] == list(KEYS)
    assert "at most 20 W" in verdict(found)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize(
    ("changes", "state"),
    [
        ({"result": "failed"}, "failed"),
        ({"result": "skipped"}, "skipped"),
        ({"name": "  "}, "unsigned"),
        ({"rig_crc": "ffffffff"}, "open"),
        ({"at_utc_ms": NOW + 2 * DAY_MS}, "due"),
    ],
)
def test_any_one_step_that_does_not_count_keeps_the_proof_back(
    key: str, changes: dict[str, object], state: str
) -> None:
    """Failed, skipped, unsigned, of another description, of a day to come: no proof."""
    entries = [entry(one, **changes) if one == key else entry(one) for one in KEYS]
    found = states(entries, CRC, NOW)
    assert [(one.step.key, one.state) for one in open_steps(found)] == [(key, state)]
    with pytest.raises(InputError, match=f"first: {key}"):
        proof(found, BENCH_RIG.to_config_text())


CHOCOLATE, PLATE, SPARE = "ds18b20,2801", "ds18b20,2802", "ds18b20,2803"


@pytest.mark.parametrize(
    ("now", "again"),
    [
        (f"{CHOCOLATE} {PLATE}", []),
        (f"{SPARE} {PLATE}", ["ice_point", "warm_bath", "probes_agree"]),
        (f"{CHOCOLATE} {SPARE}", ["probes_agree"]),
        (f"{PLATE} {CHOCOLATE}", ["ice_point", "warm_bath", "probes_agree"]),
        ("", []),
    ],
)
def test_a_probe_that_was_swapped_is_proved_anew(now: str, again: list[str]) -> None:
    """Its own steps and no others; a chocolate and a plate probe in each other's place, too."""
    entries = [entry(key, probes=f"{CHOCOLATE} {PLATE}") for key in KEYS]
    found = states(entries, CRC, NOW, there=There("pico-1", now))
    assert [one.step.key for one in open_steps(found)] == again
    assert {one.state for one in open_steps(found)} <= {"other_probe"}


def test_another_board_is_proved_anew() -> None:
    """The first step on a new board: all that was done on the old one does not count any more."""
    entries = [*all_passed(), entry("ice_point", board="pico-2")]
    assert board_of(entries, CRC) == "pico-2"
    found = states(entries, CRC, NOW, there=There(board_of(entries, CRC)))
    assert {one.step.key: one.state for one in found} == {
        key: "passed" if key == "ice_point" else "other_board" for key in KEYS
    }
    with pytest.raises(InputError, match="of another board"):
        proof(found, BENCH_RIG.to_config_text())
    assert board_of([entry("fuses", board="v", simulated=True)], CRC) == ""


def test_the_last_entry_counts() -> None:
    """Failed, then done again and passed; passed, then failed on another day."""
    again = [*all_passed(), entry("ice_point", result="failed")]
    assert [one.step.key for one in open_steps(states(again, CRC, NOW))] == ["ice_point"]
    again.append(entry("ice_point"))
    assert open_steps(states(again, CRC, NOW)) == []


def test_monthly_steps_fall_due_to_the_day() -> None:
    """31 days after: due; a day before: not yet. What is proved once stays."""
    monthly = [step.key for step in STEPS if step.days]
    old = [entry(key, at_utc_ms=NOW - MONTHLY * DAY_MS) for key in KEYS]
    assert [one.step.key for one in open_steps(states(old, CRC, NOW))] == monthly
    younger = [entry(key, at_utc_ms=NOW - (MONTHLY - 1) * DAY_MS) for key in KEYS]
    assert open_steps(states(younger, CRC, NOW)) == []
    assert {"stop_in_test", "probe_unplugged", "node_sense", "ice_point"} <= set(monthly)


def test_simulated_steps_prove_nothing() -> None:
    """One simulated step among all: no proof for a board."""
    entries = [entry(key, simulated=key == "ice_point") for key in KEYS]
    with pytest.raises(InputError, match="1 steps were simulated"):
        proof(states(entries, CRC, NOW), BENCH_RIG.to_config_text())


def test_a_record_of_simulated_steps_says_so_wherever_it_is_read() -> None:
    """All passed on a simulated rig: each state and the verdict say it; none allows all heat."""
    found = states([entry(key, simulated=True) for key in KEYS], CRC, NOW)
    assert {state_words(one) for one in found} == {"passed, simulated"}
    assert simulated_keys(found) == list(KEYS)
    assert "proves nothing about a rig on a bench" in verdict(found)
    assert "may have all of its heat" not in verdict(found)
    real = states(all_passed(), CRC, NOW)
    assert {state_words(one) for one in real} == {"passed"}


@pytest.mark.parametrize(
    ("has_sense", "has_tacho", "open_keys"),
    [
        (False, False, []),
        (True, False, ["node_sense"]),
        (False, True, ["stirrer_stalled"]),
        (True, True, ["node_sense", "stirrer_stalled"]),
    ],
)
def test_a_rig_is_proved_with_what_it_has(
    has_sense: bool, has_tacho: bool, open_keys: list[str]
) -> None:
    """Every step passed that a bare rig has: a sense or a tachometer adds its own."""
    entries = [entry(key) for key in KEYS if key not in ("node_sense", "stirrer_stalled")]
    found = states(entries, CRC, NOW, steps_of(has_sense, has_tacho))
    assert [one.step.key for one in open_steps(found)] == open_keys


def test_a_step_that_no_program_knows_is_left_out() -> None:
    """An entry of another version changes nothing."""
    found = states([*all_passed(), entry("moon_phase", result="failed")], CRC, NOW)
    assert open_steps(found) == []


@pytest.mark.parametrize(
    ("key", "value", "result"),
    [
        ("ice_point", 0.5, "passed"),
        ("ice_point", -0.5, "passed"),
        ("ice_point", 0.51, "failed"),
        ("pull_downs", 2.9, "failed"),
        ("pull_downs", 11.1, "failed"),
        ("pull_downs", 10.2, "passed"),
        ("probe_unplugged", 5.0, "passed"),
        ("probe_unplugged", 5.25, "failed"),
        ("node_sense", 12, "passed"),
        ("node_sense", 7, "failed"),
        ("hang", 0, "failed"),
        ("outside", 48.5, "failed"),
        ("loop_opens", 1, "passed"),
        ("loop_opens", 0, "failed"),
        ("stuck_on", None, "failed"),
        ("ice_point", float("nan"), "failed"),
    ],
)
def test_figures_are_judged_by_the_bounds_of_their_step(
    key: str, value: float | None, result: str
) -> None:
    """At a bound passed, past it failed; no figure at all failed."""
    assert judged(key, value) == result


def test_each_barrier_has_a_step() -> None:
    """Stop loop, node, relay, probe out and off, cable, hang, stuck-on run: all there."""
    wanted = {
        "stop_in_test", "stop_with_hang", "relay_falls", "host_silent", "node_sense",
        "hang", "cable_out", "probe_unplugged", "probe_lifted", "stirrer_held", "ice_point",
        "warm_bath", "probes_agree", "stuck_on", "heat_balance", "cut_out_fitted", "pull_downs",
    }  # fmt: skip
    assert wanted <= set(KEYS)
    assert len(set(KEYS)) == len(KEYS)


def test_each_group_says_what_to_make_ready() -> None:
    """In the order of the steps, and heat is not before the lamp."""
    assert list(BEFORE) == list(dict.fromkeys(step.group for step in STEPS))


def test_a_proof_that_the_board_would_not_take_is_refused() -> None:
    """Every single character changed, empty, of another rig; whole and its own passes."""
    rig_text = BENCH_RIG.to_config_text()
    good = proof(states(all_passed(), CRC, NOW), rig_text)
    check_proof(good, rig_text, "proof.txt")
    check_proof(good, None, "proof.txt")
    for at in range(len(good)):
        bad = good[:at] + ("0" if good[at] != "0" else "1") + good[at + 1 :]
        with pytest.raises(InputError, match=r"proof\.txt is no proof, or is damaged"):
            check_proof(bad, None, "proof.txt")
    for bad in ("", "proof", good[:-1], good + "0"):
        assert not is_proof(bad)
    other = BENCH_RIG.model_copy(update={"heater_w": 75}).to_config_text()
    with pytest.raises(InputError, match="the proof of another rig"):
        check_proof(good, other, "proof.txt")
