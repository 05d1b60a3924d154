"""The forecast against heat balances worked by hand and against the simulated bowl."""

import math
from types import SimpleNamespace

import pytest
from scipy.integrate import solve_ivp

from rigfw import landing, limits, regulator
from rigfw.config import RigConfig
from snapgloss.base.errors import InputError
from snapgloss.chocolate import heat
from snapgloss.chocolate.types import DARK, TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules import bowl as module
from snapgloss.schedules.demo import demo
from snapgloss.schedules.forecast import course, forecast, total_minutes, warmest_room_c
from snapgloss.schedules.maker import make
from snapgloss.virtual.plant import Drive, Plant, PlantSetup


@pytest.fixture
def heat_alone(monkeypatch):
    """Leave out the regulator's rate and landing, so that only heat decides."""
    monkeypatch.setattr(module, "least_min", lambda *slice_: 0.0)
    monkeypatch.setattr(module, "REACHED_C", {})
    monkeypatch.setattr(module, "REACHED_NEAR_C", 0.0)


def test_cooling_is_newtons_law(heat_alone):
    """C/UA ln((48 - room)/(33.5 - room)), by hand: 2 kg, fan full, room 25 degC."""
    rig = BENCH_RIG
    capacity = 2.0 * heat.specific_heat(DARK.fat_share) + rig.plate_j_per_k
    loss = 1.4 + 1 / (1 / 4.0 + 1 / 15.0)  # W/K: still loss, and the fan behind the plate
    by_hand = capacity / loss * math.log((48 - 25) / (33.5 - 25)) / 60
    cool = forecast(make(DARK, rig, 2000), rig, 25.0)[2]
    assert cool.kind == "cool"
    assert cool.reach_min == pytest.approx(by_hand, rel=0.001)


def test_a_bowl_fed_hot_begins_at_its_ceiling(heat_alone):
    """C/UA ln((60 - room)/(48 - room)), by hand: 2 kg, fan full, room 20 degC; no melting."""
    capacity = 2.0 * heat.specific_heat(DARK.fat_share) + BENCH_RIG.plate_j_per_k
    loss = 1.4 + 1 / (1 / 4.0 + 1 / 15.0)
    by_hand = capacity / loss * math.log((60 - 20) / (48 - 20)) / 60
    rows = forecast(make(DARK, BENCH_RIG, 2000, "seeded", "hot"), BENCH_RIG, 20.0)
    assert [row.kind for row in rows[:2]] == ["cool", "rest"]
    assert rows[0].reach_min == pytest.approx(by_hand, rel=0.001)
    assert (rows[1].reach_min, rows[1].hold_min) == (0.0, 10.0)


def test_chocolate_still_in_temper_is_only_warmed(heat_alone):
    """The whole forecast of `kept` is a rewarm of 3 K and the work: no melt, no latent heat."""
    rows = forecast(make(DARK, BENCH_RIG, 2000, "kept", "in_temper"), BENCH_RIG, 20.0)
    assert [row.kind for row in rows] == ["rewarm", "work"]
    least_min = (2.0 * heat.specific_heat(DARK.fat_share) + 500.0) * 3.0 / 100 / 60
    assert least_min <= rows[0].reach_min < 4 * least_min
    assert rows[1].hold_min == 45.0


def test_melting_takes_the_latent_heat(heat_alone):
    """Without loss, energy over power: sensible + latent + plate, worked by hand.

    Latent 137 kJ/kg of fat (Beckett's handbook, second-hand), all melted by 35.5 degC.
    """
    rig = BENCH_RIG.model_copy(update={"loss_w_per_k": 0.0, "plate_w_per_k": 500.0})
    energy = (2 * (2090 * 0.36 + 1400 * 0.64) + 500) * (48 - 20) + 2 * 0.36 * 137e3
    melt = forecast(make(DARK, rig, 2000), rig, 20.0)[0]
    assert melt.reach_min == pytest.approx(energy / 100 / 60, rel=0.005)


def solved_min(capacity_j_per_k, power_w, loss_w_per_k, room_c, from_c, to_c):
    """scipy's solver on C(T) dT/dt = power - loss * (T - room), until `to_c`."""

    def there(_, state):
        return state[0] - to_c

    there.terminal = True
    path = solve_ivp(
        lambda _, state: [
            (power_w - loss_w_per_k * (state[0] - room_c)) / capacity_j_per_k(state[0])
        ],
        (0.0, 60_000.0), [from_c], events=there, max_step=5.0, rtol=1e-8,
    )  # fmt: skip
    return path.t_events[0][0] / 60


def triangle(at_c):
    """Density of melting, by its corners: feet 20 and 35.5, peak 32 degC, area 1."""
    if at_c < 32.0:
        return max(0.0, (at_c - 20.0) / (12.0 * 7.75))
    return max(0.0, (35.5 - at_c) / (3.5 * 7.75))


@pytest.mark.parametrize("loss_w_per_k", [0.0, 0.5, 1.4])
@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
def test_the_melt_of_the_forecast_agrees_with_an_ode_solver(heat_alone, kind, loss_w_per_k):
    """2 kg from 20 degC to the melt, all heat let in: the forecast's own slices within 0.5 %."""
    rig = BENCH_RIG.model_copy(update={"loss_w_per_k": loss_w_per_k, "plate_w_per_k": 500.0})
    step = make(kind, rig, 2000).steps[0]
    found = sum(one.minutes for one in module.way(module.Bowl(rig, kind, 2000, 20.0), step, 20.0,
                                                  False))  # fmt: skip
    dry = 2.0 * kind.specific_heat + rig.plate_j_per_k
    latent = 2.0 * kind.latent_heat
    solved = solved_min(
        lambda at_c: dry + latent * triangle(at_c + kind.depression_k),
        rig.heater_w, loss_w_per_k, 20.0, 20.0, step.target_mc / 1000,
    )  # fmt: skip
    assert found == pytest.approx(solved, rel=0.005)


