"""From the text of a schedule file to a ScheduleFile, or one sentence that says what is wrong.

Whatever the text is, the outcome is a ScheduleFile or an InputError whose message names the
file, the line, the step and the field, what was read, and what would be right.
"""

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from rigwire.schedule import MAX_STEPS
from snapgloss.base.fields import (
    Field,
    FieldRefused,
    by_model,
    check_format,
    read_fields,
    trouble,
)
from snapgloss.base.textfiles import FileRefused, field_refused, load_toml, shown
from snapgloss.base.toml_lines import line_of
from snapgloss.schedules import fields
from snapgloss.schedules.model import FORMAT, ScheduleFile
from snapgloss.schedules.step_rules import RuleBroken, place


class _Refused(FieldRefused):
    """Also where the field is: `step_no` from 1, 0 = the head; `table` is "window" or empty."""

    def __init__(self, field: str, words: str, step_no: int = 0, table: str = "") -> None:
        super().__init__(field, words)
        self.step_no, self.table = step_no, table


def from_text(text: str, where: str = "schedule") -> ScheduleFile:
    """Return the schedule of a TOML text; `where` is the file's name for the message.

    Raises InputError and nothing else, for any text.
    """
    try:
        return _build(_document(load_toml(text, where)))
    except _Refused as no:
        raise _refusal(text, where, no) from None
    except FieldRefused as no:
        raise field_refused(text, where, no.field, no.words) from None
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
    check_format(data.pop("format", None), FORMAT)
    window, steps = data.pop("window", None), data.pop("steps", None)
    document = read_fields(fields.HEAD, data, ("format", "window", "steps"))
    if not isinstance(window, dict):
        right = 'add [window] with low = "31 C" and high = "32 C"'
        raise _Refused("window", f"{_instead(window)}; {right}")
    document["window"] = _table(fields.WINDOW, window, table="window")
    if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
        right = "write [[steps]], with two brackets, once for each step"
        if steps is None:
            right = "add one [[steps]] for each step"
        raise _Refused("steps", f"{_instead(steps)}; {right}")
    if not 1 <= len(steps) <= MAX_STEPS:
        raise _Refused("steps", f"read {len(steps)}; a schedule has 1 to {MAX_STEPS} steps")
    document["steps"] = tuple(
        _table(fields.STEP, step, step_no) for step_no, step in enumerate(steps, 1)
    )
    return document


def _instead(value: object) -> str:
    """Return what stands in the place of a table."""
    return "missing" if value is None else f"read {shown(value)}"


def _table(
    names: dict[str, Field], data: dict[str, Any], step_no: int = 0, table: str = ""
) -> dict[str, Any]:
    try:
        return read_fields(names, data)
    except FieldRefused as no:
        raise _Refused(no.field, no.words, step_no, table) from None


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
    name, quantity = by_model(names, field)
    return _Refused(name, trouble(error, quantity), step_no, table)
