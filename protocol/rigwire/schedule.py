"""The schedule as it travels and as the device keeps it: one line of plain text.

`1|name|method|start|mass_g|ceiling_mc|step|step...`, a step being
`kind,target_mc,hold_s,rate_mc_per_min,wall_mc,prompt,wait_s,grams`, after which a step of work
that creeps has `,creep_mc_per_h,creep_to_mc`. The text is canonical: what would be written in
another way is refused, so a digest names one schedule and no other.
"""

from rigwire.errors import ScheduleRefused
from rigwire.frames import crc_hex
from rigwire.tables import METHODS, START_STATES, STEP_KINDS, STEP_PROMPTS

FORMAT = "1"
MAX_STEPS = 16
MAX_NAME = 40
MAX_BODY_BYTES = 1024
MAX_TOTAL_S = 12 * 3600

TARGET_MC = (15000, 60000)
MELT_LEAST_MC = 40000
"""Below it the history of the fat is not erased (common practice: 45 to 50 degC)."""
WALL_MOST_MC = 75000
HOLD_S = (0, 14400)
WAIT_S = (0, 1800)
RATE_MC_PER_MIN = (100, 20000)
MASS_G = (100, 15000)
CREEP_MOST_MC_PER_H = 2000
"""Faster than 2 degC an hour is a rewarm, which has its own step (own choice)."""


class Step:
    """One step. Temperatures in mC, `rate_mc_per_min` the greatest rate, `grams` of seed.

    `prompt` (index in STEP_PROMPTS) is raised when the target is reached; `wait_s` is how long the
    step then waits for an answer before its safe default (0: it does not wait); `hold_s` runs
    from there. Over the hold of a work step the target rises by `creep_mc_per_h` up to
    `creep_to_mc`, because crystals go on growing. A step that does not creep has 0 and its target.
    """

    __slots__ = (
        "creep_mc_per_h",
        "creep_to_mc",
        "grams",
        "hold_s",
        "kind",
        "prompt",
        "rate_mc_per_min",
        "target_mc",
        "wait_s",
        "wall_mc",
    )

    def __init__(
        self,
        kind: str,
        target_mc: int,
        hold_s: int,
        rate_mc_per_min: int,
        wall_mc: int,
        prompt: int = 0,
        wait_s: int = 0,
        grams: int = 0,
        creep_mc_per_h: int = 0,
        creep_to_mc: int | None = None,
    ):
        self.kind = kind
        self.target_mc = target_mc
        self.hold_s = hold_s
        self.rate_mc_per_min = rate_mc_per_min
        self.wall_mc = wall_mc
        self.prompt = prompt
        self.wait_s = wait_s
        self.grams = grams
        self.creep_mc_per_h = creep_mc_per_h
        self.creep_to_mc = target_mc if creep_to_mc is None else creep_to_mc


class Schedule:
    """A whole schedule. `ceiling_mc` is the greatest temperature this chocolate may see."""

    __slots__ = ("ceiling_mc", "mass_g", "method", "name", "start_state", "steps")

    def __init__(
        self,
        name: str,
        method: str,
        start_state: str,
        mass_g: int,
        ceiling_mc: int,
        steps: list,
    ):
        self.name = name
        self.method = method
        self.start_state = start_state
        self.mass_g = mass_g
        self.ceiling_mc = ceiling_mc
        self.steps = steps


def digest(body: bytes) -> str:
    """The name of a schedule: the CRC-32 of its text in hex."""
    return crc_hex(body)


def to_body(schedule: Schedule) -> bytes:
    """The canonical text. Raises ScheduleRefused for a schedule outside the limits."""
    _check(schedule)
    return _written(schedule)


def _written(schedule: Schedule) -> bytes:
    parts = [
        FORMAT,
        schedule.name,
        schedule.method,
        schedule.start_state,
        str(schedule.mass_g),
        str(schedule.ceiling_mc),
    ]
    return "|".join(parts + [_step_text(step) for step in schedule.steps]).encode()


