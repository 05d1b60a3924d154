"""The power side as a schematic, from a netlist: the heater's path, branches, the way back."""

import schemdraw
import schemdraw.elements as elm
from schemdraw import flow

from netlist import CONDUCTS, Netlist

STEP, ROW = 3.4, 3.3
SYMBOLS = {
    "fuse": elm.FuseIEC,
    "contact": lambda: elm.Button(nc=True),
    "cutout": elm.Breaker,
    "link": elm.FuseUS,
    "relay": elm.Switch,
    "switch": elm.RBox,
    "load": elm.ResistorIEC,
}


def path_to(netlist: Netlist, terminal: str) -> list[str]:
    """Keys of the parts that the current passes from the supply's plus to a terminal, in order.

    Found by walking, not written down here: the part that cuts more stands further up.
    """
    series = [key for kind in CONDUCTS for key in netlist.in_series(terminal, kind)]
    return sorted(series, key=lambda key: len(netlist.reached("supply.plus", without=[key])))


def rating(netlist: Netlist, key: str) -> str:
    """What stands under a symbol: amperes, watts, or nothing."""
    part = netlist.parts[key]
    if "amp" in part:
        return f"{part['amp']:g} A"
    return f"{part['watt']:g} W" if "watt" in part else ""


def two_lines(words: str) -> str:
    """Words of a part, broken where they are long, so that neighbours do not touch."""
    if len(words) <= 13 or " " not in words:
        return words
    at = words.rfind(" ", 0, 14) if " " in words[:14] else words.find(" ")
    return words[:at] + "\n" + words[at + 1 :]


def symbol(netlist: Netlist, key: str, begin: tuple, end: tuple, under: bool = True) -> list:
    """A part between two points, with words above (or left) and its rating below."""
    part = netlist.parts[key]
    made = SYMBOLS[part["kind"]]().endpoints(begin, end)
    made = made.label(two_lines(part["words"]), loc="top", ofst=0.25, fontsize=11)
    if under:
        made = made.label(rating(netlist, key), loc="bottom", ofst=0.2, fontsize=11)
    return [made]


def _chain(d: schemdraw.Drawing, netlist: Netlist, keys: list[str], at: tuple) -> tuple:
    """Parts in a row to the right, from a point; the point behind the last."""
    x, y = at
    for key in keys:
        for made in symbol(netlist, key, (x, y), (x + STEP, y)):
            d += made
        x += STEP
    return x, y


def _ground_end(d: schemdraw.Drawing, at: tuple) -> None:
    d += elm.Line().endpoints(at, (at[0] + 0.6, at[1]))
    d += elm.Ground().at((at[0] + 0.6, at[1]))


def _load_row(d: schemdraw.Drawing, netlist: Netlist, load: str, begin: tuple, skip: list) -> None:
    """A branch of its own: fuse, switch, load, ground."""
    keys = [key for key in path_to(netlist, f"{load}.plus") if key not in skip]
    end = _chain(d, netlist, [*keys, load], begin)
    _diode(d, netlist.parts[f"{load}_diode"]["words"], end)
    _ground_end(d, end)


def _diode(d: schemdraw.Drawing, words: str, end: tuple) -> None:
    """Beside a load that ends there: cathode at its plus."""
    (right, y), left, low = end, end[0] - STEP, end[1] - 1.35
    d += elm.Line().endpoints((left, y), (left, low))
    d += (
        elm.Schottky()
        .endpoints((right, low), (left, low))
        .label(words, loc="bottom", ofst=0.15, fontsize=9)
    )
    d += elm.Line().endpoints((right, low), (right, y))


def draw_heater(netlist: Netlist, file: str) -> None:
    """Supply, stop loop, heater's path; below it the branches of block S and of block P."""
    path = path_to(netlist, "heater.plus")
    loop_end = next(at for at, key in enumerate(path) if key == "lid") + 1
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=11, unit=STEP, margin=1.0)
        amp = netlist.parts["supply"]["amp"]
        _end_dot(d, (0, 0), f"supply +\n24 V DC, {amp:g} A")
        first = _chain(d, netlist, path[:1], (0, 0))
        _block(d, first, "block P")
        block_s = _chain(d, netlist, path[1:loop_end], first)
        _block(d, block_s, _name_s(netlist))
        corner = _chain(d, netlist, path[loop_end : loop_end + 2], block_s)
        _second_row(d, netlist, path[loop_end + 2 :], corner)
        _branches(d, netlist, first, path[:loop_end])
        _legend(d, netlist)


