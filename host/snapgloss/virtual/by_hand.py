"""The simulated person who tempers by hand, the rig off: over warm water, on cold water, over warm
water again, by the figures of the chocolate's type.

Common practice, no source: hands that are slower near the goal, seed 15 s after its temperature,
the first mould 5 minutes after work began. Water or stone takes and gives somewhat less heat than
the plate of the rig (assumption).
"""

from snapgloss.chocolate.types import ChocolateType, type_of
from snapgloss.virtual.person import BATCH, READY, SEED_C, Bowl, Person, Seen
from snapgloss.virtual.plant import Plant, PlantSetup

STIR = 0.6
BATH_W_PER_K = 10.0
HOT_WATER_C, COLD_WATER_C, WARM_WATER_C = 60.0, 14.0, 38.0
NEAR_K = 2.0
"""So near the goal the bowl is held to milder water."""
KEEPS_K = 0.4
"""Water that much warmer than the chocolate makes up for what the room takes."""
PAST_K = 0.3
"""A person looks twice before going on."""
REST_MORE_MS = 60_000
SEED_SHARE = 0.06
SEED_MS, POUR_AFTER_MS = 15_000, 5 * 60_000
LIQUID_C, KEPT_C, KEPT_V = 48.0, 29.5, 0.008
STEPS = {
    "cooled": ("melt", "rest", "cool", "rewarm", "work"),
    "seeded": ("melt", "rest", "cool", "seed", "work"),
    "kept": ("rewarm", "work"),
}


def setup_for(method: str, mass_g: float, liquid: bool) -> PlantSetup:
    """The bowl that a person begins with by a method; `liquid`: melted already."""
    if method == "kept":
        return PlantSetup(mass_g=mass_g, solid=False, start_c=KEPT_C, start_v=KEPT_V)
    return PlantSetup(mass_g=mass_g, solid=not liquid, start_c=LIQUID_C if liquid else None)


class HandTemperer(Person):
    """Begins when a host comes to the rig, with the bowl as it is set up; a new host, a new bowl.

    While the rig shows a batch of its own it leaves the bowl to it.
    """

    def __init__(self, plant: Plant, kind: str, method: str) -> None:
        super().__init__(plant.setup.mass_g)
        self._plant, self._kind = plant, type_of(kind)
        self._method = method
        self._seen_visits = 0
        self._steps: tuple[str, ...] = ()
        self._since_ms = 0
        self._has_seeded = False

    def act(self, now_ms: int, seen: Seen, bowl: Bowl) -> None:
        """Do what is due; nothing before a host came."""
        if seen.state_no in BATCH or seen.state_no == READY:
            self._let_go()
            super().act(now_ms, seen, bowl)
            return
        if self.visits != self._seen_visits:
            self._begin_bowl(now_ms)
        if self._steps:
            self._temper(now_ms)

    def _begin_bowl(self, now_ms: int) -> None:
        if self._seen_visits:
            self._plant.refill()
        self._seen_visits = self.visits
        setup = self._plant.setup
        is_liquid = not setup.solid and self._method != "kept"
        steps = STEPS[self._method]
        self._steps = steps[2:] if is_liquid else steps
        self._since_ms, self._has_seeded, self._poured = now_ms, False, 0

    def _let_go(self) -> None:
        self.at_work = False
        touch = self._plant.touch
        touch.bowl_off, touch.stir, touch.bath_w_per_k = False, 0.0, 0.0

    def _temper(self, now_ms: int) -> None:
        self.at_work = True
        touch, probe_c = self._plant.touch, self._plant.probe_c
        touch.bowl_off, touch.stir = True, STIR
        if probe_c is None:
            return
        here_ms = now_ms - self._since_ms
        if self._is_done(probe_c, here_ms) and len(self._steps) > 1:
            self._steps, self._since_ms = self._steps[1:], now_ms
        touch.bath_w_per_k, touch.bath_c = BATH_W_PER_K, self._bath_c(probe_c)
        if self._steps[0] == "seed" and not self._has_seeded and here_ms >= SEED_MS:
            self._has_seeded = True
            self._plant.add(self._plant.setup.mass_g * SEED_SHARE, SEED_C, 1.0)
        elif self._steps[0] == "work":
            self._pour(now_ms - self._since_ms - POUR_AFTER_MS, self._plant)

    def _is_done(self, probe_c: float, here_ms: int) -> bool:
        step, kind = self._steps[0], self._kind
        if step == "rest":
            return here_ms >= kind.melt_out_s * 1000 + REST_MORE_MS
        if step == "seed":
            return self._has_seeded and probe_c <= _c(kind.work.default_mc)
        goal_c = self._goal_c(kind)
        return probe_c <= goal_c - PAST_K if step == "cool" else probe_c >= goal_c + PAST_K

    def _goal_c(self, kind: ChocolateType) -> float:
        step = self._steps[0]
        if step in ("melt", "rest"):
            return _c(kind.melt.default_mc)
        if step == "cool":
            return _c(kind.seed_at_mc if self._method == "seeded" else kind.cool.default_mc)
        return _c(kind.work.low_mc if step == "rewarm" else kind.work.default_mc)

    def _bath_c(self, probe_c: float) -> float:
        """The water that the bowl is held to now."""
        step, goal_c = self._steps[0], self._goal_c(self._kind)
        if step in ("rest", "work"):
            return goal_c + KEEPS_K
        is_near = abs(probe_c - goal_c) < NEAR_K
        if step in ("cool", "seed"):
            return goal_c - 3 * NEAR_K if is_near else COLD_WATER_C
        water_c = HOT_WATER_C if step == "melt" else WARM_WATER_C
        return goal_c + 2 * NEAR_K if is_near else water_c


def _c(mc: int) -> float:
    return mc / 1000
