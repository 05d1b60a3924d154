"""Whether a room lets a batch be kept at its temperature."""

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass, show_temperature
from snapgloss.schedules.forecast import ROOM_MARGIN_C
from snapgloss.schedules.model import ScheduleFile

KEPT = ("rewarm", "work")
"""Steps that end at their target and stay there: nothing cools a bowl under its room."""


def too_warm_to_keep(schedule: ScheduleFile, room_c: float) -> list[str]:
    """The sentence about the first step that this room warms above its target, if there is one.

    Raises InputError where the room itself is warmer than that.
    """
    for step_no, step in enumerate(schedule.steps, 1):
        most_c = step.target_mc / 1000 - ROOM_MARGIN_C
        if step.kind in KEPT and room_c > most_c:
            words = (
                f"Step {step_no} ({step.kind}): {show_mass(schedule.mass_g)} cannot be kept at "
                f"{show_temperature(step.target_mc)} in a room of "
                f"{show_temperature(round(room_c * 1000))}: it warms above it."
            )
            remedy = f"A room of at most {show_temperature(round(most_c * 1000))} works."
            if room_c > most_c + ROOM_MARGIN_C:
                raise InputError(words, remedy)
            return [f"{words} {remedy}"]
    return []
