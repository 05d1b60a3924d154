"""The simulated bowl run as a process, against an ODE solver and against balances by hand."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from snapgloss.chocolate import heat
from snapgloss.virtual.plant import Drive, Plant, PlantSetup

OFF = Drive()


def lumped(**changes):
    """A bowl without gradients or stirring heat: plate 300 J/K as the steel bowl, loss in one."""
    values = {
        "mass_g": 1500.0,
        "plate_j_per_k": 300.0,
        "plate_w_per_k": 1e4,
        "plate_loss_w_per_k": 0.0,
        "stirrer_w": 0.0,
        "room_c": 22.0,
    }
    return Plant(PlantSetup(**{**values, **changes}))


def minutes_until(plant, drive, to_c, most_min=600.0):
    """Minutes until the bulk passes `to_c`, by steps of 0.25 s."""
    below = plant.product_c < to_c
    while (plant.product_c < to_c) == below:
        plant.advance(0.25, drive)
        assert plant.at_s < most_min * 60.0
    return plant.at_s / 60.0


def solved_heating_min(fat_share, loss_w_per_k, power_w):
    """22 to 50 degC by scipy: apparent heat c + L phi(T), phi the triangle 20-32-35.5."""
    specific = heat.specific_heat(fat_share)
    latent = heat.latent_heat(fat_share)

    def phi(at_c):
        if at_c >= 35.5:
            return 0.0
        return (at_c - 20.0) / 93.0 if at_c < 32.0 else (35.5 - at_c) / 27.125

    def rhs(_, state):
        apparent = 1.5 * (specific + latent * phi(state[0])) + 300.0
        return [(power_w - loss_w_per_k * (state[0] - 22.0)) / apparent]

    def there(_, state):
        return state[0] - 50.0

    assert quad(phi, 20.0, 35.5, points=[32.0])[0] == pytest.approx(1.0, abs=1e-9)
    there.terminal = True
    path = solve_ivp(rhs, (0.0, 9000.0), [22.0], events=there, max_step=1.0)
    return path.t_events[0][0] / 60.0


@pytest.mark.parametrize("loss_w_per_k", [0.0, 1.5, 2.0])
def test_heating_from_set_takes_what_the_solver_says(loss_w_per_k):
    """1.5 kg of 33.6 % fat (46 kJ/kg), 22 to 50 degC at 150 W: within 1 % of scipy."""
    plant = lumped(fat_share=0.336, heater_w=150.0, loss_w_per_k=loss_w_per_k)
    minutes = minutes_until(plant, Drive(heat=1.0), 50.0)
    assert minutes == pytest.approx(solved_heating_min(0.336, loss_w_per_k, 150.0), rel=0.01)


@pytest.mark.parametrize(("loss_w_per_k", "minutes"), [(1.5, 37.9), (3.0, 18.96), (6.0, 9.5)])
def test_cooling_takes_what_newton_says(loss_w_per_k, minutes):
    """45 to 28.5 degC, 2.70 kJ/K, room 22: by hand, to 0.05 min (c = 1600 at 29 % fat)."""
    plant = lumped(
        fat_share=20.0 / 69.0, loss_w_per_k=loss_w_per_k, solid=False, start_c=45.0, room_c=22.0
    )
    assert minutes_until(plant, OFF, 28.5) == pytest.approx(minutes, abs=0.05)


def test_fan_cools_as_its_extra_loss_says():
    """Fan full: 0.6 + 0.8 + 4.0 W/K from a bowl without gradients, by Newton's law to 1 %."""
    plant = Plant(PlantSetup(solid=False, start_c=48.0, plate_w_per_k=1e5, stirrer_w=0.0))
    per_k = 2.0 * heat.specific_heat(0.36) + 500.0
    by_hand = per_k / 5.4 * math.log((48.0 - 21.0) / (33.5 - 21.0)) / 60
    assert minutes_until(plant, Drive(fan=1.0), 33.5) == pytest.approx(by_hand, rel=0.01)


def test_settles_where_power_equals_loss():
    """50 W from the plate at 15 W/K into a bowl that loses 0.6 W/K, 0.8 W/K from the plate itself:
    both temperatures by hand, the plate 15.6/15 as far over the room as the bulk."""
    plant = Plant(PlantSetup(solid=False, start_c=50.0, stirrer_w=0.0, room_c=20.0))
    plant.advance(20 * 3600.0, Drive(heat=0.5, stir=1.0))
    bulk_over = 50.0 / (0.8 * 15.6 / 15.0 + 0.6)
    assert plant.product_c == pytest.approx(20.0 + bulk_over, abs=0.02)
    assert plant.plate_c == pytest.approx(20.0 + bulk_over * 15.6 / 15.0, abs=0.02)
    assert plant.product_c < plant.wall_c < plant.plate_c


