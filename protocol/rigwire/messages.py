"""Messages to and from frames, by the table of `rigwire.message_table`."""

from rigwire import frames
from rigwire.errors import MessageRefused
from rigwire.message_table import (
    BOUNDS,
    GROUPS,
    MISSING_MC,
    PROTOCOL_MAJOR,
    PROTOCOL_MINOR,
    REPORTS,
    REQUESTS,
    TO_DEVICE,
    TO_HOST,
)

__all__ = [
    "MISSING_MC",
    "PROTOCOL_MAJOR",
    "PROTOCOL_MINOR",
    "TO_DEVICE",
    "TO_HOST",
    "Message",
    "encode",
    "fields",
    "parse",
]

_read: dict = {}


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
        for index, text in enumerate(_row(self.name).split()):
            if text.startswith(field + ":"):
                return self.values[index]
        raise KeyError(field)


def fields(row: str) -> list:
    """The values of a row of the table as [(name, unit, least, most), ...]."""
    found = []
    for text in row.split():
        name, unit, least, most = text.split(":")
        found.append((name, unit, _bound(least), _bound(most)))
    return found


def _bound(word: str) -> int:
    bound: int | None = BOUNDS.get(word)
    return int(word) if bound is None else bound


def _row(name: str) -> str:
    """The row of a message, whichever its direction. Raises MessageRefused."""
    row: str | None = REQUESTS.get(name, REPORTS.get(name))
    if row is None:
        raise MessageRefused("no such message: " + name)
    return row


def _limits(row: str) -> tuple:
    """Of each field of a row whether it is text, its least and its most: three lists.

    Read once a row; a board has room for the few rows that it speaks.
    """
    limits: tuple = _read.get(row, ())
    if not limits:
        limits = _read[row] = ([], [], [])
        for _name, unit, low, high in fields(row):
            limits[0].append(unit == "text")
            limits[1].append(low)
            limits[2].append(high)
    return limits


def _check(name: str, row: str, values: tuple | list, lenient: bool) -> None:
    """Each value has the type and the range of its field; there are at least as many of both."""
    texts, lows, highs = _limits(row)
    for index in range(len(values)):
        value = values[index]
        if texts[index]:
            good = type(value) is str and lows[index] <= len(value) <= highs[index]
        else:
            good = type(value) is int and lows[index] <= value <= highs[index]
        if not good:
            field, unit = fields(row)[index][:2]
            # Without a unit it counts words of a table, which a newer minor version may add to.
            grows = lenient and (not unit or unit == "bits")
            if grows and type(value) is int and value > lows[index]:
                continue
            raise MessageRefused(name + "." + field + " is out of range")


def _check_groups(name: str, values: list, lenient: bool) -> list:
    """The repeated group's values, cut into rows. A message without a group has none."""
    most, row = GROUPS.get(name, (0, ""))
    width = len(_limits(row)[0]) or 1
    if len(values) % width or len(values) > width * most:
        raise MessageRefused(name + " does not hold whole rows")
    groups = []
    for at in range(0, len(values), width):
        group = tuple(values[at : at + width])
        _check(name, row, group, lenient)
        groups.append(group)
    return groups


def encode(name: str, number: int, values: tuple | list = (), groups: tuple | list = ()) -> bytes:
    """The frame of one message. Raises MessageRefused for what the table does not allow."""
    row = _row(name)
    if not 0 <= number <= frames.MAX_INTEGER or len(values) != len(_limits(row)[0]):
        raise MessageRefused("no such message: " + name)
    _check(name, row, values, False)
    rows = []
    for group in groups:
        rows.extend(group)
    if rows:
        _check_groups(name, rows, False)
    return frames.encode([name, number] + list(values) + rows)


def parse(array: list, direction: str, lenient: bool = False) -> "Message | None":
    """The message in a decoded frame, for the side that `direction` points to.

    Raises MessageRefused. Lenient (the host, towards a peer of its own major version): values
    after those that we know are ignored, a state, a cause or another word of a table may have a
    greater number than we know, and an unknown name gives None.
    """
    if len(array) < 2 or type(array[0]) is not str or type(array[1]) is not int or array[1] < 0:
        raise MessageRefused("no name and number")
    name = array[0]
    row: str | None = (REQUESTS if direction == TO_DEVICE else REPORTS).get(name)
    if row is None and lenient and name not in REQUESTS and name not in REPORTS:
        return None
    if row is None:
        raise MessageRefused("unknown name")
    count, has_rows = len(_limits(row)[0]), name in GROUPS
    values, rest = array[2 : 2 + count], array[2 + count :]
    if len(values) < count or (rest and not has_rows and not lenient):
        raise MessageRefused(name + " has the wrong number of values")
    _check(name, row, values, lenient)
    return Message(name, array[1], values, _check_groups(name, rest, lenient) if has_rows else [])
