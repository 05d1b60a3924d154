"""From the text of a schedule file to a ScheduleFile, or one sentence that says what is wrong.

Whatever the text is, the outcome is a ScheduleFile or an InputError whose message names the
file, the step and the field, what was read, and what would be right.
"""

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import advice, load_toml, shown
from snapgloss.schedules import fields
from snapgloss.schedules.fields import Field, Quantity
from snapgloss.schedules.model import FORMAT, ScheduleFile
from snapgloss.schedules.rules import RuleBroken, place


class _Refused(Exception):
    """Where in the file, what was read and what would be right; the file is added outside."""


def from_text(text: str, where: str = "schedule") -> ScheduleFile:
    """Return the schedule of a TOML text; `where` is the file's name for the message.

    Raises InputError and nothing else, for any text.
    """
    try:
        return _build(_document(load_toml(text, where)))
    except _Refused as refused:
        raise InputError(f"{where}, {refused}.") from None
    except RuleBroken as broken:
        raise InputError(f"{where}, {broken.message}") from None


def _document(data: dict[str, Any]) -> dict[str, Any]:
    """Return the model's names and whole numbers for the file's names and texts."""
    _check_format(data.pop("format", None))
    window, steps = data.pop("window", None), data.pop("steps", None)
    document = _table(fields.HEAD, data, "", extra=("format", "window", "steps"))
    if not isinstance(window, dict):
        raise _Refused('window: missing; add [window] with low = "31 C" and high = "32 C"')
    document["window"] = _table(fields.WINDOW, window, "window ")
    if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
        raise _Refused("steps: missing; add one [[steps]] for each step")
    document["steps"] = tuple(
        _table(fields.STEP, step, f"step {number}, ") for number, step in enumerate(steps, 1)
    )
    return document


def _check_format(version: object) -> None:
    if version is None:
        raise _Refused('format: missing; begin with the line "format = 1"')
    if type(version) is not int or version != FORMAT:
        raise _Refused(f"format: read {shown(version)}; this program reads format {FORMAT}")


def _table(
    names: dict[str, Field], data: dict[str, Any], prefix: str, extra: tuple[str, ...] = ()
) -> dict[str, Any]:
    known = {}
    for name, value in data.items():
        if name not in names:
            raise _Refused(f"{prefix}{shown(name)}: {advice(name, (*names, *extra))}")
        known[names[name].model] = _value(names[name].quantity, value, prefix + name)
    return known


def _value(quantity: Quantity | None, value: object, spot: str) -> object:
    if quantity is None:
        return value
    if not isinstance(value, str):
        read = "a number without its unit" if _is_number(value) else "not a text"
        raise _Refused(
            f'{spot}: read {shown(value)}, {read}; write it in quotes like "{quantity.example}"'
        )
    try:
        return quantity.parse(value)
    except InputError as refused:
        raise _Refused(f"{spot}: {_joined(refused)}") from None


def _joined(refused: InputError) -> str:
    """Return message and remedy as one sentence without its end."""
    right = refused.remedy.rstrip(".")
    return f"{refused.message.rstrip('.')}; {right[:1].lower()}{right[1:]}"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _build(document: dict[str, Any]) -> ScheduleFile:
    try:
        return ScheduleFile.model_validate(document)
    except ValidationError as problem:
        raise _Refused(_sentence(problem.errors(include_url=False)[0])) from None


def _sentence(error: ErrorDetails) -> str:
    """Return "step 3, target: 80 C is too high; the most is 60 C" for pydantic's first error."""
    loc, table, step_no = error["loc"], fields.HEAD, 0
    field = str(loc[0])
    if field == "steps" and len(loc) > 2:
        table, step_no, field = fields.STEP, int(loc[1]) + 1, str(loc[2])
    prefix = "window " if field == "window" and len(loc) > 1 else ""
    if prefix:
        table, field = fields.WINDOW, str(loc[1])
    name, quantity = fields.by_model(table, field)
    return f"{place(step_no, prefix + name)}: {_trouble(error, quantity)}"


def _trouble(error: ErrorDetails, quantity: Quantity | None) -> str:
    """Say what was read and what would be right, by pydantic's kind of error."""
    read, bounds = _amount(error["input"], quantity), error.get("ctx", {})
    match error["type"]:
        case "missing":
            example = f', for example "{quantity.example}"' if quantity else ""
            words = f"missing; add it{example}"
        case "greater_than_equal":
            words = f"{read} is too low; the least is {_amount(bounds['ge'], quantity)}"
        case "less_than_equal":
            words = f"{read} is too high; the most is {_amount(bounds['le'], quantity)}"
        case "literal_error":
            choices = str(bounds["expected"]).replace("'", '"')
            words = f"read {read}; choose {choices}"
        case "too_short" | "too_long":
            words = "a schedule has 1 to 16 steps; add or join steps"
        case "string_too_short" | "string_too_long":
            words = f"read {read}; write 1 to 60 characters"
        case _:
            words = f"read {read}; write a text in quotes"
    return words


def _amount(value: object, quantity: Quantity | None) -> str:
    if quantity is None or not isinstance(value, int):
        return shown(value)
    return quantity.write(value)
