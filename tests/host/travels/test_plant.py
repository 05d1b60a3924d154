"""The bench's simulated bowls against conservation of energy and against linear system theory."""

import sys
from pathlib import Path

import control
import numpy as np
import pytest
from scipy.integrate import solve_ivp

sys.path.insert(0, str(Path(__file__).parents[2] / "bench"))

from travels.plant import LATENT_V_J_PER_KG, STEP_S, Bowls, melted_share
from travels.population import draw
from travels.sensing import Sensing

RIGS = 6


def matrices(rigs, k):
    """x = element W, plate K, product K above the room; u = heater W."""
    plate, product = rigs.plate_j_per_k[k], rigs.mass_kg[k] * rigs.specific_j_per_kg_k[k]
    join, lag_s = rigs.coupling_w_per_k[k], rigs.element_lag_s[k]
    a = np.array(
        [
            [-1 / lag_s, 0, 0],
            [1 / plate, -(join + rigs.plate_loss_w_per_k[k]) / plate, join / plate],
            [0, join / product, -(join + rigs.product_loss_w_per_k[k]) / product],
        ]
    )
    return a, np.array([[1 / lag_s], [0], [0]])


def run(bowls, seconds, heat=0.0, fan=0.0):
    """Let it run, crystals and shape once a second as the bench does."""
    ones = np.ones(len(bowls.rigs))
    for _ in range(seconds):
        bowls.grow()
        bowls.reshape()
        for _ in range(round(1 / STEP_S)):
            bowls.step(heat * ones, fan * ones)


@pytest.fixture
def warm():
    """Liquid bowls at the temperature of their room, mains steady, too warm for crystals."""
    rigs = draw(5, range(RIGS)).having(mains_share=0.0, room_c=40.0)
    return Bowls(rigs, 40.0, is_solid=False)


def test_energy_closes_through_melting_cooling_seeding_and_pouring():
    """What went in less what was lost and carried is what the bowls hold."""
    bowls = Bowls(draw(3, range(RIGS)), 22.0, is_solid=True)
    before_j = bowls.enthalpy_j()
    everywhere = np.ones(RIGS, dtype=bool)
    run(bowls, 900, heat=1.0)
    run(bowls, 900, fan=1.0)
    bowls.add(0.1, bowls.room_c, 0.8, everywhere)
    run(bowls, 300, heat=0.3)
    bowls.pour(0.5, everywhere)
    run(bowls, 300)
    # Heat of crystals is released in the second after they grew: that second is still owed.
    due_j = bowls._crystals_j
    balance_j = bowls.supplied_j - bowls.lost_j + bowls.carried_j
    got_j = bowls.enthalpy_j() - before_j
    assert np.all(bowls.supplied_j > 1e4)
    assert got_j == pytest.approx(balance_j, abs=1.0 + np.max(np.abs(due_j)))


def test_step_response_is_that_of_the_linear_model_by_scipy(warm):
    """Plate and product after 300 s of heat, within 0.02 K of an adaptive integrator."""
    run(warm, 300, heat=1.0)
    for k in range(RIGS):
        a, b = matrices(warm.rigs, k)
        heater_w = warm.rigs.heater_w[k]
        exact = solve_ivp(
            lambda _, x, a=a, b=b, u=heater_w: a @ x + b[:, 0] * u, (0, 300), [0.0, 0.0, 0.0],
            rtol=1e-8,
        ).y[:, -1]  # fmt: skip
        assert warm.element_w[k] == pytest.approx(exact[0], rel=1e-6)
        assert warm.plate_c[k] - 40.0 == pytest.approx(exact[1], abs=0.06)
        assert warm.product_c[k] - 40.0 == pytest.approx(exact[2], abs=0.02)


def test_probe_follows_as_python_control_says(warm):
    """Two lags in a row behind the bowl, against python-control's forced response."""
    run(warm, 240, heat=1.0)
    rigs = warm.rigs
    at_s = np.linspace(0, 240, 2401)
    for k in range(RIGS):
        a, b = matrices(rigs, k)
        bowl = control.ss(a, b, [[0, 0, 1]], 0)
        lag_s = rigs.probe_lag_s[k]
        probe = control.tf([1], [lag_s, 1]) * control.tf(
            [1], [rigs.second_lag_share[k] * lag_s, 1]
        )
        whole = control.series(bowl, control.ss(probe))
        exact = control.forced_response(whole, at_s, rigs.heater_w[k] * np.ones(2401)).outputs
        assert warm.second_c[k] - 40.0 == pytest.approx(exact[-1], abs=0.03)


