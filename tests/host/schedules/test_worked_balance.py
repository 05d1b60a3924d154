"""1.5 kg from 22 to 50 °C, and 1 % of form V, against heat balances worked by hand.

1600 J/kg K, 46 kJ/kg (both Beckett's handbook, second-hand; the latent heat after Chevalley et al.
1970), 150 W. Worked: 1.5 * 1600 * 28 = 67.2 kJ and 1.5 * 46 = 69.0 kJ, together 136.2 kJ, 908.0 s.
"""

from dataclasses import replace

import numpy as np
import pytest

from snapgloss.chocolate.types import DARK
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules import bowl, travel
from snapgloss.schedules.bowl import Bowl, way
from snapgloss.schedules.doubt import Samples
from snapgloss.schedules.model import Step
from snapgloss.schedules.travel import Bowls
from snapgloss.virtual import plant as plant_module
from snapgloss.virtual.plant import Drive, Plant, PlantSetup

SET_AT_ROOM_K = -2.0
"""Moves the foot of the triangle of melting, 20 °C, up to the room: all is set at the start."""
MELT = Step(kind="melt", target_mc=50_200, rate_mc_per_min=20_000, wall_mc=75_000)
"""Counts as reached 0.2 °C before its target: at 50 °C."""
PLATE_J_PER_K = 50.0
"""So light a plate that the worked balance holds to a per cent or so without it."""


@pytest.fixture(autouse=True)
def heat_alone(monkeypatch):
    """No landing: only heat decides."""
    monkeypatch.setattr(bowl, "least_min", lambda *slice_: 0.0)
    monkeypatch.setattr(travel, "LANDING", {})
    monkeypatch.setattr(travel, "STEP_S", 0.25)


def way_s(loss_w_per_k: float, bowl_j_per_k: float, depression_k: float) -> float:
    """Seconds that the forecast's slices take."""
    kind = replace(DARK, own_specific_heat=1600.0, own_latent_heat=46e3,
                   own_depression_k=depression_k)  # fmt: skip
    rig = BENCH_RIG.model_copy(
        update={"heater_w": 150, "plate_j_per_k": bowl_j_per_k, "plate_w_per_k": 500.0,
                "loss_w_per_k": loss_w_per_k}
    )  # fmt: skip
    return 60 * sum(one.minutes for one in way(Bowl(rig, kind, 1500, 22.0), MELT, 22.0, False))


def leg(loss_w_per_k: float, bowl_j_per_k: float, depression_k: float) -> travel.Leg:
    """The same by the outlook's bowls, whose plate is 3.75 K ahead of its chocolate."""
    figures = {
        "heater_w": 150.0, "plate_j_per_k": bowl_j_per_k, "plate_w_per_k": 40.0,
        "loss_w_per_k": loss_w_per_k, "fan_loss_w_per_k": 0.0, "probe_lag_s": 0.01,
        "solid_share": 1.0, "specific": 1600.0, "latent": 46e3, "offset_c": 0.0, "room_c": 22.0,
    }  # fmt: skip
    samples = Samples(1.5, **{name: np.full(1, value) for name, value in figures.items()})
    return Bowls(samples, 22.0, solid=True, depression_k=depression_k).leg(MELT, 0.0, 1)


def test_without_loss_and_bowl_the_forecast_takes_908_s():
    """136.2 kJ at 150 W; worked by hand."""
    found_s = way_s(0.0, 0.0, SET_AT_ROOM_K)
    assert found_s == pytest.approx(908.0, abs=0.5)
    assert 150.0 * found_s == pytest.approx(136.2e3, abs=0.1e3)


def test_without_loss_the_outlooks_bowls_take_the_same_heat():
    """136.2 kJ and 908.0 s, and what the plate takes to be at 53.75 °C."""
    found = leg(0.0, PLATE_J_PER_K, SET_AT_ROOM_K)
    plate_j = PLATE_J_PER_K * (50.0 + 150.0 / 40.0 - 22.0)
    assert found.heat_j[0] - plate_j == pytest.approx(136.2e3, rel=0.002)
    assert 60 * found.reach_min[0] - plate_j / 150.0 == pytest.approx(908.0, rel=0.002)


def test_with_loss_and_bowl_it_takes_about_1108_s():
    """1.5 W/K and 0.3 kJ/K; worked in three stages with all melting at 33 °C: 209.8 + 516.9 +
    381.5 s. The triangle melts earlier, when less is lost: 3 % less."""
    for found_s in (way_s(1.5, 300.0, 0.0), 60 * float(leg(1.5, 300.0, 0.0).reach_min[0])):
        assert found_s == pytest.approx(1108.0, rel=0.03)


def test_one_percent_of_form_v_warms_an_insulated_bowl_by_0_2826_k(monkeypatch):
    """0.01 * 0.33 * 137 kJ/kg / 1.6 kJ/kg K (latent heat of the fat: Beckett's handbook,
    second-hand); no heat comes or goes but that of the crystals."""
    monkeypatch.setattr(plant_module, "specific_heat", lambda fat_share: 1600.0)
    plant = Plant(
        PlantSetup(fat_share=0.33, plate_j_per_k=1e-3, plate_loss_w_per_k=0.0, loss_w_per_k=0.0,
                   fan_loss_w_per_k=0.0, stirrer_w=0.0, room_c=22.0, start_c=30.0, solid=False,
                   start_v=0.02)
    )  # fmt: skip

    def mean(bulk: float, wall: float) -> float:
        return (plant.bulk_kg * bulk + plant.wall_kg * wall) / (plant.bulk_kg + plant.wall_kg)

    def figures() -> tuple[float, float]:
        return mean(plant.product_c, plant.wall_c), mean(plant.crystals.v, plant.wall_crystals.v)

    before_c, before = figures()
    while figures()[1] < before + 0.01:
        plant.advance(0.5, Drive(stir=1.0))
    after_c, after = figures()
    assert (after_c - before_c) / (after - before) / 100 == pytest.approx(0.2826, abs=0.001)
