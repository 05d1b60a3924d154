"""Where things sit, and which cables run between the places: counted from the netlist."""

from collections import defaultdict

import schemdraw
import schemdraw.elements as elm
from schemdraw import flow

from netlist import Netlist

WIDE = 6.4
LINE = 0.5
AT = {  # left edge and top of each place
    "front": (0.0, 0.0),
    "box": (9.4, 0.0),
    "stand": (18.8, 0.0),
    "brick": (0.0, -4.3),
    "plate": (18.8, -4.3),
    "bench": (9.4, -8.6),
}
HIDDEN = ("resistor", "diode", "clamp")


def places_of(netlist: Netlist) -> dict[str, list[str]]:
    """Words of the parts at each place, without the small ones that sit on another's terminals."""
    found: dict[str, list[str]] = defaultdict(list)
    for part in netlist.parts.values():
        if part["kind"] not in HIDDEN:
            found[part["place"]].append(part["words"])
    return found


def cables(netlist: Netlist) -> dict[tuple[str, str], list[float]]:
    """Cross-sections of the wires between each place and the box, where all of them meet.

    A wire between two other places runs through a terminal in the box, so it counts for both. The
    block of the supply's minus lies in the box; the brick's own two leads are counted at the end.
    """
    found: dict[tuple[str, str], list[float]] = defaultdict(list)
    for wire in netlist.wires:
        ends = [netlist.parts[end.partition(".")[0]]["place"] for end in wire[:2]]
        ends = ["box" if place == "brick" else place for place in ends]
        if ends[0] != ends[1]:
            for place in set(ends) - {"box"}:
                found[("box", place)].append(wire.mm2)
    found[("box", "brick")] = [netlist.wires[0].mm2] * 2
    return found


def _joined(words: list[str], at_most: int = 34) -> list[str]:
    """Words in lines of at most so many letters."""
    lines = [""]
    for word in words:
        longer = f"{lines[-1]}, {word}" if lines[-1] else word
        if len(longer) > at_most and lines[-1]:
            lines[-1] += ","
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def draw_layout(netlist: Netlist, file: str) -> None:
    """The six places as boxes with their parts, and the cables between them."""
    parts, heights = places_of(netlist), {}
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=11, margin=0.8)
        for place in netlist.head["places"]:
            lines = _joined(parts[place["key"]])
            heights[place["key"]] = LINE * (len(lines) + 1) + 0.6
            _place(d, place, lines, heights[place["key"]])
        for pair, sizes in sorted(cables(netlist).items()):
            _cable(d, pair, sizes, heights)


def _place(d: schemdraw.Drawing, place: dict, lines: list[str], high: float) -> None:
    x, y = AT[place["key"]]
    d += flow.Box(w=WIDE, h=high).anchor("NW").at((x, y))
    d += (
        elm.Label()
        .at((x + WIDE / 2, y - 0.5))
        .label(place["words"], halign="center", valign="center", fontsize=12)
    )
    for number, line in enumerate(lines, 1):
        d += (
            elm.Label()
            .at((x + 0.2, y - 0.5 - LINE * number))
            .label(line, halign="left", valign="center", fontsize=10)
        )


def _cable(d: schemdraw.Drawing, pair: tuple, sizes: list[float], heights: dict) -> None:
    """A line between two places with its wires counted by thickness."""
    begin, end = _ends(pair, heights)
    counted = [f"{sizes.count(mm2)} × {mm2:g} mm²" for mm2 in sorted(set(sizes), reverse=True)]
    d += elm.Line(lw=3).endpoints(begin, end)
    is_level = abs(begin[1] - end[1]) < 0.1
    middle = ((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2)
    at = (middle[0], middle[1] + 0.25) if is_level else (middle[0] + 0.25, middle[1])
    halign, valign = ("center", "bottom") if is_level else ("left", "center")
    d += elm.Label().at(at).label("\n".join(counted), halign=halign, valign=valign, fontsize=10)


def _ends(pair: tuple, heights: dict) -> tuple:
    """Where a cable leaves and arrives, for the pairs that this layout has."""
    one, other = sorted(pair, key=lambda place: AT[place])
    (x1, y1), (x2, y2) = AT[one], AT[other]
    if x1 == x2:  # one above the other
        top, low = (one, other) if y1 > y2 else (other, one)
        x = x1 + WIDE / 2
        return (x, AT[top][1] - heights[top]), (x, AT[low][1])
    if y1 == y2:
        return (x1 + WIDE, y1 - 1.2), (x2, y2 - 1.2)
    # Side by side at different heights: straight across at the lower one's first lines.
    y = min(y1, y2) - 1.0
    return (x1 + WIDE, y), (x2, y)
