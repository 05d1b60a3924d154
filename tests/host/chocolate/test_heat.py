"""Heat balances against published figures, arithmetic by hand and an ODE solver."""

import math

import pytest
from scipy.integrate import quad, solve_ivp

from snapgloss.chocolate import crystals, heat

# Reference bowl of the checks below: 1.5 kg, c 1600 J/kg K, steel bowl 300 J/K.
MASS_KG, SPECIFIC, BOWL = 1.5, 1600.0, 300.0


@pytest.mark.parametrize(("fat_share", "fat_j_per_kg"), [(0.293, 157e3), (0.336, 137e3)])
def test_latent_heat_of_dark_chocolate_is_the_published_one(fat_share, fat_j_per_kg):
    """46 kJ/kg for dark: Chevalley et al. 1970 in Beckett 2009 p. 668; the fat is implied."""
    assert heat.latent_heat(fat_share, fat_j_per_kg) == pytest.approx(46.0e3, abs=0.1e3)


def test_specific_heat_lies_among_the_published_ones():
    """1590 (15-40 degC) and 1670 (40-60 degC) J/kg K: Beckett 2009 p. 667; mixing is 8 % good."""
    for fat_share in (0.28, 0.33, 0.40):
        assert 1590.0 * 0.99 <= heat.specific_heat(fat_share) <= 1670.0 * 1.01
    assert heat.specific_heat(0.33) == pytest.approx(1627.7, abs=0.1)  # by hand


def test_milk_fat_depression_lies_between_theory_and_trade():
    """0.0664 K per 1 % by ideal solubility (R T^2 / latent heat, with 861 g/mol of POS, worked
    apart); 0.10 is the trade's upper figure (no source). The program's own heat and melting point
    give the ideal figure again."""
    assert 0.0664 < heat.melting_depression(0.01) <= 0.10
    melt_k = crystals.MELT_V_C + 273.15
    ideal_k = 0.01 * 8.314 * melt_k**2 / (crystals.LATENT_V_J_PER_KG * 0.861)
    assert ideal_k == pytest.approx(0.0664, abs=0.0005)
    assert heat.LATENT_FAT_V_J_PER_KG == crystals.LATENT_V_J_PER_KG


def test_melted_share_is_the_integral_of_the_triangle():
    """Against numerical integration of a unit-area triangle with feet 20, 35.5 and peak 32."""

    def triangle(at_c):
        if at_c < 32.0:
            return (at_c - 20.0) / (12.0 * 7.75)
        return (35.5 - at_c) / (3.5 * 7.75)

    for at_c in (21.0, 28.0, 32.0, 33.5, 35.0):
        area = quad(triangle, 20.0, at_c, points=[32.0])[0]
        assert heat.melted_share(at_c) == pytest.approx(area, abs=1e-9)
    assert heat.melted_share(19.9) == 0.0
    assert heat.melted_share(35.5) == 1.0


@pytest.mark.parametrize(
    ("loss_w_per_k", "room_c", "minutes"),
    [
        (1.5, 20.0, 32.4),
        (1.5, 22.0, 37.9),
        (3.0, 22.0, 18.96),
        (3.0, 24.0, 23.1),
        (6.0, 20.0, 8.1),
    ],
)
def test_cooling_follows_newton(loss_w_per_k, room_c, minutes):
    """45 to 28.5 degC with 2.70 kJ/K, Newton's law by hand and by scipy's solver."""
    forecast = heat.approach_minutes(45.0, 28.5, room_c, MASS_KG * SPECIFIC + BOWL, loss_w_per_k)
    assert forecast == pytest.approx(minutes, abs=0.05)

    def there(_, state):
        return state[0] - 28.5

    there.terminal = True
    path = solve_ivp(
        lambda _, state: [-loss_w_per_k * (state[0] - room_c) / 2700.0],
        (0.0, 6000.0),
        [45.0],
        events=there,
        rtol=1e-9,
        atol=1e-9,
    )
    assert forecast * 60.0 == pytest.approx(path.t_events[0][0], abs=0.01)


def test_a_warm_room_never_cools_to_the_low_point():
    """28 degC of room cannot bring chocolate to 28.0."""
    assert math.isinf(heat.approach_minutes(48.0, 28.0, 28.0, 3200.0, 6.0))
    assert heat.approach_minutes(28.0, 28.0, 40.0, 3200.0, 6.0) == 0.0


@pytest.mark.parametrize(("melting", "lands_c"), [(0.0, 31.20), (0.5, 28.325), (1.0, 25.45)])
def test_seed_lands_where_the_balance_says(melting, lands_c):
    """1 kg at 34 and 0.25 kg at 20 degC, by hand."""
    assert heat.seed_balance(1.0, 34.0, 0.25, 20.0, melting) == pytest.approx(lands_c, abs=0.01)


@pytest.mark.parametrize(
    ("at_c", "lands_c", "melting", "ratio"),
    [(45.0, 33.0, 1.0, 0.2874), (40.0, 33.0, 1.0, 0.168), (34.0, 32.0, 0.5, 0.0758)],
)
def test_hand_worked_ratios_of_seed(at_c, lands_c, melting, ratio):
    """kg of seed at 20 degC for 1 kg, worked by hand, bring the bowl where they should."""
    assert heat.seed_balance(1.0, at_c, ratio, 20.0, melting) == pytest.approx(lands_c, abs=0.02)