def _step_text(step: Step) -> str:
    figures = [
        step.target_mc,
        step.hold_s,
        step.rate_mc_per_min,
        step.wall_mc,
        step.prompt,
        step.wait_s,
        step.grams,
    ]
    if step.creep_mc_per_h:
        figures += [step.creep_mc_per_h, step.creep_to_mc]
    return ",".join([step.kind] + [str(figure) for figure in figures])


def from_body(body: bytes) -> Schedule:
    """The schedule of a text. Raises ScheduleRefused and nothing else."""
    if len(body) > MAX_BODY_BYTES:
        raise ScheduleRefused("the schedule is too long")
    try:
        parts = bytes(body).decode().split("|")
        if len(parts) < 6 or parts[0] != FORMAT:
            raise ScheduleRefused("not a schedule of format 1")
        steps = [_step(part) for part in parts[6:]]
        schedule = Schedule(parts[1], parts[2], parts[3], int(parts[4]), int(parts[5]), steps)
    except (ValueError, UnicodeError):
        raise ScheduleRefused("not a schedule of format 1")
    _check(schedule)
    if _written(schedule) != bytes(body):
        raise ScheduleRefused("not in the canonical form")
    return schedule


def _step(part: str) -> Step:
    values = part.split(",")
    if len(values) not in (8, 10):
        raise ScheduleRefused("a step has eight values, or ten")
    return Step(values[0], *[int(value) for value in values[1:]])


def _within(value: int, limits: tuple, words: str) -> None:
    if type(value) is not int or not limits[0] <= value <= limits[1]:
        raise ScheduleRefused(words + " is out of range")


def _check(schedule: Schedule) -> None:
    _check_name(schedule.name)
    if schedule.method not in METHODS or schedule.start_state not in START_STATES:
        raise ScheduleRefused("unknown method or start state")
    _within(schedule.mass_g, MASS_G, "the mass")
    _within(schedule.ceiling_mc, TARGET_MC, "the ceiling")
    if not 1 <= len(schedule.steps) <= MAX_STEPS:
        raise ScheduleRefused("a schedule has 1 to 16 steps")
    for step in schedule.steps:
        _check_step(step, schedule.ceiling_mc)
    if sum([step.hold_s + step.wait_s for step in schedule.steps]) > MAX_TOTAL_S:
        raise ScheduleRefused("the holds are longer than 12 hours together")


def _check_name(name: str) -> None:
    good = 1 <= len(name) <= MAX_NAME
    for character in name:
        good = good and " " <= character <= "~" and character not in '|,;"\\'
    if not good:
        raise ScheduleRefused("a name is 1 to 40 plain characters")


def _check_step(step: Step, ceiling_mc: int) -> None:
    if step.kind not in STEP_KINDS:
        raise ScheduleRefused("unknown kind of step")
    _within(step.target_mc, (TARGET_MC[0], ceiling_mc), "a target")
    if step.kind == "melt":
        _within(step.target_mc, (MELT_LEAST_MC, ceiling_mc), "the melt target")
    creeps = step.kind == "work" and step.creep_mc_per_h
    _within(step.creep_mc_per_h, (0, CREEP_MOST_MC_PER_H if creeps else 0), "a creep")
    highest_mc = ceiling_mc if creeps else step.target_mc
    _within(step.creep_to_mc, (step.target_mc, highest_mc), "the end of a creep")
    _within(step.wall_mc, (step.creep_to_mc, WALL_MOST_MC), "a wall limit")
    _within(step.hold_s, HOLD_S, "a hold")
    _within(step.rate_mc_per_min, RATE_MC_PER_MIN, "a rate")
    _within(step.prompt, (0, len(STEP_PROMPTS) - 1), "a prompt")
    _within(step.wait_s, WAIT_S, "a wait")
    _within(step.grams, (0, MASS_G[1]), "the grams of seed")
