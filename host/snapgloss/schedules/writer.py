"""From a ScheduleFile to a text a person likes to read, with the method in words."""

from snapgloss.base.fields import Field, write_fields
from snapgloss.base.units import write_temperature
from snapgloss.schedules import fields
from snapgloss.schedules.model import FORMAT, ScheduleFile, Step

METHOD_WORDS = {
    "seeded": (
        "Seeded: melt everything, cool to where seed survives, put the seed in, cool to the",
        "working temperature, work. No low point.",
    ),
    "cooled": (
        "Cooling alone: melt everything, cool stirred to the low point so that crystals form,",
        "warm gently to the working temperature, work.",
    ),
    "kept": (
        "Still in temper: warm gently to the working temperature and work; never above the cap.",
    ),
}
STEP_WORDS = {
    "melt": "Melt everything.",
    "rest": "Rest, so that no old crystal is left.",
    "cool": "Cool.",
    "seed": "Seed in, and mix.",
    "rewarm": "Warm gently; the wall must not kill the seed.",
    "work": "Work: dip a knife, pour.",
}
_DEFAULTS = {
    name: info.default for name, info in Step.model_fields.items() if not info.is_required()
}


def to_text(schedule: ScheduleFile) -> str:
    """Return the TOML text of a schedule; `from_text` of it gives an equal schedule."""
    lines = [f"# {line}" for line in (*METHOD_WORDS[schedule.method], *_start_words(schedule))]
    lines += ['# Every figure carries its unit; Fahrenheit is read too, as in "89 F".', ""]
    lines += [f"format = {FORMAT}", *_lines(fields.HEAD, schedule)]
    lines += ["", "[window] # the working window a run is judged by"]
    lines += _lines(fields.WINDOW, schedule.window)
    for number, step in enumerate(schedule.steps, 1):
        lines += ["", f"# {number}. {STEP_WORDS[step.kind]}", "[[steps]]"]
        lines += _lines(fields.STEP, step)
    return "\n".join(lines) + "\n"


def _start_words(schedule: ScheduleFile) -> list[str]:
    if schedule.start != "hot":
        return []
    most = write_temperature(schedule.ceiling_mc)
    return [f"The bowl may be fed hot, up to {most}; the rig only cools it at first."]


def _lines(table: dict[str, Field], holder: object) -> list[str]:
    """Write each field of the holder; a step leaves out what still has its default."""
    defaults = _DEFAULTS if isinstance(holder, Step) else {}
    return write_fields(table, holder, defaults)
