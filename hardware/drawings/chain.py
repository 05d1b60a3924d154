"""The interlock chain: everything the heater's current passes, what opens it, and who must act."""

import schemdraw
import schemdraw.elements as elm
from schemdraw import flow

from netlist import Netlist
from power import path_to

WIDE, HIGH, GAP = 4.2, 0.9, 0.55
BY_PROGRAM = ("enable_relay", "heater_switch")
WITHOUT = "opens without any program"
WITH = "closed only while the\nprogram keeps it so"


def draw_chain(netlist: Netlist, file: str) -> None:
    """Boxes from the supply down to the heater, each with what opens it."""
    path = path_to(netlist, "heater.plus")
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=12, margin=1.6)
        y = _box(d, f"supply, {netlist.head['supply_v']} V DC", "", 0.0)
        for key in path:
            part = netlist.parts[key]
            y = _box(d, f"{part['words']}, {part['amp']:g} A", part["opens"], y)
        _box(d, f"heater, {netlist.head['heater_w']} W", "", y, is_last=True)
        own = [key for key in path if key not in BY_PROGRAM]
        _brace(d, 1, len(own), WITHOUT)
        _brace(d, 1 + len(own), len(path) - len(own), WITH)


def _top(number: int) -> float:
    return -number * (HIGH + GAP)


def _box(d: schemdraw.Drawing, words: str, opens: str, y: float, is_last: bool = False) -> float:
    """One box whose top is at y; its arrow to the next; the next one's top."""
    d += flow.Box(w=WIDE, h=HIGH).anchor("N").at((0, y)).label(words, fontsize=12)
    if opens:
        d += (
            elm.Label()
            .at((WIDE / 2 + 0.3, y - HIGH / 2 + 0.12))
            .label(f"opens by: {opens}", halign="left", valign="center", fontsize=11)
        )
    if not is_last:
        d += elm.Arrow().endpoints((0, y - HIGH), (0, y - HIGH - GAP))
    return y - HIGH - GAP


def _brace(d: schemdraw.Drawing, first: int, count: int, words: str) -> None:
    """A bracket at the left of `count` boxes."""
    x, top, low = -WIDE / 2 - 0.4, _top(first), _top(first + count - 1) - HIGH
    for begin, end in (((x, top), (x - 0.4, top)), ((x - 0.4, top), (x - 0.4, low)),
                       ((x - 0.4, low), (x, low))):  # fmt: skip
        d += elm.Line().endpoints(begin, end)
    d += (
        elm.Label()
        .at((x - 0.6, (top + low) / 2))
        .label(words, halign="right", valign="center", fontsize=11)
    )
