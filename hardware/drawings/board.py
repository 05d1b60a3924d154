"""What feeds the board, and where every end of probes, converters and display goes."""

import schemdraw
import schemdraw.elements as elm
from schemdraw import flow

from netlist import BOARD_SUPPLIES, Netlist
from rigfw.pinmap import BOARD_PIN, NAME, ROWS

PINS = BOARD_SUPPLIES | {row[NAME]: row[BOARD_PIN] for row in ROWS}
WIDE, LINE, GAP, COLUMNS = 7.6, 0.62, 0.7, 3
STEP = 3.6


def draw_board(netlist: Netlist, file: str) -> None:
    """The supply of the board in a row, its supervisor, then a box for each part with wires."""
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=11, margin=0.8)
        _supply(d, netlist)
        _supervisor(d, netlist)
        tops = [-4.6] * COLUMNS
        for key in netlist.of_kind("sensor"):
            column = tops.index(max(tops))
            ends = _ends(netlist, key)
            _part(d, netlist.parts[key]["words"], ends, column * (WIDE + GAP), tops[column])
            tops[column] -= LINE * (len(ends) + 1.6) + GAP


def where(netlist: Netlist, terminal: str) -> str:
    """Words for where an end goes: pins of the board, or the supply's minus."""
    ends = sorted(one.partition(".")[2] for one in netlist.net(terminal) if _is_board(one))
    if "supply.minus" in netlist.net(terminal):
        return "supply −"
    return " and ".join(f"{end}, pin {PINS[end]}" for end in ends)


def _is_board(terminal: str) -> bool:
    return terminal.startswith("board.")


def _ends(netlist: Netlist, key: str) -> list[tuple[str, str]]:
    """(end, where it goes) of a part, in the order of the wiring table."""
    told = [end for wire in netlist.wires for end in (wire.begin, wire.end)]
    mine = dict.fromkeys(one for one in told if one.startswith(f"{key}."))
    return [(one.partition(".")[2], where(netlist, one)) for one in mine]


def _part(
    d: schemdraw.Drawing, words: str, ends: list[tuple[str, str]], x: float, top: float
) -> None:
    height = LINE * (len(ends) + 1.6)
    d += flow.Box(w=WIDE, h=height).anchor("NW").at((x, top))
    _text(d, words, (x + 0.3, top - LINE * 0.8), 12)
    for number, (end, goes_to) in enumerate(ends):
        y = top - LINE * (number + 1.8)
        _text(d, end, (x + 0.3, y), 10)
        _text(d, goes_to, (x + 2.2, y), 10)


def _text(d: schemdraw.Drawing, words: str, at: tuple[float, float], size: int) -> None:
    d += elm.Label().at(at).label(words, halign="left", valign="center", fontsize=size)


def _supply(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """Block P, fuse, step-down, diode, the board's own pin."""
    parts = netlist.parts
    d += elm.Dot(open=True).at((0, 0)).label("block P", loc="left", fontsize=11)
    fuse = elm.FuseIEC().endpoints((0, 0), (STEP, 0)).label(parts["logic_fuse"]["words"], ofst=0.2)
    d += fuse.label(f"{parts['logic_fuse']['amp']:g} A", loc="bottom", ofst=0.2, fontsize=11)
    d += flow.Box(w=STEP, h=1.2).anchor("W").at((STEP, 0)).label(parts["step_down"]["words"])
    d += elm.Ground().at((1.5 * STEP, -0.6))
    diode = elm.Schottky().endpoints((2 * STEP, 0), (3 * STEP, 0))
    d += diode.label(parts["board_diode"]["words"], ofst=0.2, fontsize=11)
    end = where(netlist, "board_diode.cathode")
    d += flow.Box(w=STEP, h=1.2).anchor("W").at((3 * STEP, 0)).label(f"board\n{end}")
    d += (
        elm.Label()
        .at((4 * STEP + 0.4, 0))
        .label(
            f"GND, pin {BOARD_SUPPLIES['GND']}: supply −",
            halign="left",
            valign="center",
            fontsize=10,
        )
    )


def _supervisor(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """Between 3.3 V and RUN; it has no switch to the power side."""
    y, x = -2.6, STEP
    _text(d, where(netlist, "supervisor.supply"), (0, y + 0.35), 10)
    d += elm.Dot(open=True).at((0, y))
    d += elm.Line().endpoints((0, y), (x, y))
    words = f"{netlist.parts['supervisor']['words']}\nrecommended"
    d += flow.Box(w=STEP, h=1.2).anchor("W").at((x, y)).label(words, fontsize=11)
    d += elm.Ground().at((1.5 * STEP, y - 0.6))
    d += elm.Line().endpoints((2 * STEP, y), (3 * STEP, y))
    d += elm.Dot(open=True).at((3 * STEP, y))
    _text(d, where(netlist, "supervisor.out"), (2 * STEP + 0.2, y + 0.35), 10)
