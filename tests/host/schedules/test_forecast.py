"""The forecast against heat balances worked by hand and against the simulated bowl."""

import math

import pytest

from snapgloss.base.errors import InputError
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import DARK, TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.demo import demo
from snapgloss.schedules.forecast import forecast, total_minutes, warmest_room_c
from snapgloss.schedules.maker import make
from snapgloss.virtual.plant import Drive, Plant, PlantSetup


def fast(schedule):
    """Return the schedule without rate limits, so that only heat decides."""
    steps = [step.model_copy(update={"rate_mc_per_min": 20_000}) for step in schedule.steps]
    return schedule.model_copy(update={"steps": tuple(steps)})


def test_cooling_is_newtons_law():
    """C/UA ln((48 - room)/(33.5 - room)), by hand: 2 kg, fan full, room 25 degC."""
    rig = BENCH_RIG
    capacity = 2.0 * heat.specific_heat(DARK.fat_share) + rig.plate_j_per_k
    loss = rig.loss_w_per_k + rig.fan_loss_w_per_k
    by_hand = capacity / loss * math.log((48 - 25) / (33.5 - 25)) / 60
    cool = forecast(fast(make(DARK, rig, 2000)), rig, 25.0)[2]
    assert cool.kind == "cool"
    assert cool.reach_min == pytest.approx(by_hand, rel=0.001)


def test_melting_takes_the_latent_heat():
    """Without loss, energy over power: sensible + latent + plate, worked by hand.

    Latent 137 kJ/kg of fat (Beckett's handbook, second-hand), all melted by 35.5 degC.
    """
    rig = BENCH_RIG.model_copy(update={"loss_w_per_k": 0.0, "plate_w_per_k": 500.0})
    schedule = fast(make(DARK, rig, 2000))
    energy = (2 * (2090 * 0.36 + 1400 * 0.64) + 500) * (48 - 20) + 2 * 0.36 * 137e3
    melt = forecast(schedule, rig, 20.0)[0]
    assert melt.reach_min == pytest.approx(energy / 100 / 60, rel=0.005)


def test_holds_are_the_schedules():
    """Each step's hold is taken over, and the sum is the total."""
    rows = forecast(demo(), BENCH_RIG, 21.0)
    assert [row.kind for row in rows] == ["melt", "rest", "cool", "seed", "cool", "work"]
    assert [row.hold_min for row in rows] == [5, 10, 0, 6, 0, 45]
    assert total_minutes(rows) == pytest.approx(sum(row.minutes for row in rows))
    assert rows[0].minutes == rows[0].reach_min + 5


def test_rate_limit_is_kept():
    """A rewarm of 3.5 degC at 0.8 degC/min takes at least 4.4 min."""
    rewarm = forecast(make(DARK, BENCH_RIG, 500, "cooled"), BENCH_RIG, 21.0)[4]
    assert rewarm.kind == "rewarm"
    assert rewarm.reach_min >= 3.5 / 0.8


def test_more_chocolate_and_a_colder_room_take_longer_to_melt():
    """Physics: melting grows with mass and with the distance from the room."""
    small = forecast(make(DARK, BENCH_RIG, 1000), BENCH_RIG, 21.0)[0].reach_min
    large = forecast(make(DARK, BENCH_RIG, 2000), BENCH_RIG, 21.0)[0].reach_min
    cold = forecast(make(DARK, BENCH_RIG, 2000), BENCH_RIG, 15.0)[0].reach_min
    assert small < large < cold


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
def test_warm_room_is_refused_for_the_low_point(kind):
    """The low point cannot be reached in a room as warm as it; the seeded method is named."""
    room_c = kind.cool.default_mc / 1000
    with pytest.raises(InputError, match="too warm") as problem:
        forecast(make(kind, BENCH_RIG, 2000, "cooled"), BENCH_RIG, room_c)
    assert "seeded method" in problem.value.remedy
    assert forecast(make(kind, BENCH_RIG, 2000), BENCH_RIG, room_c)


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
@pytest.mark.parametrize("method", ["seeded", "cooled"])
def test_the_warmest_room_named_is_the_edge(kind, method):
    """In the room that the remedy names the batch works; 0.2 degC more and it is refused."""
    schedule = make(kind, BENCH_RIG, 2000, method)
    edge_c = warmest_room_c(schedule, BENCH_RIG)
    assert forecast(schedule, BENCH_RIG, edge_c)
    with pytest.raises(InputError) as problem:
        forecast(schedule, BENCH_RIG, edge_c + 0.2)
    assert f"at most {edge_c:.1f} °C" in problem.value.remedy


def test_still_rig_cannot_reach_the_low_point():
    """Without a fan the last degrees never come: refused, not forecast for hours."""
    still = BENCH_RIG.model_copy(update={"fan_loss_w_per_k": 0.0})
    with pytest.raises(InputError, match="too warm"):
        forecast(make(DARK, still, 6000, "cooled"), still, 24.0)


def test_weak_heater_is_refused():
    """A heater whose heat the room takes away is said to be too weak."""
    weak = BENCH_RIG.model_copy(update={"heater_w": 20})
    with pytest.raises(InputError, match=r"step 1.*does not reach 48.0 °C|Step 1") as problem:
        forecast(make(DARK, weak, 2000), weak, 15.0)
    assert "stronger heater" in problem.value.remedy


@pytest.mark.parametrize("room_c", [float("nan"), float("inf"), -300.0, 60.0])
def test_impossible_rooms(room_c):
    """A room that cannot be is refused before any sum."""
    with pytest.raises(InputError, match="cannot be"):
        forecast(demo(), BENCH_RIG, room_c)


def _simulated_minutes():
    """Melt 2 kg of dark to 48 and cool it to 33.5 degC in the simulated bowl, heat full on."""
    plant, drive, minutes = Plant(PlantSetup(mass_g=2000.0, room_c=21.0)), Drive(), []
    for reached, warming in ((48.0, True), (33.5, False)):
        began_s = plant.at_s
        drive.stir, drive.fan = 1.0, 0.0 if warming else 1.0
        while (plant.product_c < reached) is warming:
            drive.heat = 1.0 if warming and plant.plate_c < 59.5 else 0.0
            plant.advance(0.25, drive)
        minutes.append((plant.at_s - began_s) / 60)
    return minutes


def test_forecast_is_near_the_simulated_bowl():
    """The lumped forecast of melt and cool is within 30 % of the finer simulation."""
    rows = forecast(demo(), BENCH_RIG, 21.0)
    simulated = _simulated_minutes()
    assert rows[0].reach_min == pytest.approx(simulated[0], rel=0.3)
    assert rows[2].reach_min == pytest.approx(simulated[1], rel=0.3)
