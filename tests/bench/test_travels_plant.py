"""The simulated rigs of the control bench, against other programs and worked figures."""

import math

import numpy as np
import pytest

import control
from snapgloss.chocolate import heat
from snapgloss.chocolate.crystals import LATENT_V_J_PER_KG, Crystals
from travels import population
from travels.label import Label, config_of
from travels.latent import Latent, melted_share
from travels.plant import STEP_S, STEPS, Plant, joined

POPULATION = population.read()
ONES = np.ones(1)


def rigs(count: int = 20, seed: int = 3) -> population.Rigs:
    """Draw some rigs."""
    return POPULATION.draw(count, seed)


def run(plant: Plant, seconds: int, heat_w, fan) -> None:
    """Let seconds pass."""
    for _ in range(seconds):
        plant.begin_second()
        for _ in range(STEPS):
            plant.step(heat_w, fan)


def test_rigs_are_the_same_however_many_are_drawn():
    """Rig 7 of a seed is rig 7, in a draw of 20, of 8, or alone; another seed gives others."""
    many, few, alone = rigs(20), rigs(8), POPULATION.draw(1, 3, first=7)
    assert many.take(np.array([7])).coupling_w_per_k == few.coupling_w_per_k[7]
    assert alone.coupling_w_per_k[0] == few.coupling_w_per_k[7]
    assert not np.isclose(POPULATION.draw(8, 4).mass_kg, few.mass_kg).any()


def test_the_population_stays_in_its_ranges():
    """2000 rigs fill the ranges of the file, scaled by their mass."""
    many = rigs(2000)
    assert 0.5 <= many.mass_kg.min() < 0.52
    assert 5.9 < many.mass_kg.max() <= 6.0
    assert np.median(many.mass_kg) == pytest.approx(math.sqrt(0.5 * 6.0), rel=0.06)
    label = many.heater_w / many.mass_kg**0.6
    assert 40.0 <= label.min() < label.max() <= 120.0
    assert (many.second_probe_s <= 0.4 * many.probe_s).all()


def test_energy_closes():
    """Over a melt with fan and an addition of seed, heat given less heat lost is heat held."""
    drawn = rigs()
    plant = Plant(drawn)
    plant.keeps_ledger = True
    before_j = plant.enthalpy_j()
    run(plant, 2400, drawn.heater_w, np.zeros(20))
    run(plant, 1200, 0.1 * drawn.heater_w, np.ones(20))
    gained_j = plant.enthalpy_j() - before_j
    assert plant.latent.solid.min() < 0.01
    assert gained_j == pytest.approx(plant.given_j - plant.lost_j, abs=1e-3)
    held_j, seed_kg = plant.enthalpy_j(), 0.1 * plant.mass_kg
    carried_j = seed_kg * plant.specific_j_per_kg_k * 22.0 - seed_kg * drawn.latent_j_per_kg
    plant.add_seed(np.ones(20, dtype=bool), seed_kg, np.full(20, 22.0))
    assert plant.enthalpy_j() - held_j == pytest.approx(carried_j, abs=1e-3)


def test_a_step_of_heat_answers_as_a_linear_system():
    """Liquid chocolate above all crystals: python-control's response of the same equations."""
    drawn = rigs(1).fixed(room_c=40.0)
    plant = Plant(drawn, begin_c=40.0, solid=0.0)
    element, plate = drawn.element_s[0], drawn.plate_j_per_k[0]
    product = drawn.mass_kg[0] * plant.specific_j_per_kg_k[0]
    h, still, loss = (
        drawn.coupling_w_per_k[0], drawn.plate_loss_w_per_k[0], drawn.product_loss_w_per_k[0]
    )  # fmt: skip
    first, second = drawn.probe_s[0], drawn.second_probe_s[0]
    states = np.array([
        [-1 / element, 0, 0, 0, 0],
        [1 / element / plate, -(h + still) / plate, h / plate, 0, 0],
        [0, h / product, -(h + loss) / product, 0, 0],
        [0, 0, 1 / first, -1 / first, 0],
        [0, 0, 0, 1 / second, -1 / second],
    ])  # fmt: skip
    inputs = np.array([[1.0], [0.0], [0.0], [0.0], [0.0]])
    linear = control.ss(states, inputs, np.eye(5), 0)
    at_s = np.arange(0, 601)
    truth = control.forced_response(linear, at_s, np.full(601, 60.0)).outputs
    for second_no in range(1, 601):
        run(plant, 1, np.full(1, 60.0), np.zeros(1))
        assert plant.product_c[0] - 40.0 == pytest.approx(truth[2, second_no], abs=0.01)
        assert plant.plate_c[0] - 40.0 == pytest.approx(truth[1, second_no], abs=0.05)
        assert plant.second_c[0] - 40.0 == pytest.approx(truth[4, second_no], abs=0.01)


