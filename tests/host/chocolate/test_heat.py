"""Heat balances against published figures, arithmetic by hand and an ODE solver."""

import math

import pytest
from scipy.integrate import quad, solve_ivp

from snapgloss.chocolate import heat

# Reference bowl of the checks below: 1.5 kg, c 1600 J/kg K, L 46 kJ/kg, steel bowl 300 J/K.
MASS_KG, SPECIFIC, LATENT, BOWL = 1.5, 1600.0, 46e3, 300.0


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
    """0.0664 K per 1 % by ideal solubility; 0.10 is the trade's upper figure (no source)."""
    melt_k, molar_g = 33.8 + 273.15, 861.0  # form V; POS
    ideal = 0.01 * 8.314 * melt_k**2 / (heat.LATENT_FAT_V_J_PER_KG / 1000 * molar_g)
    assert ideal == pytest.approx(0.0664, abs=0.0005)
    assert ideal < heat.melting_depression(0.01) <= 0.10


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


def test_warming_without_loss_takes_the_energy_over_the_power():
    """136.2 kJ at 150 W: 908.0 s, by hand."""
    minutes = heat.heating_minutes(MASS_KG, 22.0, 50.0, 150.0, latent_j_per_kg=LATENT)
    assert minutes * 60.0 * 150.0 == pytest.approx(136.2e3, abs=0.1e3)
    assert minutes * 60.0 == pytest.approx(908.0, abs=0.5)


def lossy_minutes(loss_w_per_k, latent=LATENT):
    """Minutes of the reference bowl from 22 to 50 degC."""
    return heat.heating_minutes(
        MASS_KG,
        22.0,
        50.0,
        150.0,
        loss_w_per_k=loss_w_per_k,
        bowl_j_per_k=BOWL,
        latent_j_per_kg=latent,
    )


def test_warming_with_loss_and_bowl():
    """1108 s = 209.8 + 516.9 + 381.5, three stages by hand."""
    assert lossy_minutes(1.5) * 60.0 == pytest.approx(1108.0, abs=1.0)


@pytest.mark.parametrize(
    ("loss_w_per_k", "minutes", "without_melting"),
    [(0.0, 16.07, 8.40), (1.0, 17.57, 9.30), (1.5, 18.47, 9.86), (2.0, 19.50, 10.52)],
)
def test_leaving_melting_out_halves_the_forecast(loss_w_per_k, minutes, without_melting):
    """A table worked by hand for four losses."""
    assert lossy_minutes(loss_w_per_k) == pytest.approx(minutes, abs=0.01)
    assert lossy_minutes(loss_w_per_k, 0.0) == pytest.approx(without_melting, abs=0.01)


def test_warming_agrees_with_an_ode_solver():
    """scipy's solver on the enthalpy of the same bowl, melting at one point, within 0.1 s."""
    per_k = MASS_KG * SPECIFIC + BOWL
    to_melt = per_k * (33.0 - 22.0)
    melted = to_melt + MASS_KG * LATENT

    def at_c(enthalpy_j):
        if enthalpy_j < to_melt:
            return 22.0 + enthalpy_j / per_k
        return 33.0 if enthalpy_j < melted else 33.0 + (enthalpy_j - melted) / per_k

    def done(_, state):
        return at_c(state[0]) - 50.0

    done.terminal = True
    path = solve_ivp(
        lambda _, state: [150.0 - 1.5 * (at_c(state[0]) - 22.0)],
        (0.0, 3000.0),
        [0.0],
        events=done,
        max_step=0.5,
    )
    assert lossy_minutes(1.5) * 60.0 == pytest.approx(path.t_events[0][0], abs=0.1)


def test_a_weak_heater_never_gets_there():
    """10 W against 1.5 W/K holds no more than 28.7 degC; 20 W stalls at 35.3."""
    for power_w in (10.0, 20.0, 0.0):
        assert math.isinf(
            heat.heating_minutes(1.5, 22.0, 50.0, power_w, loss_w_per_k=1.5, latent_j_per_kg=4e4)
        )
    assert math.isinf(heat.heating_minutes(1.5, 22.0, 50.0, 0.0))


def test_already_warm_takes_no_time():
    """No minutes when the target is reached, whatever the heater."""
    assert heat.heating_minutes(1.5, 50.0, 48.0, 0.0) == 0.0
    assert heat.cooling_minutes(1.5, 28.0, 28.5, loss_w_per_k=0.0, room_c=40.0) == 0.0


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
    forecast = heat.cooling_minutes(
        MASS_KG, 45.0, 28.5, loss_w_per_k=loss_w_per_k, room_c=room_c, bowl_j_per_k=BOWL
    )
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
    assert math.isinf(heat.cooling_minutes(2.0, 48.0, 28.0, loss_w_per_k=6.0, room_c=28.0))
    assert math.isinf(heat.cooling_minutes(2.0, 48.0, 28.0, loss_w_per_k=0.0, room_c=10.0))


@pytest.mark.parametrize(("melting", "lands_c"), [(0.0, 31.20), (0.5, 28.325), (1.0, 25.45)])
def test_seed_lands_where_the_balance_says(melting, lands_c):
    """1 kg at 34 and 0.25 kg at 20 degC, by hand."""
    assert heat.seed_balance(1.0, 34.0, 0.25, 20.0, melting) == pytest.approx(lands_c, abs=0.01)


def test_seed_wanted_is_the_inverse_of_the_balance():
    """45 to 33 degC, all melting: 0.2874, by hand; three times too much without melting."""
    ratio = heat.seed_wanted(45.0, 33.0, 20.0, 1.0)
    assert ratio == pytest.approx(0.2874, abs=0.0005)
    assert heat.seed_balance(1.0, 45.0, ratio, 20.0, 1.0) == pytest.approx(33.0, abs=1e-9)
    assert heat.seed_wanted(34.0, 32.0, 20.0, 0.5) == pytest.approx(0.0758, abs=0.0001)
    assert heat.seed_wanted(45.0, 33.0, 20.0, 0.0) > 3.0 * ratio


def test_one_percent_of_crystals_warms_by_a_quarter_kelvin():
    """33 % fat, L 137 kJ/kg, c 1600: 0.2826 K, by hand."""
    assert heat.adiabatic_rise(0.01, 0.33) == pytest.approx(0.2826, abs=0.001)
