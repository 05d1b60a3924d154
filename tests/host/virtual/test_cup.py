"""The simulated sample in its cold block."""

import pytest

from snapgloss.chocolate.curve import features_of
from snapgloss.virtual.cup import FILL_AFTER_MS, SAMPLE_G, Cup
from snapgloss.virtual.plant import Plant, PlantSetup


def _curve(v: float, cold_c: float = 12.0, span_s: int = 1500) -> list[float]:
    """The probe once a second from the filling on, of liquid chocolate with `v` of crystals."""
    plant = Plant(PlantSetup(solid=False, start_c=31.5, start_v=v))
    cup = Cup(plant, cold_c)
    cup.attend(0, True, False)
    cup.attend(FILL_AFTER_MS, True, False)
    shown = []
    for _ in range(span_s):
        cup.advance(1.0)
        shown.append(cup.probe_c)
    return shown


def test_the_tube_is_filled_once_in_a_batch_and_emptied_after_it() -> None:
    """A minute into work 12 g leave the bowl; never again until the batch is over."""
    plant = Plant(PlantSetup(solid=False, start_c=31.5, start_v=0.02))
    cup = Cup(plant, 12.0)
    for at_ms in range(0, 600_000, 250):
        cup.attend(at_ms, True, False)
        if at_ms == FILL_AFTER_MS - 250:
            assert plant.mass_g == pytest.approx(2000.0)
    assert plant.mass_g == pytest.approx(2000.0 - SAMPLE_G)
    cup.attend(600_000, False, True)
    cup.attend(600_250, True, False)
    cup.attend(600_250 + FILL_AFTER_MS, True, False)
    assert plant.mass_g == pytest.approx(2000.0 - 2 * SAMPLE_G)


def test_before_the_filling_the_probe_has_the_room() -> None:
    """21.0 degC for an hour, then the chocolate's."""
    cup = Cup(Plant(PlantSetup(start_c=31.5)), 12.0)
    cup.advance(3600.0)
    assert cup.probe_c == pytest.approx(21.0)


def test_without_crystals_it_falls_as_newton_says() -> None:
    """Far above any melting point one time constant leaves 1/e: 60 degC in a block of 50."""
    plant = Plant(PlantSetup(solid=False, start_c=60.0))
    cup = Cup(plant, 50.0)
    cup.attend(0, True, False)
    cup.attend(FILL_AFTER_MS, True, False)
    cup.advance(240.0)
    assert cup.sample_c == pytest.approx(50.0 + 10.0 / 2.718281828, abs=0.01)


@pytest.mark.parametrize(
    ("v", "low", "high"), [(0.003, 1.13, 1.3), (0.02, 1.0, 1.1), (0.10, 0.8, 0.94)]
)
def test_its_curve_tells_how_much_seed_there_was(v: float, low: float, high: float) -> None:
    """0.3 % under (R over 1.13), 2 % in temper, 10 % over (R under 0.94)."""
    shown = _curve(v)
    ratio = features_of(range(len(shown)), shown, 12.0).set_ratio
    assert low < ratio < high, ratio
