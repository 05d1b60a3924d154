"""A sample of chocolate setting in a tube in the cold, for trying the temper check on.

Simulated, and apart from the code it tries: heat is conducted through rings of the tube, and the
crystals follow other laws than `snapgloss.chocolate.crystals` (growth as undercooling squared
there to the power 1.5, n^0.4 v^0.6 there n^(1/3) v^(2/3), unstable ones as undercooling^1.4 there
1). Nothing of snapgloss is imported.

Figures from memory or common practice unless named: conductivity 0.26 W/m K and density 1250
kg/m3 of chocolate (handbook, second-hand), 1600 J/kg K, latent heat 137 and 118 kJ per kg of fat.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RINGS = 8
STEP_S = 1.0
LONGEST_S = 5400
CHECK_EVERY = 120
CONDUCTIVITY, DENSITY, HEAT = 0.26, 1250.0, 1600.0
LATENT_V, LATENT_U = 137e3, 118e3
MELT_V_C, MELT_U_C = 33.8, 27.5
TOP_W_PER_M2K = 8.0
V_AT = (
    (0, 10, 15, 20, 25, 27.5, 30, 32, 33.8),
    (0.88, 0.85, 0.82, 0.76, 0.70, 0.60, 0.45, 0.2, 0),
)
U_AT = ((0, 10, 15, 20, 25, 27.5), (0.80, 0.75, 0.65, 0.50, 0.20, 0))


@dataclass(frozen=True)
class Tubes:
    """Samples in their tubes, an array of one value for each in every field."""

    radius_m: Floats
    mass_kg: Floats
    film_w_per_m2k: Floats
    """Wall and bath together, at the chocolate's surface."""
    bath_c: Floats
    bath_rise_c_per_min: Floats
    room_c: Floats
    start_c: Floats
    seed: Floats
    """Stable crystals at the start, share of the fat."""
    numbers: Floats
    """Number of seeds over what that mass usually has."""
    fat: Floats
    depression_k: Floats
    """By which milk fat lowers all melting points."""
    grow_v: Floats
    """Per minute at 10 K below the melting point."""
    level_shift: Floats
    probe_at: Floats
    """Where the probe stands, share of the radius; 0 = on the axis."""

    def take(self, which: NDArray[np.intp]) -> Tubes:
        """The tubes of these numbers."""
        return Tubes(*(getattr(self, field.name)[which] for field in fields(self)))

    def __len__(self) -> int:
        return len(self.seed)


def draw(count: int, rng: np.random.Generator) -> Tubes:
    """Tubes of 12 to 20 mm with 8 to 20 g; seed 0.05 to 15 % of the fat, evenly in its log."""

    def between(low: float, high: float) -> Floats:
        return rng.uniform(low, high, count)

    radius_m = between(6e-3, 10e-3)
    film_s = between(70.0, 340.0)  # what wall and bath alone would make of the time constant
    depression_k = rng.choice([0.0, 0.0, 1.3, 1.6], count)
    return Tubes(
        radius_m=radius_m,
        mass_kg=between(8e-3, 20e-3),
        film_w_per_m2k=DENSITY * HEAT * radius_m / (2 * film_s),
        bath_c=between(8.0, 15.0),
        bath_rise_c_per_min=rng.normal(0.0, 0.008, count),
        room_c=between(18.0, 27.0),
        start_c=between(29.5, 32.5) - depression_k,
        seed=np.exp(between(np.log(5e-4), np.log(0.15))),
        numbers=np.exp(rng.normal(0.0, 0.25, count)),
        fat=between(0.28, 0.40),
        depression_k=depression_k,
        grow_v=0.9 * np.exp(rng.normal(0.0, 0.25, count)),
        level_shift=rng.normal(0.0, 0.015, count),
        probe_at=between(0.0, 0.5) * (rng.random(count) < 0.5),
    )  # fmt: skip


@dataclass(frozen=True)
class Cooled:
    """The temperatures of samples once a second, shape (tubes, seconds); nan after the end."""

    axis_c: Floats
    probe_c: Floats
    """Where the probe stands, without its lag."""
    tau_s: Floats
    """Time constant of the sample without crystals: the slowest mode of its conduction."""


def cool(tubes: Tubes, longest_s: int = LONGEST_S) -> Cooled:
    """Cool every sample in its bath until its axis is within 1.5 K of it, or `longest_s`."""
    count = len(tubes)
    axis_c = np.full((count, longest_s), np.nan)
    probe_c = np.full((count, longest_s), np.nan)
    going = np.arange(count)
    body = _Body(tubes)
    for second in range(longest_s):
        axis_c[going, second], probe_c[going, second] = body.at_axis(), body.at_probe()
        body.step()
        if second % CHECK_EVERY == 0:
            stay = body.at_axis() > body.bath_c() + 1.5
            going = going[stay]
            body = body.keep(stay)
        if not len(going):
            break
    return Cooled(axis_c, probe_c, time_constants(tubes))


