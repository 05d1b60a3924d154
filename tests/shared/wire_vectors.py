"""The golden vectors as data, read from the package that they belong to."""

import json
from binascii import unhexlify

import rigwire

FOLDER = rigwire.__file__.rpartition("/")[0] + "/vectors/"


def load(name):
    """The rows of one vector file; `hex` becomes `line` in bytes."""
    with open(FOLDER + name) as file:
        rows = json.loads(file.read())
    for row in rows:
        if "hex" in row:
            row["line"] = unhexlify(row["hex"])
    return rows


def raises(kind, function, *arguments):
    """True when the call raises exactly one of our errors; other errors come through."""
    try:
        function(*arguments)
    except kind:
        return True
    return False
