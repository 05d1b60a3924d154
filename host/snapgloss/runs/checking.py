"""What a file is, and whether it can be used: a schedule, a rig or a chocolate, by its content."""

from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from snapgloss.base import textfiles
from snapgloss.base.errors import InputError
from snapgloss.base.units import show_difference, show_mass, show_temperature, write_share
from snapgloss.chocolate import description as chocolates
from snapgloss.chocolate.description_fields import FIELDS as CHOCOLATE_FIELDS
from snapgloss.rigs import description as rigs
from snapgloss.schedules import fields as schedule_fields
from snapgloss.schedules import files as schedules
from snapgloss.schedules.unusual import warnings
from snapgloss.schedules.wire import to_wire

if TYPE_CHECKING:
    from collections.abc import Callable

    from snapgloss.chocolate.description import ChocolateDescription
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.model import ScheduleFile

# What only this kind of file has comes first, then what it shares with others.
OWN_NAMES = {
    "schedule": {"method", "start", "mass", "ceiling", "window", "steps", "chocolate"},
    "rig": set(rigs.RigDescription.model_fields) - {"name"},
    "chocolate": set(CHOCOLATE_FIELDS) - {"name", "type", "milk_fat"},
}
LEAST_OF_CHOCOLATE = {"format", "name", "type"}
"""All that a chocolate needs; no other file of ours is so short."""
NAMES = {
    "schedule": OWN_NAMES["schedule"] | set(schedule_fields.HEAD),
    "rig": set(rigs.RigDescription.model_fields),
    "chocolate": set(CHOCOLATE_FIELDS),
}


@dataclass(frozen=True)
class Verdict:
    """A file that can be used: its kind, one sentence, its key figures, and what is unusual.

    Figures are in milli-degC, grams, watts and thousandths, by their names.
    """

    file: str
    kind: str
    sentence: str
    figures: dict[str, Any]
    unusual: list[str] = field(default_factory=list)

    def as_dict(self) -> dict[str, Any]:
        """Return all of it for a program."""
        return {"usable": True, **asdict(self)}


def check_file(path: Path, fahrenheit: bool = False) -> Verdict:
    """Return the verdict on a file of ours.

    Raises InputError when it cannot be used; a FileRefused then names line and field.
    """
    return check_text(textfiles.read_text(path), textfiles.name_of(path), fahrenheit)


def check_bytes(data: bytes, where: str, fahrenheit: bool = False) -> Verdict:
    """Return the verdict on the bytes of a file; InputError and nothing else, for any bytes."""
    return check_text(textfiles.text_of(data, where), where, fahrenheit)


def check_text(text: str, where: str, fahrenheit: bool = False) -> Verdict:
    """Return the verdict on the text of a file; InputError and nothing else, for any text."""
    kind = kind_of(textfiles.load_toml(text, where), where)
    return _CHECKS[kind](text, where, fahrenheit)


def kind_of(data: dict[str, Any], where: str) -> str:
    """Return "schedule", "rig" or "chocolate": the one whose names the file has most of."""
    found = set(data)
    if found <= LEAST_OF_CHOCOLATE and "type" in found:
        return "chocolate"
    scores = {k: (len(found & OWN_NAMES[k]), len(found & NAMES[k] - {"name"})) for k in NAMES}
    best = max(scores, key=lambda kind: scores[kind])
    if scores[best] == (0, 0):
        raise InputError(
            f"{where} is none of our files: a schedule has [[steps]], a rig heater_w, a chocolate "
            "type and fat."
        )
    return best


def _schedule(text: str, where: str, fahrenheit: bool) -> Verdict:
    found = schedules.from_text(text, where)
    wired = to_wire(found)
    low, high, work = (
        show_temperature(mc, fahrenheit)
        for mc in (found.window.low_mc, found.window.high_mc, found.work_mc)
    )
    seed = f", {show_mass(found.seed_g)} of seed" if found.seed_g else ""
    sentence = (
        f"{where} is a schedule and can be used: {found.chocolate}, {found.type}, "
        f"{show_mass(found.mass_g)}, {found.method}, {_steps(len(found.steps))}{seed}, work at "
        f"{work} in a window of {low} to {high}."
    )
    odd = warnings(found, fahrenheit)
    return Verdict(where, "schedule", sentence, _figures(found, wired.name), odd)


def _steps(count: int) -> str:
    return "1 step" if count == 1 else f"{count} steps"


def _figures(found: "ScheduleFile", name_on_rig: str) -> dict[str, Any]:
    return {
        "name": found.name,
        "name_on_rig": name_on_rig,
        "chocolate": found.chocolate,
        "type": found.type,
        "method": found.method,
        "start": found.start,
        "mass_g": found.mass_g,
        "seed_g": found.seed_g,
        "steps": len(found.steps),
        "ceiling_mc": found.ceiling_mc,
        "window_low_mc": found.window.low_mc,
        "window_high_mc": found.window.high_mc,
        "work_mc": found.work_mc,
        "cap_mc": found.chocolate_type.cap_mc,
    }


def _rig(text: str, where: str, fahrenheit: bool) -> Verdict:
    found: RigDescription = rigs.from_text(text, where)
    found.to_config_text()  # the board's own check
    most = show_temperature(found.ceiling_mc, fahrenheit)
    probe = show_difference(found.probe_uncertainty_c, fahrenheit, 2)
    sentence = (
        f"{where} is a rig and can be used: {found.name}, {found.heater_w} W, a bowl of up to "
        f"{show_mass(found.largest_mass_g)}, chocolate never above {most}, probe within ±{probe}."
    )
    return Verdict(where, "rig", sentence, found.model_dump(mode="json"))


def _chocolate(text: str, where: str, fahrenheit: bool) -> Verdict:
    found: ChocolateDescription = chocolates.from_text(text, where)
    kind = found.chocolate_type
    shares = [
        f"{write_share(value)} {words}"
        for value, words in (
            (found.fat_permille, "fat"),
            (found.milk_fat_permille, "of the fat from milk"),
        )
        if value is not None
    ]
    cap = show_temperature(kind.cap_mc, fahrenheit)
    sentence = (
        f"{where} is a chocolate and can be used: "
        f"{', '.join([found.name, found.type, *shares])}, worked at {cap} at most."
    )
    work = {"cap_mc": kind.cap_mc, "wall_mc": kind.wall_mc, "work_mc": kind.work.default_mc}
    return Verdict(where, "chocolate", sentence, {**found.model_dump(mode="json"), **work})


_CHECKS: "dict[str, Callable[[str, str, bool], Verdict]]" = {
    "schedule": _schedule,
    "rig": _rig,
    "chocolate": _chocolate,
}
