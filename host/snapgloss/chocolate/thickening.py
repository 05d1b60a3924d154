"""How long a bowl in temper stays pourable, and how thick chocolate is: crystals, and Casson.

The minutes come from the crystal model, whose rates are not fitted: an **estimate**. Practice says
30 to 60 minutes (no source), so no more than 60 are ever promised.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from snapgloss.base.errors import InputError
from snapgloss.chocolate.crystals import Crystals

Floats = NDArray[np.float64]

POURED_SHARE, THICK_SHARE = 0.02, 0.05
"""Of the fat set: 1-4 % is in temper (from memory); thickening shows from about 5 (own choice)."""
PRACTICE_MIN = (30.0, 60.0)


def pourable_min(work_c: float, depression_k: float = 0.0) -> float:
    """Minutes at `work_c` (25..33) until 5 % of the fat has set, stirred, from 2 %; at most 60.

    `depression_k` from `heat.melting_depression`. 0.3 degC more makes it a fifth longer or more.
    Raises InputError outside the range.
    """
    if not 25 <= work_c <= 33:  # NaN fails this too
        raise InputError(
            f"No chocolate is worked at {work_c:g} °C.", "Give its working temperature, 25 to 33."
        )
    crystals, seconds = Crystals(POURED_SHARE, depression_k=depression_k), 0
    while crystals.v < THICK_SHARE and seconds < PRACTICE_MIN[1] * 60:
        crystals.step(1.0, work_c, 1.0)
        seconds += 1
    return seconds / 60


def casson_pa(shear_per_s: ArrayLike, yield_pa: float, plastic_pa_s: float) -> Floats:
    """Shear stress in Pa at `shear_per_s` (0 or more): sqrt(tau) = sqrt(yield) + sqrt(eta shear).

    Casson's equation, the trade's usual one for melted chocolate: 2-30 Pa and 1-6 Pa s.
    """
    shear = np.asarray(shear_per_s, dtype=float)
    root = np.sqrt(yield_pa) + np.sqrt(plastic_pa_s * shear)
    return np.asarray(root * root)[()]
