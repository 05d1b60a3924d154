"""Fields of the files that people write: names, quantities, and a sentence for each mistake.

One table per kind of file serves reading and writing: a file says `target = "31.5 C"`, the model
`target_mc = 31500`.
"""

import json
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from pydantic_core import ErrorDetails

from snapgloss.base import units
from snapgloss.base.errors import InputError
from snapgloss.base.names import NAME_MOST
from snapgloss.base.textfiles import advice, shown


class Quantity(NamedTuple):
    """How a quantity is read from a file, written to it, and shown as an example."""

    parse: Callable[[str], int]
    write: Callable[[int], str]
    example: str


TEMPERATURE = Quantity(units.temperature_mc, units.write_temperature, "31.5 C")
SPAN = Quantity(units.span_s, units.show_span, "10 min")
MASS = Quantity(units.mass_g, units.show_mass, "120 g")
RATE = Quantity(units.rate_mc_per_min, units.write_rate, "1 C/min")
CREEP = Quantity(units.creep_mc_per_h, units.write_creep, "0.5 C/h")
SHARE = Quantity(units.share_permille, units.write_share, "18 %")


class Field(NamedTuple):
    """One name of the file: the model's name, and the quantity or None for plain text."""

    model: str
    quantity: Quantity | None = None


class FieldRefused(Exception):
    """A field by its name in the file; what was read and what would be right, without a stop."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field, self.words = field, words


def by_model(table: dict[str, Field], model: str) -> tuple[str, Quantity | None]:
    """Return the file's name and quantity of a model name; the name itself if it has none."""
    for name, field in table.items():
        if field.model == model:
            return name, field.quantity
    return model, None


def read_fields(
    table: dict[str, Field], data: dict[str, Any], extra: Iterable[str] = ()
) -> dict[str, Any]:
    """Return the model's names and whole numbers; `extra` are names read elsewhere.

    Raises FieldRefused for an unknown name or a value that is no such quantity.
    """
    known = {}
    for name, value in data.items():
        if name not in table:
            raise FieldRefused(name, advice(name, (*table, *extra)))
        try:
            known[table[name].model] = _value(table[name].quantity, value)
        except InputError as refused:
            raise FieldRefused(name, joined(refused)) from None
    return known


def write_fields(
    table: dict[str, Field], holder: object, defaults: dict[str, Any] | None = None
) -> list[str]:
    """Return a line for each field of the holder; None, and what equals its default, has none."""
    lines = []
    for name, field in table.items():
        value = getattr(holder, field.model)
        if value is None or (defaults and defaults.get(field.model) == value):
            continue
        text = field.quantity.write(value) if field.quantity else value
        # A JSON string of printable text is a TOML string of the same text.
        lines.append(f"{name} = {json.dumps(text, ensure_ascii=False)}")
    return lines


def check_format(version: object, known: int) -> None:
    """Raise FieldRefused unless the file's `format` is the known one."""
    if version is None:
        raise FieldRefused("format", f'missing; begin with the line "format = {known}"')
    if type(version) is not int or version != known:
        raise FieldRefused("format", f"read {shown(version)}; this program reads format {known}")


def _value(quantity: Quantity | None, value: object) -> object:
    if quantity is None:
        return value
    if not isinstance(value, str):
        read = "a number without its unit" if _is_number(value) else "not a text"
        raise InputError(
            f"read {shown(value)}, {read}.", f'Write it in quotes like "{quantity.example}".'
        )
    return quantity.parse(value)


def joined(refused: InputError) -> str:
    """Return message and remedy as one sentence without its end."""
    right = refused.remedy.rstrip(".")
    return f"{refused.message.rstrip('.')}; {right[:1].lower()}{right[1:]}"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def trouble(error: ErrorDetails, quantity: Quantity | None) -> str:
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
            if quantity is TEMPERATURE:
                words += units.fahrenheit_doubt(error["input"], bounds["le"])
        case "literal_error":
            choices = str(bounds["expected"]).replace("'", '"')
            words = f"read {read}; choose {choices}"
        case "string_too_short" | "string_too_long":
            words = f"read {read}; write 1 to {bounds.get('max_length', NAME_MOST)} characters"
        case _:
            words = f"read {read}; write a text in quotes"
    return words


def _amount(value: object, quantity: Quantity | None) -> str:
    if quantity is None or not isinstance(value, int):
        return shown(value)
    return quantity.write(value)
