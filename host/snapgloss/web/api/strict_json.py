"""JSON from outside, read more strictly than Python does by itself."""

import json
from typing import Any, NoReturn

from snapgloss.base.errors import InputError
from snapgloss.web.words import PROBLEMS

DEPTH_MOST = 8
REMEDY = "Send one object, its names once each, its numbers finite."


def read_object(body: bytes) -> dict[str, Any]:
    """Return the object in a body; an empty body is an empty object.

    Raises InputError for anything else: no UTF-8, NaN or Infinity, a name twice, too deep.
    """
    if not body.strip():
        return {}
    try:
        text = body.decode("utf-8")
        if _depth(text) > DEPTH_MOST:
            raise ValueError("too deep")
        found = json.loads(text, parse_constant=_refuse, object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise InputError(PROBLEMS["json"], REMEDY) from None
    if not isinstance(found, dict):
        raise InputError(PROBLEMS["json"], REMEDY)
    return found


def _depth(text: str) -> int:
    """At least how deep it is; brackets in texts count too, for nobody needs so many."""
    deepest = depth = 0
    for char in text:
        if char in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif char in "]}":
            depth -= 1
    return deepest


def _refuse(name: str) -> NoReturn:
    raise ValueError(name)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name twice")
    return found
