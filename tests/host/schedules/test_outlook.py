"""Forecasts with a band: against worked heat balances, and what doubt makes of them."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from rigfw import landing
from snapgloss.base.errors import InputError
from snapgloss.chocolate.heat import melted_share
from snapgloss.chocolate.types import type_of
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules import outlook as outlook_module
from snapgloss.schedules import travel
from snapgloss.schedules.doubt import Doubt, Samples, described, draw, known, learned
from snapgloss.schedules.maker import make
from snapgloss.schedules.model import Step
from snapgloss.schedules.outlook import outlook
from snapgloss.schedules.travel import Bowls

DARK = type_of("dark")
SURE = Doubt(("heater_w",), np.array([[1e-8]]))


def step(kind: str, target_mc: int, hold_s: int = 0, wall_mc: int = 75_000) -> Step:
    """A step that nothing holds back."""
    return Step(kind=kind, target_mc=target_mc, hold_s=hold_s, rate_mc_per_min=20_000,
                wall_mc=wall_mc)  # fmt: skip


def worked(loss_w_per_k: float, heater_w: float = 150.0, fan_w_per_k: float = 0.0) -> Samples:
    """1.5 kg in a bowl of 0.3 kJ/K as warm as its chocolate, 46 kJ/kg, room 22."""
    figures = {
        "heater_w": heater_w, "plate_j_per_k": 300.0, "plate_w_per_k": 40.0,
        "loss_w_per_k": loss_w_per_k, "fan_loss_w_per_k": fan_w_per_k, "probe_lag_s": 0.1,
        "solid_share": 1.0, "specific": 1600.0, "latent": 46e3, "offset_c": 0.0, "room_c": 22.0,
    }  # fmt: skip
    return Samples(1.5, **{name: np.full(2, value) for name, value in figures.items()})


@pytest.fixture(autouse=True)
def no_landing(monkeypatch):
    """The heat balance alone."""
    monkeypatch.setattr(travel, "LANDING", {})


@pytest.mark.parametrize(("loss", "minutes"), [(0.0, 15.90), (1.5, 17.94), (2.0, 18.82)])
def test_melting_takes_the_worked_minutes(loss, minutes):
    """22 to 50 degC with 150 W: 67.2, 69.0 and 8.4 kJ over the power less the loss.

    Worked with the triangle of melting by numerical integration; here the firmware's 0.2 degC
    before the target is too late by so much: the target is 50.2. The plate runs ahead by 4 K.
    """
    leg = Bowls(worked(loss), 22.0, solid=True).leg(step("melt", 50_200), 0.0, 1)
    assert leg.reach_min[0] == pytest.approx(minutes, rel=0.04)
    energy_j = 150.0 * minutes * 60.0
    assert leg.heat_j[0] == pytest.approx(energy_j, rel=0.05)


@pytest.mark.parametrize(("fan", "minutes"), [(1.5, 19.0), (4.5, 9.5)])
def test_cooling_takes_the_worked_minutes(fan, minutes):
    """45 to 28.5 degC at 3 and 6 W/K in a room of 22: t = C/UA ln((45 - 22)/(28.5 - 22)).

    The bowl is colder than its chocolate by some tenths, the fan sees the less for it.
    """
    leg = Bowls(worked(1.5, fan_w_per_k=fan), 45.0, solid=False).leg(step("cool", 28_350), 0.0, 1)
    assert leg.reach_min[0] == pytest.approx(minutes, rel=0.12)


def test_however_warm_the_room_the_same_cooler_one_is_named(monkeypatch):
    """33, 36 and 45 °C: the warmest whole degree that works, which one more does not."""
    for other in ("_lighter", "_stronger"):
        monkeypatch.setattr(outlook_module, other, lambda asked: "")
    made = make(DARK, BENCH_RIG, 2000)
    named = set()
    for room_c in (33.0, 36.0, 45.0):
        with pytest.raises(InputError) as refused:
            outlook(made, BENCH_RIG, room_c)
        named.add(re.search(r"a room of ([0-9.]+)", refused.value.remedy)[1])
    (room,) = named
    assert outlook(made, BENCH_RIG, float(room)).warnings == []
    assert 28.0 <= float(room) <= 31.0
    assert outlook(made, BENCH_RIG, float(room) + 1.0).warnings != []


def test_the_regulators_own_figures_are_those_of_the_outlook():
    """How far under the wall, how much the coupling of pieces is doubted: `rigfw.landing`'s."""
    assert travel.WALL_LEAST_C == landing._WALL_LEAST_C
    assert travel.SOLID_DOUBT == landing._SOLID_DOUBT


