"""From a ScheduleFile to the schedule the rig is given."""

import unicodedata

from rigwire import schedule as rigwire_schedule
from rigwire.errors import ScheduleRefused
from rigwire.tables import PROMPTS
from snapgloss.base.errors import InputError
from snapgloss.schedules.model import ScheduleFile, Step

_FORBIDDEN = '|,;"\\'


def to_wire(schedule: ScheduleFile) -> rigwire_schedule.Schedule:
    """Return the wire's schedule; the name is brought to plain ASCII of at most 40 characters.

    Raises InputError if the wire's own check refuses it.
    """
    wired = rigwire_schedule.Schedule(
        plain_name(schedule.name),
        schedule.method,
        schedule.start,
        schedule.mass_g,
        schedule.ceiling_mc,
        [_step(step) for step in schedule.steps],
    )
    try:
        rigwire_schedule.to_body(wired)
    except ScheduleRefused as refused:
        raise InputError(
            f'The rig would refuse the schedule "{schedule.name}": {refused.reason}.',
            "Change the schedule.",
        ) from refused
    return wired


def plain_name(name: str) -> str:
    """Return the name in printable ASCII without the wire's own marks, 1 to 40 characters."""
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    plain = "".join(" " if c in _FORBIDDEN or not c.isprintable() else c for c in bare)
    return " ".join(plain.split())[: rigwire_schedule.MAX_NAME].strip() or "schedule"


def _step(step: Step) -> rigwire_schedule.Step:
    return rigwire_schedule.Step(
        step.kind,
        step.target_mc,
        step.hold_s,
        step.rate_mc_per_min,
        step.wall_mc,
        PROMPTS.index(step.prompt),
        step.wait_s,
        step.seed_g,
        step.creep_mc_per_h or 0,
        step.creep_to_mc,
    )
