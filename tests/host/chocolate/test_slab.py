"""Conduction through a stack against Neumann's solution of freezing and an ODE solver."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import erf, erfc

from snapgloss.chocolate.slab import Layer, march, stack_of

K, RHO, SPECIFIC, LATENT = 0.25, 1250.0, 1600.0, 46e3
ALPHA = K / RHO / SPECIFIC


class FreezesAt:
    """All latent heat at one temperature: what cools below it is held there until it is out."""

    def __init__(self, at_c, latent_j_per_m2, heat_j_per_m2_k):
        self.at_c, self.left = at_c, latent_j_per_m2.copy()
        self.heat = heat_j_per_m2_k

    def step(self, dt_s, at_c):
        given = np.clip((self.at_c - at_c) * self.heat, 0.0, self.left)
        self.left -= given
        return given


class Nothing:
    """No heat set free."""

    def step(self, dt_s, at_c):
        return np.zeros(len(at_c))


def neumann_lambda(wall_c, freeze_c, start_c):
    """Root of Neumann's transcendental equation, equal properties in both phases.

    Carslaw & Jaeger, Conduction of Heat in Solids, ch. XI (equation from memory):
    exp(-l2)/erf(l) - (Ti-Tf)/(Tf-Tw) exp(-l2)/erfc(l) = l sqrt(pi) L / (c (Tf-Tw)).
    """
    down = freeze_c - wall_c

    def zero(lam):
        outside = (start_c - freeze_c) / down * math.exp(-lam * lam) / erfc(lam)
        inside = math.exp(-lam * lam) / erf(lam)
        return inside - outside - lam * math.sqrt(math.pi) * LATENT / SPECIFIC / down

    return brentq(zero, 1e-6, 5.0)


@pytest.mark.parametrize(
    ("wall_c", "freeze_c", "start_c"), [(12.0, 28.0, 31.5), (4.0, 22.0, 31.5), (10.0, 28.0, 28.0)]
)
def test_freezing_follows_neumann(wall_c, freeze_c, start_c):
    """The front after 10 min, and the temperature on both sides of it, within 3 %.

    The third case is Stefan's own: all at the freezing point at the start.
    """
    deep_m, cells = 0.060, 240
    layer = Layer(cells, deep_m, K, deep_m * RHO * SPECIFIC)
    stack = stack_of([layer], 1e6, 1e6)
    stack.links[-1] = 1e-9  # nothing happens at the far end of a half-space
    latent = np.full(cells, LATENT * RHO * deep_m / cells)
    freezing = FreezesAt(freeze_c, latent, stack.j_per_m2_k)
    steps = round(600.0 / stack.step_s)
    path = march(stack, np.full(cells, start_c), wall_c, freezing)
    for _ in range(steps):
        at_c = next(path)
    elapsed_s = steps * stack.step_s
    lam = neumann_lambda(wall_c, freeze_c, start_c)
    front_m = 2 * lam * math.sqrt(ALPHA * elapsed_s)
    frozen_m = deep_m * (1 - freezing.left.sum() / latent.sum())
    assert frozen_m == pytest.approx(front_m, rel=0.03)
    assert frozen_m == pytest.approx(front_m, rel=0.01)  # what is reached; 3 % is what is asked
    middle_m = (np.arange(cells) + 0.5) * deep_m / cells
    reach = 2 * math.sqrt(ALPHA * elapsed_s)
    half = np.searchsorted(middle_m, front_m / 2)
    inside = wall_c + (freeze_c - wall_c) * erf(middle_m[half] / reach) / erf(lam)
    assert at_c[half] - wall_c == pytest.approx(inside - wall_c, rel=0.03)
    beyond = np.searchsorted(middle_m, front_m * 1.5)
    outside = start_c - (start_c - freeze_c) * erfc(middle_m[beyond] / reach) / erfc(lam)
    assert start_c - at_c[beyond] == pytest.approx(start_c - outside, rel=0.03, abs=0.02)


def test_two_layers_follow_an_ode_solver():
    """Mould and chocolate, different films: scipy's BDF on the same cells, within 0.02 K."""
    layers = [Layer(3, 3e-3, 0.05, 4000.0), Layer(8, 8e-3, 0.25, 16000.0)]
    stack = stack_of(layers, 14.0, 9.0)
    start_c = np.r_[np.full(3, 24.0), np.full(8, 31.5)]
    resistance = [1 / 14 + 0.5e-3 / 0.05, *[1e-3 / 0.05] * 2, 0.5e-3 / 0.05 + 0.5e-3 / 0.25,
                  *[1e-3 / 0.25] * 7, 0.5e-3 / 0.25 + 1 / 9]  # fmt: skip

    def slopes(_, at_c):
        flow = np.diff(np.r_[12.0, at_c, 12.0]) / resistance
        return (flow[1:] - flow[:-1]) / np.r_[np.full(3, 4000 / 3), np.full(8, 2000.0)]

    steps = round(900 / stack.step_s)
    path = march(stack, start_c, 12.0, Nothing())
    for _ in range(steps):
        at_c = next(path)
    solved = solve_ivp(slopes, (0, steps * stack.step_s), start_c, method="BDF", rtol=1e-8)
    assert at_c == pytest.approx(solved.y[:, -1], abs=0.02)


def test_heat_is_neither_made_nor_lost():
    """Insulated on both sides, the heat content stays to 1e-9 while temperatures even out."""
    stack = stack_of([Layer(2, 3e-3, 0.2, 4000.0), Layer(6, 6e-3, 0.25, 12000.0)], 1e-12, 1e-12)
    start_c = np.r_[20.0, 20.0, np.full(6, 30.0)]
    path = march(stack, start_c, 10.0, Nothing())
    for _ in range(3600):
        at_c = next(path)
    assert stack.j_per_m2_k @ at_c == pytest.approx(stack.j_per_m2_k @ start_c, rel=1e-9)
    assert np.ptp(at_c) < 0.01