def time_constants(tubes: Tubes) -> Floats:
    """Slowest time constant of each tube without crystals, s: an eigenvalue of its rings."""
    found = []
    for number in range(len(tubes)):
        flows = _Flows(tubes.take(np.array([number])))
        matrix = np.column_stack(
            [
                flows.rate_c_per_s(unit[None, :], np.zeros(1), np.zeros(1))[0]
                for unit in np.eye(RINGS)
            ]
        )
        found.append(-1.0 / np.max(np.linalg.eigvals(matrix).real))
    return np.array(found)


class _Flows:
    """Conduction between rings of equal width, to the bath, and out of the open top."""

    def __init__(self, tubes: Tubes) -> None:
        wide = tubes.radius_m / RINGS
        edges = np.arange(RINGS + 1)[None, :] * wide[:, None]
        area = np.pi * np.diff(edges**2, axis=1)
        inner = CONDUCTIVITY * 2 * np.pi * edges[:, 1:-1] / wide[:, None]
        half_ring = wide / 2 / CONDUCTIVITY
        outer = 2 * np.pi * tubes.radius_m / (1 / tubes.film_w_per_m2k + half_ring)
        holds = DENSITY * HEAT * area
        length_m = tubes.mass_kg / (DENSITY * np.pi * tubes.radius_m**2)
        self.to_inner = inner / holds[:, 1:]
        self.to_outer = inner / holds[:, :-1]
        self.to_bath = outer / holds[:, -1]
        self.to_room = TOP_W_PER_M2K / (DENSITY * HEAT * length_m)

    def rate_c_per_s(self, at_c: Floats, bath_c: Floats, room_c: Floats) -> Floats:
        steps = np.diff(at_c, axis=1)
        change = self.to_room[:, None] * (room_c[:, None] - at_c)
        change[:, :-1] += self.to_outer * steps
        change[:, 1:] -= self.to_inner * steps
        change[:, -1] += self.to_bath * (bath_c - at_c[:, -1])
        return change


class _Body:
    """State of all samples: rings of temperature, stable and unstable crystals, seeds."""

    def __init__(self, tubes: Tubes) -> None:
        shape = (len(tubes), RINGS)
        self.tubes, self.flows, self.at_s = tubes, _Flows(tubes), 0.0
        self.at_c = np.repeat(tubes.start_c[:, None], RINGS, axis=1)
        self.v = np.broadcast_to(tubes.seed[:, None], shape).copy()
        self.n = self.v * tubes.numbers[:, None]
        self.u = np.zeros(shape)

    def keep(self, stay: NDArray[np.bool_]) -> _Body:
        if stay.all():
            return self
        kept = _Body(self.tubes.take(np.flatnonzero(stay)))
        kept.at_s = self.at_s
        kept.at_c, kept.v, kept.n, kept.u = (x[stay] for x in (self.at_c, self.v, self.n, self.u))
        return kept

    def bath_c(self) -> Floats:
        return self.tubes.bath_c + self.tubes.bath_rise_c_per_min * self.at_s / 60

    def at_axis(self) -> Floats:
        # Even in the radius, so a parabola through the two inmost rings (r = 0.5 and 1.5).
        return self.at_c[:, 0] + (self.at_c[:, 0] - self.at_c[:, 1]) / 8

    def at_probe(self) -> Floats:
        place = np.clip(self.tubes.probe_at * RINGS - 0.5, 0, RINGS - 1.001)
        ring = place.astype(int)
        rows = np.arange(len(ring))
        between = self.at_c[rows, ring]
        between = between + (self.at_c[rows, ring + 1] - between) * (place - ring)
        return np.where(self.tubes.probe_at * RINGS < 0.5, self.at_axis(), between)

    def step(self) -> None:
        """One second: crystals grow at the temperature of their ring, heat moves on."""
        gained_v, gained_u = self._crystals(STEP_S / 60)
        change = self.flows.rate_c_per_s(self.at_c, self.bath_c(), self.tubes.room_c) * STEP_S
        freed = self.tubes.fat[:, None] * (LATENT_V * gained_v + LATENT_U * gained_u) / HEAT
        self.at_c = self.at_c + change + freed
        self.at_s += STEP_S

    def _crystals(self, dt_min: float) -> tuple[Floats, Floats]:
        at_c = self.at_c + self.tubes.depression_k[:, None]
        v, u, n = self.v, self.u, self.n
        level = np.interp(at_c, *V_AT) + self.tubes.level_shift[:, None]
        room = np.maximum(level - v - u, 0.0)
        under = np.clip((MELT_V_C - at_c) / 10, 0, 2)
        grown = self.tubes.grow_v[:, None] * under**2 * n**0.4 * v**0.6 * room * dt_min
        cold = np.clip((MELT_U_C - at_c) / 10, 0, 2)
        free = np.maximum(np.interp(at_c, *U_AT) - v - u, 0.0)
        born = (1.2e-3 * cold**2 + 0.5 * cold**1.4 * u) * free * dt_min
        turned = 4e-3 * u * dt_min
        self.v = v + grown + turned
        self.u = u + born - turned
        self.n = n + turned
        return grown + turned, born - turned
