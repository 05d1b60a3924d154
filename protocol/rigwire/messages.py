"""Messages to and from frames, by the table of `rigwire.message_table`."""

from rigwire import frames
from rigwire.errors import MessageRefused
from rigwire.message_table import (
    EVENT_ROW_FIELDS,
    MISSING_MC,
    PROTOCOL_MAJOR,
    PROTOCOL_MINOR,
    READING_FIELDS,
    TABLE,
    TO_DEVICE,
    TO_HOST,
)

__all__ = [
    "EVENT_ROW_FIELDS",
    "MISSING_MC",
    "PROTOCOL_MAJOR",
    "PROTOCOL_MINOR",
    "READING_FIELDS",
    "TABLE",
    "TO_DEVICE",
    "TO_HOST",
    "Message",
    "encode",
    "parse",
]

_SPECS = {row[0]: row for row in TABLE}


class Message:
    """One message: `name`, `number`, `values` in table order, `groups` as tuples of row values."""

    __slots__ = ("groups", "name", "number", "values")

    def __init__(self, name: str, number: int, values: list, groups: list):
        self.name = name
        self.number = number
        self.values = values
        self.groups = groups

    def get(self, field: str) -> object:
        """The value of a field of the table. Raises KeyError for a name that is not one."""
        for index, spec in enumerate(_SPECS[self.name][2]):
            if spec[0] == field:
                return self.values[index]
        raise KeyError(field)


def _check(name: str, fields: tuple, values: tuple | list) -> None:
    """Each value has the type and the range of its field."""
    for index, value in enumerate(values):
        field, unit, low, high = fields[index]
        if unit == "text":
            good = type(value) is str and low <= len(value) <= high
        else:
            good = type(value) is int and low <= value <= high
        if not good:
            raise MessageRefused(name + "." + field + " is out of range")


def _check_groups(row: tuple, values: list) -> list:
    """The repeated group's values, cut into rows. A message without a group has none."""
    width = len(row[3]) or 1
    if len(values) % width or len(values) > width * row[4]:
        raise MessageRefused(row[0] + " does not hold whole rows")
    groups = [tuple(values[at : at + width]) for at in range(0, len(values), width)]
    for group in groups:
        _check(row[0], row[3], group)
    return groups


def encode(name: str, number: int, values: tuple | list = (), groups: tuple | list = ()) -> bytes:
    """The frame of one message. Raises MessageRefused for what the table does not allow."""
    row = _SPECS.get(name)
    if row is None or not 0 <= number <= frames.MAX_INTEGER or len(values) != len(row[2]):
        raise MessageRefused("no such message: " + name)
    _check(name, row[2], values)
    rows = []
    for group in groups:
        rows.extend(group)
    if rows:
        _check_groups(row, rows)
    return frames.encode([name, number] + list(values) + rows)


def parse(array: list, direction: str, lenient: bool = False) -> "Message | None":
    """The message in a decoded frame, for the side that `direction` points to.

    Raises MessageRefused. Lenient (the host, towards a peer of its own major version): values
    after those that we know are ignored, and an unknown name gives None.
    """
    if len(array) < 2 or type(array[0]) is not str or type(array[1]) is not int or array[1] < 0:
        raise MessageRefused("no name and number")
    row = _SPECS.get(array[0])
    if row is None and lenient:
        return None
    if row is None or row[1] != direction:
        raise MessageRefused("unknown name")
    count = len(row[2])
    values, rest = array[2 : 2 + count], array[2 + count :]
    if len(values) < count or (rest and not row[3] and not lenient):
        raise MessageRefused(row[0] + " has the wrong number of values")
    _check(row[0], row[2], values)
    return Message(row[0], array[1], values, _check_groups(row, rest) if row[3] else [])
