"""Specific heat and density of what chocolate is made of, by temperature.

Fat, carbohydrate, protein, fibre and ash: Choi & Okos (1986), as printed in the ASHRAE Handbook
Refrigeration 2006, ch. 9, -40..150 degC. Sugar is crystalline in chocolate, which those do not
know: Antokolskaia 1964 in Mohos 2010, table A1.3. Temperatures are numbers or arrays in degC, and
so are the answers. No latent heat is in any of these.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

_SPECIFIC = {
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
}
_DENSITY = {
    "fat": (925.59, -0.41757),
    "carbohydrate": (1599.1, -0.31046),
    "protein": (1329.9, -0.51840),
    "fibre": (1311.5, -0.36589),
    "ash": (2423.8, -0.28063),
}
NAMES = tuple(_SPECIFIC)
AT_C = 31.5
"""Where heats are taken: near the working temperatures; they change by 2 % from 20 to 45."""

SUGAR_C = (20.0, 30.0, 40.0, 50.0)
SUGAR_J_PER_KG_K = (1214.0, 1256.0, 1323.0, 1357.0)
SUGAR_KG_PER_M3 = 1587.0
"""Of a crystal of sucrose (from memory)."""
WATER_J_PER_KG_K, WATER_KG_PER_M3 = 4180.0, 996.0


def specific_heat(name: str, at_c: ArrayLike) -> Floats:
    """J/kg K of one of NAMES, "sugar" (20..50 degC, held at its ends) or "water"."""
    at = np.asarray(at_c, dtype=float)
    if name == "sugar":
        return np.asarray(np.interp(at, SUGAR_C, SUGAR_J_PER_KG_K))[()]
    if name == "water":
        return np.full(at.shape, WATER_J_PER_KG_K)[()]
    a, b, c = _SPECIFIC[name]
    return np.asarray(a + b * at + c * at * at)[()]


def density(name: str, at_c: ArrayLike) -> Floats:
    """kg/m3 of one of NAMES, "sugar" or "water"."""
    at = np.asarray(at_c, dtype=float)
    if name in ("sugar", "water"):
        return np.full(at.shape, SUGAR_KG_PER_M3 if name == "sugar" else WATER_KG_PER_M3)[()]
    a, b = _DENSITY[name]
    return np.asarray(a + b * at)[()]
