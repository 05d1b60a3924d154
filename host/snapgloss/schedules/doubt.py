"""What is not known of a rig, a chocolate and a room, and bowls drawn from it.

A figure is as likely by some factor over what is said of it as by the same factor under it, so
doubt is a standard deviation of its natural logarithm. A described rig is in wide doubt; of one
that was learned the fit says how much is left, and which figures hang together.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.bowl import RigHeat

Array = NDArray[np.float64]
PLATE_LOSS_PART = 0.6
"""Share of the loss in still air that leaves by the plate, not the chocolate; assumption."""

DESCRIBED_LOG_SD: Mapping[str, float] = {
    "heater_w": 0.03,  # its label is right, mains move by some per cent
    "plate_j_per_k": 0.32,  # a maker's figure, good to a third; so are the next three (own choice)
    "plate_w_per_k": 0.28,
    "loss_w_per_k": 0.26,
    "fan_loss_w_per_k": 0.25,
    "probe_lag_s": 0.6,
    "solid_share": 0.2,
    "specific": 0.02,  # 1590 to 1670 J/kg K, Beckett 2009 p. 667
    "latent": 0.08,  # 137 to 157 kJ per kg of fat, and the label's fat
}
"""Of a rig nobody has measured."""
SOLID_SHARE = 0.36
"""Of the plate's conductance, while the chocolate is in pieces; assumption."""
MOVES_LOG_SD = 0.05
"""Dust in a fan, another bowl, a probe put elsewhere; own choice."""
TAUGHT_PART = 0.5
"""Of the doubt about the coupling that a regulator keeps which learned the rig as well; own choice
from the control bench (simulated): its belief moves about halfway to the truth."""
OFFSET_SD_C = 0.29
"""DS18B20 data sheet: +-0.5 degC, taken as evenly spread."""
ROOM_SD_C = 0.5
"""How well a person knows the room over a batch; own choice."""


class RigFigures(RigHeat, Protocol):
    """What the outlook must know of a rig; `rigs.description` has it."""

    @property
    def probe_lag_s(self) -> float:
        """Lag of the chocolate's probe."""


@dataclass(frozen=True)
class Doubt:
    """`names` of figures and the covariance of their logarithms, n by n; the rest is known.

    `believed_log_sd` is how far from the truth the coupling may be that the regulator begins with;
    0: it begins with what the rig's file says.
    """

    names: tuple[str, ...]
    log_cov: Array
    believed_log_sd: float = 0.0


class Samples(NamedTuple):
    """Bowls that all may be the one there, arrays of n; W, J/K, W/K, s, degC, J/kg.

    `believed_w_per_k` is what is said of the plate, as the regulator begins with it; infinite: it
    never holds itself back.
    """

    mass_kg: float
    heater_w: Array
    plate_j_per_k: Array
    plate_w_per_k: Array
    loss_w_per_k: Array
    fan_loss_w_per_k: Array
    probe_lag_s: Array
    solid_share: Array
    specific: Array
    latent: Array
    offset_c: Array
    room_c: Array
    believed_w_per_k: Array | float = float("inf")


def described() -> Doubt:
    """Return the doubt about a rig that was only described."""
    return Doubt(tuple(DESCRIBED_LOG_SD), np.diag(np.square(list(DESCRIBED_LOG_SD.values()))))


def learned(names: tuple[str, ...], log_cov: Array) -> Doubt:
    """Return the doubt about a rig whose figures `names` were fitted with this covariance."""
    rest = [name for name in DESCRIBED_LOG_SD if name not in names]
    whole = np.zeros((len(names) + len(rest),) * 2)
    whole[: len(names), : len(names)] = log_cov
    for at, name in enumerate(rest, len(names)):
        whole[at, at] = DESCRIBED_LOG_SD[name] ** 2
    return Doubt((*names, *rest), whole, TAUGHT_PART * DESCRIBED_LOG_SD["plate_w_per_k"])


def known(percent: Mapping[str, float]) -> Doubt:
    """Return the doubt about a rig of which these figures are known, in per cent.

    Between a run and the next a figure may move by `MOVES_LOG_SD`.
    """
    names = tuple(percent)
    sds = np.array([percent[name] / 100.0 for name in names])
    return learned(names, np.diag(sds**2 + MOVES_LOG_SD**2))


def draw(
    rig: RigFigures, kind: ChocolateType, mass_g: int, room_c: float, doubt: Doubt, count: int,
    seed: int = 1,
) -> Samples:  # fmt: skip
    """Return `count` bowls; the same seed gives the same."""
    random = np.random.default_rng(seed)
    logs = random.multivariate_normal(np.zeros(len(doubt.names)), doubt.log_cov, count)
    factors = {name: np.exp(logs[:, at]) for at, name in enumerate(doubt.names)}
    said = {
        "heater_w": float(rig.heater_w),
        "plate_j_per_k": rig.plate_j_per_k,
        "plate_w_per_k": rig.plate_w_per_k,
        "loss_w_per_k": rig.loss_w_per_k,
        "fan_loss_w_per_k": rig.fan_loss_w_per_k,
        "probe_lag_s": rig.probe_lag_s,
        "solid_share": SOLID_SHARE,
        "specific": kind.specific_heat,
        "latent": kind.latent_heat,
    }
    figures = {name: value * factors.get(name, np.ones(count)) for name, value in said.items()}
    offset_c = random.normal(0.0, OFFSET_SD_C, count).clip(-0.5, 0.5)
    rooms_c = room_c + random.normal(0.0, ROOM_SD_C, count)
    believed = np.full(count, rig.plate_w_per_k)
    if doubt.believed_log_sd:
        apart = np.exp(random.normal(0.0, doubt.believed_log_sd, count))
        believed = figures["plate_w_per_k"] * apart
    return Samples(mass_g / 1000.0, **figures, offset_c=offset_c, room_c=rooms_c,
                   believed_w_per_k=believed)  # fmt: skip