def worked_rig(loss_w_per_k: float) -> Plant:
    """1.5 kg in a bowl of 0.3 kJ/K that is as warm as its chocolate, 46 kJ/kg, room 22 degC."""
    drawn = rigs(1).fixed(
        mass_kg=1.5, element_s=0.5, plate_j_per_k=300.0, coupling_w_per_k=300.0, solid_share=1.0,
        plate_loss_w_per_k=0.0, fan_loss_w_per_k=0.0, product_loss_w_per_k=loss_w_per_k,
        room_c=22.0, latent_j_per_kg=46e3,
    )  # fmt: skip
    plant = Plant(drawn)
    plant.specific_j_per_kg_k = np.array([1600.0])
    return plant


@pytest.mark.parametrize(("loss", "minutes"), [(0.0, 15.90), (1.5, 17.94), (2.0, 18.82)])
def test_melting_takes_the_worked_time(loss, minutes):
    """22 to 50 degC with 150 W: energies 67.2, 69.0 and 8.4 kJ over the power less the loss.

    Worked with the triangle of melting, 20 to 35.5 degC, by numerical integration; 2 % for the
    lag of the pieces.
    """
    plant, seconds = worked_rig(loss), 0
    while plant.product_c[0] < 50.0:
        run(plant, 1, np.full(1, 150.0), np.zeros(1))
        seconds += 1
    assert seconds / 60.0 == pytest.approx(minutes, rel=0.02)


@pytest.mark.parametrize(("loss", "minutes"), [(1.5, 37.9), (3.0, 19.0), (6.0, 9.5)])
def test_cooling_takes_the_closed_form(loss, minutes):
    """45 to 28.5 degC in a room of 22: t = C/UA ln((45 - 22)/(28.5 - 22)), no crystals yet."""
    plant, seconds = worked_rig(loss), 0
    plant.latent.solid[:] = 0.0
    plant.plate_c[:] = plant.product_c[:] = 45.0
    plant.latent.rigs = plant.rigs.fixed(growth=0.0)
    while plant.product_c[0] > 28.5:
        run(plant, 1, np.zeros(1), np.zeros(1))
        seconds += 1
    assert seconds / 60.0 == pytest.approx(minutes, rel=0.01)


def test_melting_and_crystals_are_those_of_the_program():
    """Arrays give what `chocolate.heat` and `chocolate.crystals` give for one number."""
    at_c = np.linspace(15.0, 40.0, 101)
    one_by_one = [heat.melted_share(float(c)) for c in at_c]
    assert melted_share(at_c) == pytest.approx(one_by_one, abs=1e-12)
    for c in (26.0, 28.0, 29.5, 31.5, 33.0, 34.5):
        many = Latent(rigs(1).fixed(growth=1.0), np.zeros(1), np.full(1, c))
        many.v[:] = many.n[:] = 0.01
        single = Crystals(v=0.01)
        for _ in range(1200):
            many.second(np.full(1, c), np.full(1, c), ONES)
            single.step(1.0, c, 1.0)
        assert many.v[0] == pytest.approx(single.v, rel=0.03, abs=1e-5)
        assert many.n[0] == pytest.approx(single.n, rel=0.03, abs=1e-5)
    assert single.bound_j_per_kg() == pytest.approx(LATENT_V_J_PER_KG * single.v)


def test_lanes_do_not_touch_each_other():
    """Lanes taken out and put together run as they ran before."""
    drawn = rigs(6)
    whole, part = Plant(drawn), Plant(drawn)
    pair = joined([part.copied(np.array([4])), part.copied(np.array([1]))])
    run(whole, 300, drawn.heater_w, np.zeros(6))
    run(pair, 300, drawn.heater_w[[4, 1]], np.zeros(2))
    assert pair.product_c == pytest.approx(whole.product_c[[4, 1]], abs=1e-12)
    assert STEP_S * STEPS == 1.0


def test_the_description_knows_only_mass_and_label():
    """A maker's description is nominal: mass and watts decide every figure of it."""
    config = config_of(Label(1500, 90, "ssr"))
    assert (config.heater_w, config.has_sense, config.min_on_ms) == (90, 0, 250)
    assert config.plate_j_per_k == round(600.0 * math.sqrt(1.5))
    assert config_of(Label(1500, 90, "relay")).min_on_ms == 10_000
    assert config_of(Label(6000, 240, "relay")).has_sense == 1
