"""The short forms of campaign.py, that each check it relies on is needed, and its table."""

import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from campaign import bounds_s, campaign, hazards, run_fault, seeds_of, summary
from campaign_cases import fault_case
from campaign_checks import CHECKS, removed
from campaign_healthy import healthy_case, what_fits
from campaign_table import (
    INJECTIONS,
    NOT_RUN,
    NOTHING_BEGINS,
    OUT_BY_HEAT,
    OUT_PRESSED,
    Injection,
)
from campaign_truth import Judge
from campaign_world import FaultRun, Outcome

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


WARM_ROOM = next(no for no, one in enumerate(INJECTIONS) if one.acts == ("warm_room",))
PROBE_OUT = next(
    case for case in (fault_case(WARM_ROOM + n * COUNT, bounds_s()) for n in range(TRIES))
    if case.row == "probe_out"
)  # fmt: skip
"""A probe out of a bowl so light that its bound is a time."""


def _probe_out_judge(
    parts: tuple[tuple[float, float, float], ...], pressed_part: int | None = None
) -> Judge:
    """The judge of a probe that is out, after stretches of (s, K that it reads over the truth,
    share of heat) from the onset on. At the begin of `pressed_part` somebody presses."""
    case, judge = PROBE_OUT, Judge(PROBE_OUT)
    since_s, heat_j = case.onset_s, 0.0
    for number, (span_s, apart_k, share) in enumerate(parts):
        plant: Any = SimpleNamespace(
            product_c=31.0, plate_c=31.0, plate_probe_c=31.0,
            probe_c=31.0 + case.setup.probe_offset_c + apart_k,
            _heat_w=lambda drive: 100.0 * drive.heat,
        )  # fmt: skip
        for look in range(round(10 * span_s)):
            since_s += 0.1
            heat_j += 10.0 * share
            is_pressed = number == pressed_part and look == 0
            judge.look(since_s, since_s, plant, Drive(heat=share), is_pressed, heat_j)
    return judge


def test_a_probe_that_is_out_is_counted_from_where_it_parted_from_the_truth() -> None:
    """Heat for 60 s of 1.1 K is within the bound, 61 s are not, a pause in them or not."""
    assert _probe_out_judge(((100, 0.9, 1.0), (60, 1.1, 1.0))).unsafe == ""
    assert "heat on 60." in _probe_out_judge(((61, 1.1, 1.0),)).unsafe
    assert (
        "heat on 60." in _probe_out_judge(((30, 1.1, 1.0), (30, 1.1, 0.0), (1, 1.1, 1.0))).unsafe
    )


def test_a_probe_that_agrees_again_before_any_heat_is_counted_anew() -> None:
    """Where nothing was heated meanwhile: else what was heated blind counts on."""
    unheated = ((100, 1.1, 0.0), (1, 0.9, 0.0))
    assert _probe_out_judge((*unheated, (100, 0.9, 1.0))).unsafe == ""
    assert _probe_out_judge((*unheated, (60, 1.1, 1.0))).unsafe == ""
    assert "heat on 60." in _probe_out_judge((*unheated, (61, 1.1, 1.0))).unsafe
    assert _probe_out_judge(((1, 1.1, 1.0), (100, 0.9, 0.0), (1, 0.9, 1.0))).unsafe
    follow_s = _probe_out_judge(unheated).follow_s
    assert follow_s is not None
    assert follow_s == pytest.approx(PROBE_OUT.onset_s + 100.1)


def test_a_press_counts_from_there_and_hides_nothing_before_it() -> None:
    """30 s of heat, a press, 120 s: safe, and two figures. 61 s before it, or 121 after: not."""
    judge = _probe_out_judge(((30, 1.1, 1.0), (120, 1.1, 1.0)), 1)
    assert judge.unsafe == ""
    assert (judge.off_s, judge.pressed_s) == (pytest.approx(30), pytest.approx(120, abs=0.2))
    assert _probe_out_judge(((61, 1.1, 1.0), (1, 1.1, 1.0)), 1).unsafe
    assert _probe_out_judge(((30, 1.1, 1.0), (121, 1.1, 1.0)), 1).unsafe


def test_the_table_shows_pressed_runs_in_both_rows() -> None:
    """Before the press against the hazard's bound, after it against 120 s; each run is one run."""
    pressed = Outcome(
        1, "probe_out", "probe_out", True, 60.0, 31.0, None, 0.0, "", "off", 9, 100.0
    )
    quiet = pressed._replace(seed=2, off_s=42.0, pressed_s=None)
    heavy = pressed._replace(seed=3, row=OUT_BY_HEAT, bound_k=1.5, worst_k=0.4)
    figures = summary([pressed, quiet, heavy], [])
    assert figures["runs"] == 3
    rows = {row["id"]: row for row in figures["hazards"]}
    assert set(rows) == {"probe_out", OUT_PRESSED, OUT_BY_HEAT}
    told = [(row["runs"], row["bound_s"], row["worst_s"]) for row in rows.values()]
    assert (2, 60.0, 42.0) in told and (1, 120.0, 100.0) in told


def test_a_campaign_of_one_hazard_meets_no_other() -> None:
    """As many runs as were asked for, seed by seed; with none named, every one in its turn."""
    found = seeds_of(9, 3, hazard="probe_out")
    assert len(found) == 9
    assert {INJECTIONS[one % COUNT].hazard for one in found} == {"probe_out"}
    assert seeds_of(9, 3) == list(range(300_000, 300_009))
    assert {INJECTIONS[one % COUNT].alone for one in seeds_of(5, 3, "witness")} == {"witness"}


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
