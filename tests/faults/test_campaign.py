"""The short forms of campaign.py, that each check it relies on is needed, and its table."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from campaign import bounds_s, campaign, hazards, run_fault
from campaign_cases import fault_case
from campaign_checks import CHECKS, removed
from campaign_healthy import healthy_case, what_fits
from campaign_table import INJECTIONS, NOT_RUN, NOTHING_BEGINS, Injection
from campaign_truth import Judge
from campaign_world import FaultRun

from snapgloss.chocolate.types import TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.maker import make
from snapgloss.virtual.plant import Drive

COUNT = len(INJECTIONS)
TRIES = 30
ALONE = [no for no, injection in enumerate(INJECTIONS) if injection.alone]


def test_no_fault_of_a_few_is_unsafe() -> None:
    """One of each injection, and three healthy sequences: all met, none unsafe, no false trip."""
    figures = campaign(COUNT, 11, 3, workers=1)
    assert figures["unsafe_seeds"] == {}
    assert figures["false_trip_seeds"] == {}
    assert (figures["not_met"], figures["runs"]) == ([], COUNT)
    assert figures["healthy_runs"] == 3


@pytest.mark.campaign
def test_no_fault_of_600_is_unsafe() -> None:
    """600 faulty runs within their bounds; 20 healthy ones without a stop."""
    figures = campaign(600, 12, 20)
    assert figures["unsafe_seeds"] == {}
    assert figures["false_trip_seeds"] == {}
    assert (figures["not_met"], figures["runs"]) == ([], 600)
    for row in figures["hazards"]:
        assert row["runs"] > 0, row


@pytest.mark.parametrize(
    "number", ALONE, ids=[f"{INJECTIONS[no].name}-{INJECTIONS[no].alone}" for no in ALONE]
)
def test_without_its_one_check_a_hazard_is_unsafe(number: int) -> None:
    """Of a few runs that are safe with it, one breaks the invariant once it is gone."""
    check = INJECTIONS[number].alone
    first = (1_300_000 // COUNT + 1) * COUNT + number
    for seed in range(first, first + TRIES * COUNT, COUNT):
        if run_fault(seed, check).unsafe:
            with_it = run_fault(seed)
            assert with_it.is_met and not with_it.unsafe, with_it
            return
    raise AssertionError(f"{TRIES} runs are safe without {check}")


def problems_of(rows: list[dict[str, object]], injections: tuple[Injection, ...]) -> list[str]:
    """What is wrong between the table of hazards and that of the campaign."""
    met = {injection.hazard for injection in injections}
    alone = {injection.hazard for injection in injections if injection.alone}
    found = []
    for row in rows:
        key = str(row["key"])
        if key not in met and key not in NOT_RUN:
            found.append(f"{key}: no injection, and no reason why not")
        if key in met and key in NOT_RUN:
            found.append(f"{key}: both met and not met")
        if key in met and "bound_s" not in row:
            found.append(f"{key}: no bound_s")
        if key not in met and "bound_s" in row:
            found.append(f"{key}: a bound_s that nothing holds it to")
        if key in met and key not in alone:
            found.append(f"{key}: no run that hangs on one check")
        is_hardware = row["status"] == "hardware only"
        if NOT_RUN.get(key) == "hardware only" and not is_hardware:
            found.append(f"{key}: the firmware does answer for it")
    known = {str(row["key"]) for row in rows}
    found += [f"{key}: no row of hazards.toml" for key in sorted((met | set(NOT_RUN)) - known)]
    return found


def test_every_hazard_is_a_row_of_the_campaign_or_has_its_reason() -> None:
    """The two tables agree, and every check that is taken away belongs to an injection."""
    assert problems_of(hazards(), INJECTIONS) == []
    assert {injection.alone for injection in INJECTIONS} - {""} == set(CHECKS)
    assert {injection.hazard for injection in INJECTIONS} >= NOTHING_BEGINS


def test_the_comparison_of_the_tables_can_fail() -> None:
    """A row without an injection, an injection without a row, and a missing bound are named."""
    rows = hazards()
    more = [*rows, {"key": "moonlight", "status": "covered"}]
    assert problems_of(more, INJECTIONS) == ["moonlight: no injection, and no reason why not"]
    less = [row for row in rows if row["key"] != "stop_loop"]
    assert problems_of(less, INJECTIONS) == ["stop_loop: no row of hazards.toml"]
    bare = [{k: v for k, v in row.items() if (row["key"], k) != ("no_rise", "bound_s")}
            for row in rows]  # fmt: skip
    assert problems_of(bare, INJECTIONS) == ["no_rise: no bound_s"]
    without = tuple(one for one in INJECTIONS if one.hazard != "memory_low")
    assert "memory_low: no injection, and no reason why not" in problems_of(rows, without)


def test_it_is_looked_at_every_100_ms_from_the_boot_on() -> None:
    """Ten looks for each second of simulated time, those before the press among them."""
    run = FaultRun(fault_case(17, bounds_s()))
    outcome = run.run()
    assert outcome.looks == run.lockstep.at_ms // 100
    assert run.person.pressed_at_ms is not None
    assert run.person.pressed_at_ms >= 20_000


def test_heat_before_the_press_is_unsafe() -> None:
    """A judge that sees power while nobody has pressed says so."""
    run = FaultRun(fault_case(0, bounds_s()))
    judge = Judge(run.case)
    judge.look(1.0, None, run.plant, Drive(heat=1.0), False, 0.0)
    assert judge.unsafe == "at 1.0 s: heat before the press"


def test_one_check_is_taken_away_and_comes_back() -> None:
    """Inside it is another thing, afterwards the same as before."""
    for name, check in CHECKS.items():
        before = getattr(check.holder, check.name)
        with removed(name):
            assert getattr(check.holder, check.name) is not before, name
        assert getattr(check.holder, check.name) is before, name


def test_healthy_batches_are_drawn_from_the_whole_range() -> None:
    """Rooms and masses within theirs; what the forecast refuses is drawn again."""
    for seed in range(2):
        setup = healthy_case(seed).case.setup
        assert 15.0 <= setup.room_c <= 35.0
        assert 250 <= setup.mass_g <= 6000


def test_a_room_near_the_low_point_melts_and_holds_only() -> None:
    """Dark chocolate is cooled to 28 degC: not in 26.1 degC any more, where it is kept as well."""
    dark = make(TYPES["dark"], BENCH_RIG, 2000, "cooled", "solid")
    low_c = min(step.target_mc for step in dark.steps) / 1000
    assert what_fits(dark, low_c - 2.0) == dark
    warm = what_fits(dark, low_c - 1.9)
    assert warm is not None
    assert {step.kind for step in warm.steps} == {"melt", "rest"}
    kept = make(TYPES["dark"], BENCH_RIG, 2000, "kept", "in_temper")
    assert what_fits(kept, 34.0) is None
