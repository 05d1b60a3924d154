"""A schedule for a type of chocolate, a method and a bowl, from the type's own figures.

Figures that stand here are common practice, no source; those of the type carry theirs.
"""

from typing import Protocol

from rigwire.schedule import MASS_G
from snapgloss.base.errors import InputError
from snapgloss.base.names import check_name
from snapgloss.base.units import show_mass, write_temperature
from snapgloss.chocolate.types import HOT_MOST_MC, ChocolateType
from snapgloss.schedules.model import Method, ScheduleFile, StartState, Step, Window
from snapgloss.schedules.unusual import LAST_COOL_MOST_MC_PER_MIN

MELT_RATE_MC_PER_MIN = 3000
COOL_RATE_MC_PER_MIN = 2000
HOT_RATE_MC_PER_MIN = 5000  # as fast as the fan can: heat above the melt does no good
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
NAME_KEPT = 40  # of the chocolate's name in the schedule's, which has 60 characters
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
    milk_fat_permille: int | None = None,
    seed_g: int | None = None,
) -> ScheduleFile:
    """Return a schedule of usual figures; `chocolate_name` is the maker's own name for it.

    `milk_fat_permille` is milk fat over total fat where the label says it: more than usual
    lowers all targets after the melt. `seed_g` of the seeded method, 6 % of the bowl where nobody
    says; `schedules.seeding` weighs it by the balance of heat. Raises InputError when the rig
    cannot do it, the method does not go with the start state, or the name cannot be one.
    """
    name = chocolate_name or f"{chocolate.key.capitalize()} chocolate"
    check_name(name, "The chocolate's name")
    if milk_fat_permille is not None:
        chocolate = chocolate.with_milk_fat(milk_fat_permille / 1000)
    _check_rig(chocolate, rig, mass_g, start_state)
    steps = {"seeded": _seeded, "cooled": _cooled, "kept": _kept}[method](
        chocolate, rig, mass_g, start_state
    )
    if seed_g is not None:
        steps = [s.model_copy(update={"seed_g": seed_g}) if s.seed_g else s for s in steps]
    return ScheduleFile(
        name=f"{name[:NAME_KEPT]} {method} {show_mass(mass_g)}",
        chocolate=name,
        type=chocolate.key,  # type: ignore[arg-type]  # the keys of TYPES are the literals
        milk_fat_permille=milk_fat_permille,
        method=method,
        start=start_state,
        mass_g=mass_g,
        # The rig takes a bowl fed hotter than its own ceiling, and gives it no heat meanwhile.
        ceiling_mc=HOT_MOST_MC if start_state == "hot" else min(chocolate.hard_mc, rig.ceiling_mc),
        window=Window(low_mc=chocolate.work.low_mc, high_mc=chocolate.work.high_mc),
        steps=tuple(steps),
    )


def seed_for(mass_g: int) -> int:
    """Return the grams of seed for a bowl, to the nearest 5 g, at least 5 g."""
    return max(5, round(mass_g * SEED_SHARE / 5) * 5)


def check_mass(mass_g: int, largest_g: int | None = None) -> None:
    """Raise InputError for a mass that no schedule takes, or this rig's bowl (`largest_g`); None:
    no rig's, as by hand."""
    if mass_g < MASS_G[0]:
        raise InputError(
            f"{show_mass(mass_g)} is too little to temper.",
            f"Use at least {show_mass(MASS_G[0])}.",
        )
    if largest_g is None and mass_g > MASS_G[1]:
        raise InputError(
            f"{show_mass(mass_g)} is more than a batch may be.",
            f"Use at most {show_mass(MASS_G[1])}.",
        )
    if largest_g is not None and mass_g > largest_g:
        raise InputError(
            f"{show_mass(mass_g)} does not fit this rig's bowl.",
            f"Use at most {show_mass(largest_g)}.",
        )


def _check_rig(
    chocolate: ChocolateType, rig: RigLimits, mass_g: int, start_state: StartState
) -> None:
    check_mass(mass_g, rig.largest_mass_g)
    if start_state == "in_temper":
        return
    melt_mc = chocolate.melt.default_mc
    if rig.ceiling_mc < melt_mc or rig.plate_ceiling_mc < melt_mc + PLATE_MARGIN_MC:
        raise InputError(
            f"This rig's ceilings do not let it melt {chocolate.key} chocolate at "
            f"{write_temperature(melt_mc)}.",
            "Check ceiling and plate_ceiling in the rig's description.",
        )


def _melted(chocolate: ChocolateType, rig: RigLimits, start_state: StartState) -> list[Step]:
    """Melt and rest; a bowl fed hot is cooled to the rest; only solid blocks can have lumps."""
    lumps = start_state == "solid"
    target_mc = chocolate.melt.default_mc
    wall_mc = min(chocolate.plate_mc, rig.plate_ceiling_mc)
    melt = Step(
        kind="melt",
        target_mc=target_mc,
        hold_s=LUMPS_HOLD_S,
        rate_mc_per_min=MELT_RATE_MC_PER_MIN,
        wall_mc=wall_mc,
        prompt="lumps_gone" if lumps else "none",
        wait_s=LUMPS_WAIT_S if lumps else 0,
    )
    rest = Step(
        kind="rest",
        target_mc=target_mc,
        hold_s=chocolate.melt_out_s,
        rate_mc_per_min=MELT_RATE_MC_PER_MIN,
        wall_mc=wall_mc,
    )
    if start_state == "hot":
        return [_cool(target_mc, HOT_RATE_MC_PER_MIN, wall_mc), rest]
    return [melt, rest]


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