def test_a_regulator_that_believes_in_less_coupling_is_slower():
    """A wall is approached as closely as it is known: half the coupling believed, the longer."""
    took_min = []
    for believed in (float("inf"), 40.0, 20.0):
        samples = worked(1.5)._replace(believed_w_per_k=believed)
        leg = Bowls(samples, 28.0, solid=False).leg(step("rewarm", 31_500, wall_mc=33_000), 0.0, 1)
        took_min.append(leg.reach_min[0])
        assert leg.plate_c[0] <= 32.75 + 1e-6
    assert took_min[0] < took_min[1] < took_min[2]


def test_a_wall_holds_the_plate():
    """The plate stays a quarter of a degree under its limit, and the way takes the longer."""
    free = Bowls(worked(1.5), 28.0, solid=False).leg(step("rewarm", 31_500), 0.0, 1)
    held = Bowls(worked(1.5), 28.0, solid=False).leg(
        step("rewarm", 31_500, wall_mc=32_500), 0.0, 1
    )
    assert held.plate_c[0] <= 32.25 + 1e-6
    assert held.reach_min[0] > 1.2 * free.reach_min[0]


def test_what_cannot_be_reached_never_is():
    """20 W against 2 W/K settle at 32 degC: 48 is never reached."""
    leg = Bowls(worked(2.0, heater_w=20.0), 22.0, solid=False).leg(step("melt", 48_000), 0.0, 1)
    assert np.isinf(leg.reach_min).all()


def test_less_doubt_is_a_narrower_band():
    """A rig that is known to 5 % has a narrower band than a described one, about its middle; of a
    melt only a little, for how pieces take up heat stays unknown."""
    schedule = make(DARK, BENCH_RIG, 2000, "cooled")
    wide = outlook(schedule, BENCH_RIG, 21.0).steps
    names = ("plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k", "heater_w")
    narrow = outlook(schedule, BENCH_RIG, 21.0, doubt=known(dict.fromkeys(names, 5.0))).steps
    for before, after in zip(wide, narrow, strict=True):
        if before.reach_min.high > before.reach_min.low + 0.5:
            part = 0.95 if before.kind == "melt" else 0.65
            assert after.reach_min.high - after.reach_min.low < part * (
                before.reach_min.high - before.reach_min.low
            )
        assert before.reach_min.low <= before.reach_min.middle <= before.reach_min.high


def test_a_batch_that_cannot_be_is_refused_with_what_would_work():
    """A room of 29 has no low point of 28: seed and a cooler room are named, for they were tried.

    The room that is named works, and one degree more does not.
    """
    schedule = make(DARK, BENCH_RIG, 4000, "cooled")
    with pytest.raises(InputError, match="within 90 min with a chance of") as refused:
        outlook(schedule, BENCH_RIG, 29.0)
    assert "the seeded method" in refused.value.remedy
    named = re.search(r"a room of ([0-9.]+)", refused.value.remedy)
    cooler = outlook(schedule, BENCH_RIG, float(named[1])).steps
    warmer = outlook(schedule, BENCH_RIG, float(named[1]) + 1.0).steps
    assert min(row.chance for row in cooler) > 0.85 > min(row.chance for row in warmer)