def insulated(**changes):
    """A bowl that keeps its heat, with a plate that holds none."""
    values = {"plate_j_per_k": 1e-3, "plate_loss_w_per_k": 0.0, "loss_w_per_k": 0.0}
    return Plant(PlantSetup(**{"solid": False, "stirrer_w": 0.0, **values, **changes}))


@pytest.mark.parametrize("poured_g", [0.0, 600.0])
def test_liquid_addition_lands_at_the_balance(poured_g):
    """1 kg at 34 and 0.25 kg liquid at 20 degC: 31.20, by hand, even if some is poured at once."""
    plant = insulated(mass_g=1000.0, start_c=34.0, plate_w_per_k=200.0)
    plant.add(250.0, 20.0, 0.0)
    plant.remove(poured_g)
    plant.advance(180.0, OFF)
    assert plant.product_c == pytest.approx(31.20, abs=0.01)
    assert plant.mass_g == pytest.approx(1250.0 - poured_g)


def test_set_addition_takes_its_latent_heat():
    """Added set chocolate lands where `seed_balance` says for the share of it that melted."""
    plant = insulated(mass_g=1000.0, start_c=45.0)
    plant.add(250.0, 20.0, 1.0)
    plant.advance(600.0, Drive(stir=0.0))
    melted = 1.0 - plant.set_share * 1250.0 / 250.0
    lands_c = heat.seed_balance(
        1.0,
        45.0,
        0.25,
        20.0,
        melted,
        specific_j_per_kg_k=heat.specific_heat(0.36),
        latent_j_per_kg=heat.latent_heat(0.36),
    )
    assert melted > 0.9
    assert plant.product_c == pytest.approx(lands_c, abs=0.02)


def test_growing_crystals_warm_an_insulated_bowl():
    """137 kJ per kg of fat that sets, over the specific heat (1 % of 33 % fat: 0.28 K)."""
    plant = insulated(start_c=29.0, start_v=0.02, fat_share=0.33)
    plant.advance(900.0, Drive(stir=1.0))
    grown = plant.crystals.v - 0.02
    rise_k = grown * 0.33 * 137e3 / heat.specific_heat(0.33)
    assert grown > 0.02
    assert plant.product_c - 29.0 == pytest.approx(rise_k, rel=0.01)


shares = st.floats(0.0, 1.0)
acts = st.one_of(
    st.tuples(st.just("run"), st.floats(1.0, 900.0), shares, shares, shares),
    st.tuples(st.just("add"), st.floats(1.0, 500.0), st.floats(10.0, 60.0), shares),
    st.tuples(st.just("pour"), st.floats(1.0, 800.0)),
)


@settings(max_examples=40, deadline=None)
@given(
    solid=st.booleans(),
    start_c=st.floats(10.0, 60.0),
    start_v=st.floats(0.0, 0.1),
    milk_fat=st.floats(0.0, 0.3),
    plate_w_per_k=st.floats(0.5, 500.0),
    script=st.lists(acts, min_size=1, max_size=8),
)
def test_energy_closes(solid, start_c, start_v, milk_fat, plate_w_per_k, script):
    """What is held changes by what was supplied, lost and carried: under 0.1 % of the turnover,
    whatever is driven, added or poured; and no share leaves 0..1."""
    plant = Plant(
        PlantSetup(
            solid=solid,
            start_c=start_c,
            start_v=start_v,
            milk_fat_share=milk_fat,
            plate_w_per_k=plate_w_per_k,
        )
    )
    held_j = plant.enthalpy_j()
    turnover_j = 1.0
    for act, *values in script:
        before = (plant.enthalpy_j(), plant.ledger.supplied_j, plant.ledger.lost_j)
        if act == "run":
            plant.advance(values[0], Drive(*values[1:]))
        elif act == "add":
            plant.add(*values)
        else:
            plant.remove(*values)
        turnover_j += abs(plant.enthalpy_j() - before[0])
        turnover_j += plant.ledger.supplied_j - before[1] + abs(plant.ledger.lost_j - before[2])
        for body in (plant.crystals, plant.wall_crystals):
            assert min(body.v, body.u, body.n) >= 0.0
            assert body.v + body.u <= 1.0
    booked_j = plant.ledger.supplied_j - plant.ledger.lost_j + plant.ledger.carried_j
    assert abs(plant.enthalpy_j() - held_j - booked_j) < 1e-3 * turnover_j
