"""A schedule for a type of chocolate, a method and a bowl, from the type's own figures.

Figures that stand here are common practice, no source; those of the type carry theirs.
"""

from typing import Protocol

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, write_temperature
from snapgloss.chocolate.types import ChocolateType
from snapgloss.schedules.model import Method, ScheduleFile, StartState, Step, Window
from snapgloss.schedules.rules import LAST_COOL_MOST_MC_PER_MIN

MELT_RATE_MC_PER_MIN = 3000
COOL_RATE_MC_PER_MIN = 2000
REWARM_RATE_MC_PER_MIN = 800  # the limit of a rewarm is 1000
WORK_RATE_MC_PER_MIN = 500
LUMPS_HOLD_S = 300
LUMPS_WAIT_S = 300
SEED_WAIT_S = 600
SEED_MIX_S = 360
SEED_SHARE = 0.06  # 5-8 % grated or chopped
SLOW_LAST_MC = 3000  # the last 2-3 degC down to the low point go slowly
LOW_DWELL_S = 300  # 3-10 min stirred; a university teaching lab takes 5
WORK_HOLD_S = 2700  # pouring stays good for 30-60 min
PLATE_MARGIN_MC = 2000  # a plate must be warmer than what it melts


class RigLimits(Protocol):
    """What the maker of a schedule must know of a rig; `rigs.description` has it."""

    @property
    def ceiling_mc(self) -> int:
        """The rig never lets the chocolate go above it."""

    @property
    def plate_ceiling_mc(self) -> int:
        """The rig never lets the plate go above it."""

    @property
    def largest_mass_g(self) -> int:
        """The bowl holds no more."""


def make(
    chocolate: ChocolateType,
    rig: RigLimits,
    mass_g: int,
    method: Method = "seeded",
    start_state: StartState = "solid",
    chocolate_name: str | None = None,
) -> ScheduleFile:
    """Return a schedule of usual figures; `chocolate_name` is the maker's own name for it.

    Raises InputError when the rig cannot do it or the method does not go with the start state.
    """
    _check_rig(chocolate, rig, mass_g)
    name = chocolate_name or f"{chocolate.key.capitalize()} chocolate"
    steps = {"seeded": _seeded, "cooled": _cooled, "kept": _kept}[method](
        chocolate, rig, mass_g, start_state
    )
    return ScheduleFile(
        name=f"{name} {method} {show_mass(mass_g)}",
        chocolate=name,
        type=chocolate.key,  # type: ignore[arg-type]  # the keys of TYPES are the literals
        method=method,
        start=start_state,
        mass_g=mass_g,
        ceiling_mc=min(chocolate.hard_mc, rig.ceiling_mc),
        window=Window(low_mc=chocolate.work.low_mc, high_mc=chocolate.work.high_mc),
        steps=tuple(steps),
    )


def seed_for(mass_g: int) -> int:
    """Return the grams of seed for a bowl, to the nearest 5 g, at least 5 g."""
    return max(5, round(mass_g * SEED_SHARE / 5) * 5)


def _check_rig(chocolate: ChocolateType, rig: RigLimits, mass_g: int) -> None:
    if mass_g > rig.largest_mass_g:
        raise InputError(
            f"{show_mass(mass_g)} does not fit this rig's bowl.",
            f"Use at most {show_mass(rig.largest_mass_g)}.",
        )
    melt_mc = chocolate.melt.default_mc
    if rig.ceiling_mc < melt_mc or rig.plate_ceiling_mc < melt_mc + PLATE_MARGIN_MC:
        raise InputError(
            f"This rig's ceilings do not let it melt {chocolate.key} chocolate at "
            f"{write_temperature(melt_mc)}.",
            "Check ceiling and plate_ceiling in the rig's description.",
        )


def _melted(chocolate: ChocolateType, rig: RigLimits, start_state: StartState) -> list[Step]:
    """Melt and rest; only solid blocks are looked at for lumps."""
    lumps = start_state == "solid"
    target_mc = chocolate.melt.default_mc
    wall_mc = min(chocolate.plate_mc, rig.plate_ceiling_mc)
    return [
        Step(
            kind="melt",
            target_mc=target_mc,
            hold_s=LUMPS_HOLD_S,
            rate_mc_per_min=MELT_RATE_MC_PER_MIN,
            wall_mc=wall_mc,
            prompt="lumps_gone" if lumps else "none",
            wait_s=LUMPS_WAIT_S if lumps else 0,
        ),
        Step(
            kind="rest",
            target_mc=target_mc,
            hold_s=chocolate.melt_out_s,
            rate_mc_per_min=MELT_RATE_MC_PER_MIN,
            wall_mc=wall_mc,
        ),
    ]


def _cool(target_mc: int, rate_mc_per_min: int, wall_mc: int, hold_s: int = 0) -> Step:
    return Step(
        kind="cool",
        target_mc=target_mc,
        hold_s=hold_s,
        rate_mc_per_min=rate_mc_per_min,
        wall_mc=wall_mc,
    )


def _work(chocolate: ChocolateType) -> Step:
    return Step(
        kind="work",
        target_mc=chocolate.work.default_mc,
        hold_s=WORK_HOLD_S,
        rate_mc_per_min=WORK_RATE_MC_PER_MIN,
        wall_mc=chocolate.wall_mc,
        prompt="dip_knife",
    )


def _rewarm(chocolate: ChocolateType) -> Step:
    return Step(
        kind="rewarm",
        target_mc=chocolate.work.default_mc,
        rate_mc_per_min=REWARM_RATE_MC_PER_MIN,
        wall_mc=chocolate.wall_mc,
    )


def _seeded(
    chocolate: ChocolateType, rig: RigLimits, mass_g: int, start_state: StartState
) -> list[Step]:
    melted = _melted(chocolate, rig, start_state)
    seed = Step(
        kind="seed",
        target_mc=chocolate.seed_at_mc,
        hold_s=SEED_MIX_S,
        rate_mc_per_min=WORK_RATE_MC_PER_MIN,
        wall_mc=chocolate.wall_mc,
        prompt="seed_in",
        wait_s=SEED_WAIT_S,
        seed_g=seed_for(mass_g),
    )
    return [
        *melted,
        _cool(chocolate.seed_at_mc, COOL_RATE_MC_PER_MIN, melted[0].wall_mc),
        seed,
        _cool(chocolate.work.default_mc, LAST_COOL_MOST_MC_PER_MIN, chocolate.wall_mc),
        _work(chocolate),
    ]


def _cooled(
    chocolate: ChocolateType, rig: RigLimits, _mass_g: int, start_state: StartState
) -> list[Step]:
    melted = _melted(chocolate, rig, start_state)
    low_mc = chocolate.cool.default_mc
    return [
        *melted,
        _cool(low_mc + SLOW_LAST_MC, COOL_RATE_MC_PER_MIN, melted[0].wall_mc),
        _cool(low_mc, LAST_COOL_MOST_MC_PER_MIN, chocolate.wall_mc, LOW_DWELL_S),
        _rewarm(chocolate),
        _work(chocolate),
    ]


def _kept(
    chocolate: ChocolateType, _rig: RigLimits, _mass_g: int, _start_state: StartState
) -> list[Step]:
    return [_rewarm(chocolate), _work(chocolate)]