@pytest.mark.parametrize("room_c", [15.0, 21.0, 25.0])
@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
def test_the_cool_of_the_forecast_agrees_with_an_ode_solver(heat_alone, kind, room_c):
    """2 kg from the melt to where seed goes in, fan full on: within 0.5 %."""
    bowl = module.Bowl(BENCH_RIG, kind, 2000, room_c)
    step, from_c = make(kind, BENCH_RIG, 2000).steps[2], kind.melt.default_mc / 1000
    found = sum(one.minutes for one in module.way(bowl, step, from_c, True))
    capacity = 2.0 * kind.specific_heat + BENCH_RIG.plate_j_per_k
    loss = 1.4 + 1 / (1 / 4.0 + 1 / 15.0)
    solved = solved_min(lambda _: capacity, 0.0, loss, room_c, from_c, step.target_mc / 1000)
    assert found == pytest.approx(solved, rel=0.005)


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


def test_landing_is_the_firmwares():
    """The forecast lands on a target as the firmware's regulator does, at 2 K/min at most."""
    assert module.GENTLE_BAND_C == landing.GENTLE_BAND_C
    assert pytest.approx(landing.GENTLE_PART * 2.0) == module.GENTLE_C_PER_MIN
    assert module.REACHED_C["cool"] * 1000 == limits.REACHED_DOWN_MC
    assert module.REACHED_C["melt"] * 1000 == limits.REACHED_UP_MC
    assert module.REACHED_C["rewarm"] * 1000 == limits.REACHED_UP_MC
    assert module.REACHED_NEAR_C * 1000 == limits.REACHED_NEAR_MC
    assert module.WALL_MARGIN_C * 1000 == limits.WALL_MARGIN_MC


def _regulated_minutes(schedule, mass_g, room_c):
    """Run melt and first cool with the firmware's regulator on the simulated bowl, in minutes."""
    plant, drive, minutes = Plant(PlantSetup(mass_g=mass_g, room_c=room_c)), Drive(stir=1.0), []
    control = regulator.Regulator(RigConfig.from_text(BENCH_RIG.to_config_text()))
    control.begin(mass_g)
    for step, near_mc in ((schedule.steps[0], 200), (schedule.steps[2], 150)):
        began_s = plant.at_s
        while abs(plant.probe_c * 1000 - step.target_mc) > near_mc:
            readings = SimpleNamespace(
                product_mc=round(plant.probe_c * 1000),
                plate_mc=round(plant.plate_probe_c * 1000),
                room_mc=round(room_c * 1000),
            )
            control.demand(readings, step.target_mc, step, round(drive.heat * 1000), 1000)
            drive.heat, drive.fan = control.heat_permille / 1000, control.fan_permille / 1000
            for _ in range(4):
                plant.advance(0.25, drive)
        minutes.append((plant.at_s - began_s) / 60)
    return minutes


@pytest.mark.parametrize(("mass_g", "room_c"), [(1000, 21.0), (2000, 21.0), (2000, 27.0)])
def test_forecast_is_near_the_simulated_bowl(mass_g, room_c):
    """Melt and cool are within 35 % of the firmware's regulator on the simulated bowl."""
    schedule = make(DARK, BENCH_RIG, mass_g)
    rows = forecast(schedule, BENCH_RIG, room_c)
    melt_min, cool_min = _regulated_minutes(schedule, mass_g, room_c)
    assert rows[0].reach_min == pytest.approx(melt_min, rel=0.35)
    assert rows[2].reach_min == pytest.approx(cool_min, rel=0.35)


def test_seeded_needs_only_a_room_below_work():
    """The room may be as warm as 1 degC below the working target, so that it can be held."""
    schedule = make(DARK, BENCH_RIG, 2000)
    assert warmest_room_c(schedule, BENCH_RIG) == schedule.work_mc / 1000 - 1.0


def test_cooling_on_while_seed_is_mixed_in():
    """After 6 min of mixing the working temperature is near: the cool step is short."""
    rows = forecast(demo(), BENCH_RIG, 21.0)
    assert (rows[3].kind, rows[4].kind) == ("seed", "cool")
    assert rows[4].reach_min < 1.0


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
@pytest.mark.parametrize("method", ["seeded", "cooled"])
def test_the_course_goes_through_every_target(kind, method):
    """Minutes only grow and end with the forecast's total; each target is come to within 0.4 K,
    save the seeding point's hold, where the seed takes the bowl down."""
    schedule = make(kind, BENCH_RIG, 2000, method)
    rows = forecast(schedule, BENCH_RIG, 21.0)
    minutes, degrees = course(schedule, BENCH_RIG, 21.0)
    assert minutes == sorted(minutes)
    assert minutes[-1] == pytest.approx(total_minutes(rows))
    assert degrees[0] == 21.0
    for number, step in enumerate(schedule.steps):
        reached = sum(row.minutes for row in rows[:number]) + rows[number].reach_min
        near = [c for m, c in zip(minutes, degrees, strict=True) if abs(m - reached) < 1e-6]
        if step.kind not in ("seed", "work"):
            assert min(abs(c - step.target_mc / 1000) for c in near) < 0.4
    assert degrees[-1] == pytest.approx(schedule.work_mc / 1000, abs=0.4)