def test_melting_takes_its_latent_heat():
    """Against the same bowl of liquid: the heat that is missing is that of the set share."""
    rigs = draw(7, range(RIGS)).having(plate_loss_w_per_k=0.0, product_loss_w_per_k=0.0)
    solid, liquid = Bowls(rigs, 22.0, is_solid=True), Bowls(rigs, 22.0, is_solid=False)
    rigs.figures["growth_factor"] = np.zeros(RIGS)
    set_share = 1.0 - melted_share(np.full(RIGS, 22.0))
    difference_j = liquid.enthalpy_j() - solid.enthalpy_j()
    assert difference_j == pytest.approx(set_share * rigs.mass_kg * rigs.latent_j_per_kg)
    run(solid, 7200, heat=0.6)
    assert np.all(solid.pieces == 0.0)
    assert solid.enthalpy_j() - solid.supplied_j == pytest.approx(
        liquid.enthalpy_j() - difference_j, abs=1.0
    )


def test_melted_share_is_the_integral_of_the_triangle():
    """Against numerical integration of a triangle with feet 20 and 35.5, peak 32 degC."""
    at_c = np.linspace(15, 40, 25001)
    height = np.interp(at_c, [20, 32, 35.5], [0, 2 / 15.5, 0])
    integral = np.cumsum(height) * (at_c[1] - at_c[0])
    assert melted_share(at_c) == pytest.approx(integral, abs=1e-3)


def test_seed_addition_gives_the_worked_balance():
    """1.0 kg at 34 and 0.25 kg at 20 degC: 28.33 where half melts, 46 kJ/kg (heat balance)."""
    rigs = draw(1, [0]).having(
        mass_kg=1.0, latent_j_per_kg=46e3, plate_loss_w_per_k=0.0, product_loss_w_per_k=0.0,
        coupling_w_per_k=0.0, growth_factor=0.0, solid_coupling=0.0,
    )  # fmt: skip
    bowls = Bowls(rigs, 34.0, is_solid=False)
    bowls.add(0.25, np.array([20.0]), 0.5, np.array([True]))
    run(bowls, 400)
    # Seed above its equilibrium dissolves a little while it waits: its heat is taken off.
    seed_j = 0.1 * 1.25 * 0.33 * LATENT_V_J_PER_KG
    dissolved_j = seed_j - bowls.v * 1.25 * 0.33 * LATENT_V_J_PER_KG
    mixed_c = bowls.product_c[0] + dissolved_j[0] / (1.25 * 1600)
    assert mixed_c == pytest.approx(28.33, abs=0.02)


def test_a_seeded_crystal_dies_above_its_melting_point_and_grows_below():
    """Form V melts at 33.8 degC (Wille & Lutton 1966, second-hand)."""
    for at_c, grows in ((36.0, False), (31.5, True)):
        rigs = draw(1, [0]).having(room_c=at_c)
        bowls = Bowls(rigs, at_c, is_solid=False)
        bowls.v, bowls.n = np.array([0.01]), np.array([0.01])
        run(bowls, 300)
        assert (bowls.v[0] > 0.01) == grows
        assert (bowls.n[0] >= 0.01) == grows


def test_a_rig_is_the_same_however_many_are_drawn():
    """Figures and noise of rig 3 do not depend on its neighbours."""
    few, many = draw(9, [3]), draw(9, range(8))
    assert few.mass_kg[0] == many.mass_kg[3]
    assert few.coupling_w_per_k[0] == many.coupling_w_per_k[3]
    one = Sensing(few, 9, np.array([1])).read(np.array([31.5]))
    all_ = Sensing(many, 9, np.ones(8, dtype=int)).read(np.full(8, 31.5))
    assert one[0][0] == all_[0][3]


def test_the_population_is_in_its_bounds():
    """The drawn figures fill their ranges and no more; the mass is even in its logarithm."""
    rigs = draw(11, range(400))
    assert 0.5 <= rigs.mass_kg.min() < 0.55 and 5.5 < rigs.mass_kg.max() <= 6.0
    assert np.median(rigs.mass_kg) == pytest.approx(np.sqrt(3.0), rel=0.15)
    heater = rigs.heater_w / rigs.mass_kg**0.6
    assert 40 <= heater.min() < 42 and 118 < heater.max() <= 120
    assert np.abs(rigs.probe_offset_c).max() <= 0.5
    assert np.median(rigs.growth_factor) == pytest.approx(1.0, rel=0.1)


def test_readings_are_stepped_noisy_and_sometimes_lost():
    """Steps of 1/16 K, noise of 0.02 K, one in a hundred lost."""
    rigs = draw(2, [0]).having(probe_offset_c=0.3)
    sensing = Sensing(rigs, 2, np.array([1]))
    seen = [sensing.read(np.array([31.5])) for _ in range(5000)]
    values = np.array([value[0] for value, _ in seen])
    assert np.all(values * 16 == np.round(values * 16))
    assert values.mean() == pytest.approx(31.8, abs=0.01)
    assert 20 < sum(lost[0] for _, lost in seen) < 90
