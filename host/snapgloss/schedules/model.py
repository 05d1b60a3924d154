"""A schedule as the host holds it: whole milli-degC, seconds and grams, checked when made.

The limits of single values are those of the wire, so that what passes here also passes there;
what must hold between values (order, caps of the type, walls) is in `rules`.
"""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from rigwire import schedule as limits
from snapgloss.chocolate.types import MILK_FAT_MOST_SHARE, ChocolateType, type_of
from snapgloss.schedules.rules import check

FORMAT = 1
CREEP_LEAST_MC_PER_H = 50  # own choice: a tenth of a degree in a long pour; slower is none

Kind = Literal["melt", "rest", "cool", "seed", "rewarm", "work"]
Prompt = Literal["none", "lumps_gone", "seed_in", "dip_knife", "pour"]
Method = Literal["seeded", "cooled", "kept"]
StartState = Literal["solid", "liquid", "in_temper", "hot"]
TypeKey = Literal["dark", "milk", "white"]

NAME_MOST = 60
Name = Annotated[str, StringConstraints(min_length=1, max_length=NAME_MOST)]
TargetMc = Annotated[int, Field(ge=limits.TARGET_MC[0], le=limits.TARGET_MC[1])]
WallMc = Annotated[int, Field(ge=limits.TARGET_MC[0], le=limits.WALL_MOST_MC)]
HoldS = Annotated[int, Field(ge=limits.HOLD_S[0], le=limits.HOLD_S[1])]
WaitS = Annotated[int, Field(ge=limits.WAIT_S[0], le=limits.WAIT_S[1])]
RateMcPerMin = Annotated[int, Field(ge=limits.RATE_MC_PER_MIN[0], le=limits.RATE_MC_PER_MIN[1])]
MassG = Annotated[int, Field(ge=limits.MASS_G[0], le=limits.MASS_G[1])]
MilkFatPermille = Annotated[int, Field(ge=0, le=round(MILK_FAT_MOST_SHARE * 1000))]
CreepMcPerH = Annotated[int, Field(ge=CREEP_LEAST_MC_PER_H, le=limits.CREEP_MOST_MC_PER_H)]
SeedG = Annotated[int, Field(ge=0, le=limits.MASS_G[1])]

_STRICT = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False)


class Step(BaseModel):
    """One step of a schedule; the meanings are those of rigwire.schedule.Step.

    `prompt` is raised when the target is reached. The step waits at most `wait_s` for the
    answer, then goes on by itself; with 0 it does not wait. `hold_s` runs from there,
    and over it the target of a work step rises by `creep_mc_per_h` up to `creep_to_mc`, if it has
    both.
    """

    model_config = _STRICT

    kind: Kind
    target_mc: TargetMc
    hold_s: HoldS = 0
    rate_mc_per_min: RateMcPerMin
    wall_mc: WallMc
    prompt: Prompt = "none"
    wait_s: WaitS = 0
    seed_g: SeedG = 0
    creep_mc_per_h: CreepMcPerH | None = None
    creep_to_mc: TargetMc | None = None

    @property
    def top_mc(self) -> int:
        """Return the greatest target the step ever has."""
        return max(self.target_mc, self.creep_to_mc or 0)


class Window(BaseModel):
    """The working window a run of this schedule is judged by, both ends included."""

    model_config = _STRICT

    low_mc: TargetMc
    high_mc: TargetMc


class ScheduleFile(BaseModel):
    """A whole schedule: what a file says and what the rig is given.

    `chocolate` is the maker's own name for it, `type` the general type whose limits protect it.
    `milk_fat_permille` is milk fat over total fat, None where the label does not say.
    `ceiling_mc` is the greatest temperature the chocolate may see; above the type's hard limit,
    up to 60 degC, only where `start` is "hot". Made from Python, a value out
    of range raises pydantic's ValidationError and a broken rule raises InputError; the reader in
    `files` turns both into one sentence with the file and the step in it.
    """

    model_config = _STRICT

    name: Name
    chocolate: Name
    type: TypeKey
    milk_fat_permille: MilkFatPermille | None = None
    method: Method
    start: StartState
    mass_g: MassG
    ceiling_mc: TargetMc
    window: Window
    steps: Annotated[tuple[Step, ...], Field(min_length=1, max_length=limits.MAX_STEPS)]

    @property
    def chocolate_type(self) -> ChocolateType:
        """Return the limits of this schedule's type of chocolate with its milk fat."""
        kind = type_of(self.type)
        if self.milk_fat_permille is None:
            return kind
        return kind.with_milk_fat(self.milk_fat_permille / 1000)

    @property
    def working_ceiling_mc(self) -> int:
        """Return the greatest target a step may have; a bowl fed hot only comes down to it."""
        return min(self.ceiling_mc, self.chocolate_type.hard_mc)

    @property
    def work_mc(self) -> int:
        """Return the target of the last step, which is always a work step."""
        return self.steps[-1].target_mc

    @property
    def seed_g(self) -> int:
        """Return the grams of seed of all steps together."""
        return sum(step.seed_g for step in self.steps)

    @model_validator(mode="after")
    def _keeps_the_rules(self) -> "ScheduleFile":
        check(self)
        return self