def _end_dot(d: schemdraw.Drawing, at: tuple, words: str) -> None:
    d += elm.Dot(open=True).at(at).label(words, loc="left")


def _name_s(netlist: Netlist) -> str:
    return "block H" if "lid_2" in netlist.parts else "block S"


def _block(d: schemdraw.Drawing, at: tuple, name: str) -> None:
    d += elm.Dot().at(at).label(name, loc="top", ofst=0.9, fontsize=11)


def _second_row(d: schemdraw.Drawing, netlist: Netlist, keys: list[str], corner: tuple) -> None:
    """Down at the right, and back to the left: cut-out to heater, then to the supply's minus."""
    x, y = corner
    d += elm.Line().endpoints((x, y), (x, y - ROW))
    y -= ROW
    for key in [*keys, "heater"]:
        for made in symbol(netlist, key, (x - STEP, y), (x, y)):
            d += made
        x -= STEP
    d += elm.Line().endpoints((x, y), (0, y))
    _end_dot(d, (0, y), "supply −")


def _branches(d: schemdraw.Drawing, netlist: Netlist, p: tuple, loop: list) -> None:
    """Stirrer and coil behind the stop loop; fan or pump where the wiring has it."""
    y = p[1] - 2 * ROW
    if "lid_2" in netlist.parts:
        _end_dot(d, (0, y), "block P")
        end = _chain(d, netlist, ["stop_button_2", "lid_2"], (0, y))
        d += elm.Dot(open=True).at(end).label("block S", loc="right")
        y -= ROW
    skip = [*loop, "stop_button_2", "lid_2"]
    for load in ("motor", "fan"):
        _end_dot(d, (0, y), block_of(netlist, f"{load}.plus"))
        _load_row(d, netlist, load, (0, y), skip)
        if load == "motor":
            _coil(d, netlist, y)
        y -= 0.95 * ROW


def block_of(netlist: Netlist, end: str) -> str:
    """The block that feeds an end: S is behind the stop loop, P is not."""
    is_before = end in netlist.reached("supply.plus", without=["stop_button", "stop_button_2"])
    return "block P" if is_before else "block S"


def _legend(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """What the figures under the symbols mean, at the foot."""
    rows = 4 if "lid_2" in netlist.parts else 3
    words = "A: rating at 24 V DC. Each ground is supply −, one block."
    at = (-1.2, -(rows + 0.9) * ROW)
    d += elm.Label().at(at).label(words, halign="left", valign="center", fontsize=10)


def _coil(d: schemdraw.Drawing, netlist: Netlist, y: float) -> None:
    """The relay's coil: fuse, coil, edge-train driver, ground; and where its edges come from."""
    x = 3.95 * STEP
    d += elm.Dot(open=True).at((x, y)).label(block_of(netlist, "coil_fuse.b"), loc="top")
    for made in symbol(netlist, "coil_fuse", (x, y), (x + 0.9 * STEP, y)):
        d += made
    right = x + 0.9 * STEP
    d += elm.Inductor2(loops=3).endpoints((right, y - 2.0), (right, y))
    d += elm.Line().endpoints((right, y), (right + 1.1, y))
    diode = elm.Diode().endpoints((right + 1.1, y - 2.0), (right + 1.1, y))
    d += diode.label("enable relay,\ncoil and diode", loc="bottom", fontsize=11, ofst=0.2)
    d += elm.Line().endpoints((right + 1.1, y - 2.0), (right, y - 2.0))
    d += elm.Line().endpoints((right, y - 2.0), (right, y - 2.4))
    d += (
        flow.Box(w=2.6, h=1.2)
        .anchor("N")
        .at((right, y - 2.4))
        .label("edge-train\ndriver", fontsize=11)
    )
    d += elm.Ground().at((right, y - 3.6))
    d += (
        elm.Arrow()
        .endpoints((right - 3.2, y - 3.0), (right - 1.3, y - 3.0))
        .label("ENABLE", loc="top", fontsize=11)
    )