def test_chances_fall_as_the_room_warms():
    """The chance of the low point, room by room, never rises."""
    schedule = make(DARK, BENCH_RIG, 2000, "cooled")
    chances = []
    for room_c in (20.0, 24.0, 25.5):
        rows = outlook(schedule, BENCH_RIG, room_c).steps
        chances.append(min(row.chance for row in rows if row.kind == "cool"))
    assert chances[0] > 0.99
    assert all(after <= before for before, after in pairwise(chances))


def test_bowls_are_drawn_as_doubted():
    """Deviation and correlation of what is drawn are those asked for; the seed decides."""
    cov = np.array([[0.04, 0.018], [0.018, 0.01]])
    doubt = learned(("plate_j_per_k", "plate_w_per_k"), cov)
    drawn = draw(BENCH_RIG, DARK, 2000, 21.0, doubt, 4000)
    logs = np.log(np.vstack([drawn.plate_j_per_k / 500.0, drawn.plate_w_per_k / 15.0]))
    assert np.cov(logs) == pytest.approx(cov, abs=0.003)
    assert np.log(drawn.fan_loss_w_per_k / 4.0).std() == pytest.approx(0.25, abs=0.02)
    again = draw(BENCH_RIG, DARK, 2000, 21.0, doubt, 4000)
    assert (again.heater_w == drawn.heater_w).all()
    apart = np.log(drawn.believed_w_per_k / drawn.plate_w_per_k)
    assert apart.std() == pytest.approx(0.14, abs=0.01)
    assert (draw(BENCH_RIG, DARK, 2000, 21.0, described(), 9).believed_w_per_k == 15.0).all()
    assert set(described().names) >= {"heater_w", "latent"}


def test_milk_fat_lowers_the_melting_of_the_outlook_too():
    """By the one rule: at 28 degC with 2.5 K less, so much is melted as at 30.5; and a melt from
    26 degC takes so much less heat, and what the room takes in the shorter time."""
    bowls = Bowls(worked(1.5), 28.0, True, 2.5)
    assert bowls.melted == pytest.approx(melted_share(30.5), abs=1e-3)
    schedule = make(DARK, BENCH_RIG, 2000)
    usual, own = (
        outlook(schedule, BENCH_RIG, 26.0, replace(DARK, own_depression_k=k)).steps[0].energy_wh
        for k in (0.0, 2.5)
    )
    melted = melted_share(28.5) - melted_share(26.0)
    less_wh = melted * DARK.latent_heat * 2.0 / 3600
    assert less_wh < usual.middle - own.middle < 2 * less_wh


@pytest.mark.parametrize("begin_c", [28.5, None])
def test_a_room_that_is_warmer_than_what_is_kept_in_it_is_told(begin_c):
    """Dark is kept at 31.5: to 30.5 degC nothing is said, to 31.5 it is warned of, and above that
    refused. From below the target is reached, and then the room goes on."""
    kept = make(DARK, BENCH_RIG, 2000, "kept", "in_temper")
    assert outlook(kept, BENCH_RIG, 30.5, begin_c=begin_c).warnings == []
    for room_c in (30.6, 31, 31.5):
        *_, words = outlook(kept, BENCH_RIG, room_c, begin_c=begin_c).warnings
        assert words.startswith("Step 1 (rewarm): 2 kg cannot be kept at 31.5 °C in a room of ")
        assert words.endswith("it warms above it. A room of at most 30.5 °C works.")
    for room_c in (31.6, 33, 35):
        with pytest.raises(InputError):
            outlook(kept, BENCH_RIG, room_c, begin_c=begin_c)
    with pytest.raises(InputError) as refused:
        outlook(kept, BENCH_RIG, 35.0, begin_c=28.5)
    assert refused.value.remedy == "A room of at most 30.5 °C works."


def test_a_whole_degree_begins_as_well_as_a_part_of_one():
    """29 as 29.0: a room and a begin without a point."""
    kept = make(DARK, BENCH_RIG, 2000, "kept", "in_temper")
    assert outlook(kept, BENCH_RIG, 29, begin_c=29) == outlook(kept, BENCH_RIG, 29.0, begin_c=29.0)
