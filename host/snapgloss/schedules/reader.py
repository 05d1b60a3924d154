"""From the text of a schedule file to a ScheduleFile, or one sentence that says what is wrong.

Whatever the text is, the outcome is a ScheduleFile or an InputError whose message names the
file, the line, the step and the field, what was read, and what would be right.
"""

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from rigwire.schedule import MAX_STEPS
from snapgloss.base.errors import InputError
from snapgloss.base.names import NAME_MOST
from snapgloss.base.textfiles import FileRefused, advice, load_toml, shown
from snapgloss.base.toml_lines import line_of
from snapgloss.base.units import fahrenheit_doubt
from snapgloss.schedules import fields
from snapgloss.schedules.fields import Field, Quantity
from snapgloss.schedules.model import FORMAT, ScheduleFile
from snapgloss.schedules.step_rules import RuleBroken, place


class _Refused(Exception):
    """A field, what was read and what would be right; file and line are added outside.

    `step_no` counts from 1, 0 = the head; `table` is "window" or empty.
    """

    def __init__(self, field: str, words: str, step_no: int = 0, table: str = "") -> None:
        super().__init__(words)
        self.field, self.words, self.step_no, self.table = field, words, step_no, table


def from_text(text: str, where: str = "schedule") -> ScheduleFile:
    """Return the schedule of a TOML text; `where` is the file's name for the message.

    Raises InputError and nothing else, for any text.
    """
    try:
        return _build(_document(load_toml(text, where)))
    except _Refused as no:
        raise _refusal(text, where, no) from None
    except RuleBroken as broken:
        table, _, field = broken.field.rpartition(" ")
        read = _Refused(field, f"{broken.read}; {broken.right}", broken.step_no, table)
        raise _refusal(text, where, read) from None


def _refusal(text: str, where: str, no: _Refused) -> FileRefused:
    """Find the line, and say the place in the words of the file."""
    path: tuple[str | int, ...] = (no.field,)
    if no.step_no:
        path = ("steps", no.step_no - 1, no.field)
    elif no.table:
        path = (no.table, no.field)
    name = no.field if no.field.isidentifier() else shown(no.field)
    spot = place(no.step_no, f"{no.table} {name}".strip())
    return FileRefused(where, line_of(text, path), spot, no.words)


def _document(data: dict[str, Any]) -> dict[str, Any]:
    """Return the model's names and whole numbers for the file's names and texts."""
    _check_format(data.pop("format", None))
    window, steps = data.pop("window", None), data.pop("steps", None)
    document = _table(fields.HEAD, data, extra=("format", "window", "steps"))
    if not isinstance(window, dict):
        raise _Refused("window", 'missing; add [window] with low = "31 C" and high = "32 C"')
    document["window"] = _table(fields.WINDOW, window, table="window")
    if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
        raise _Refused("steps", "missing; add one [[steps]] for each step")
    if not 1 <= len(steps) <= MAX_STEPS:
        raise _Refused("steps", f"read {len(steps)}; a schedule has 1 to {MAX_STEPS} steps")
    document["steps"] = tuple(
        _table(fields.STEP, step, step_no) for step_no, step in enumerate(steps, 1)
    )
    return document


def _check_format(version: object) -> None:
    if version is None:
        raise _Refused("format", 'missing; begin with the line "format = 1"')
    if type(version) is not int or version != FORMAT:
        raise _Refused("format", f"read {shown(version)}; this program reads format {FORMAT}")


def _table(
    names: dict[str, Field],
    data: dict[str, Any],
    step_no: int = 0,
    table: str = "",
    extra: tuple[str, ...] = (),
) -> dict[str, Any]:
    known = {}
    for name, value in data.items():
        if name not in names:
            raise _Refused(name, advice(name, (*names, *extra)), step_no, table)
        try:
            known[names[name].model] = _value(names[name].quantity, value)
        except InputError as refused:
            raise _Refused(name, _joined(refused), step_no, table) from None
    return known


def _value(quantity: Quantity | None, value: object) -> object:
    if quantity is None:
        return value
    if not isinstance(value, str):
        read = "a number without its unit" if _is_number(value) else "not a text"
        raise InputError(
            f"read {shown(value)}, {read}.", f'Write it in quotes like "{quantity.example}".'
        )
    return quantity.parse(value)


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
        raise _first(problem.errors(include_url=False)[0]) from None


def _first(error: ErrorDetails) -> _Refused:
    """Return place and words of pydantic's first error in the names of the file."""
    loc, names, step_no, table = error["loc"], fields.HEAD, 0, ""
    field = str(loc[0])
    if field == "steps" and len(loc) > 2:
        names, step_no, field = fields.STEP, int(loc[1]) + 1, str(loc[2])
    elif field == "window" and len(loc) > 1:
        names, table, field = fields.WINDOW, "window", str(loc[1])
    name, quantity = fields.by_model(names, field)
    return _Refused(name, _trouble(error, quantity), step_no, table)


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
            if quantity is fields.TEMPERATURE:
                words += fahrenheit_doubt(error["input"], bounds["le"])
        case "literal_error":
            choices = str(bounds["expected"]).replace("'", '"')
            words = f"read {read}; choose {choices}"
        case "string_too_short" | "string_too_long":
            words = f"read {read}; write 1 to {NAME_MOST} characters"
        case _:
            words = f"read {read}; write a text in quotes"
    return words


def _amount(value: object, quantity: Quantity | None) -> str:
    if quantity is None or not isinstance(value, int):
        return shown(value)
    return quantity.write(value)
