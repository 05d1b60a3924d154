"""Where water boils, by altitude or pressure: a fixed point for a probe that stands the heat."""

import math

from snapgloss.base.errors import InputError

SEA_PA = 101_325.0
WEATHER_C = 0.55
"""Weather moves the pressure by 2 kPa (common knowledge); by so much the boil (calculated)."""

# IAPWS-IF97, saturation (its region 4), coefficients n1 to n10 (from memory; tests compare with
# two libraries).
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def pressure_pa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere, -400..5000 m: p0 (1 - 2.25577e-5 h)^5.25588 (ISO 2533).

    Raises InputError outside that.
    """
    if not -400 <= altitude_m <= 5000:  # NaN fails this too
        raise InputError(
            f"Nobody makes chocolate at {altitude_m:g} m.", "Give an altitude of -400 to 5000 m."
        )
    return SEA_PA * math.pow(1 - 2.25577e-5 * altitude_m, 5.25588)


def boiling_c(pascal: float) -> float:
    """Boiling point of water in degC at 50..110 kPa (IAPWS-IF97, backward equation).

    Raises InputError outside that.
    """
    if not 50_000 <= pascal <= 110_000:
        raise InputError(
            f"An air pressure of {pascal / 100:.0f} hPa is none on land.", "Read it again."
        )
    beta = math.pow(pascal / 1e6, 0.25)
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2 * g / (-f - math.sqrt(f * f - 4 * e * g))
    root = math.sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))
    return (_N[9] + d - root) / 2 - 273.15
