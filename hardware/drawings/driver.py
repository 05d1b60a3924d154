"""The circuit of the edge-train driver, its values from its netlist, its legs from the chip's."""

from itertools import pairwise

import schemdraw
import schemdraw.elements as elm

from netlist import CHIP_LEGS, Netlist, load
from snapgloss.rigs.sizing_switches import edge_train

SMALL, USUAL = 11, 12
FIRST, SECOND = (9.0, 0.0), (2.6, 0.0)  # lower left corner of each half
WIDE, HIGH = 4.4, 6.0
RISING_Y, FALLING_Y, RESET_Y = 5.0, 3.0, 1.0


def value(netlist: Netlist, key: str) -> str:
    """What is printed on a part."""
    part = netlist.parts[key]
    if "ohm" in part:
        return f"{part['ohm'] / 1000:g} kΩ"
    micro = part["farad"] * 1e6
    return f"{micro:g} µF" if micro >= 0.1 else f"{micro * 1000:g} nF"


def _text(d: schemdraw.Drawing, at: tuple, words: str, halign: str = "center", size: int = USUAL):
    d += elm.Label().at(at).label(words, halign=halign, valign="center", fontsize=size)


def _line(d: schemdraw.Drawing, *points: tuple) -> None:
    for begin, end in pairwise(points):
        d += elm.Line().endpoints(begin, end)


def _half(d: schemdraw.Drawing, corner: tuple, high: float, name: str) -> None:
    x, y = corner
    _line(d, (x, y), (x + WIDE, y), (x + WIDE, y + high), (x, y + high), (x, y))
    _text(d, (x + WIDE / 2, y + high / 2), name)


def _leg(d: schemdraw.Drawing, at: tuple, leg: str, words: str, halign: str) -> None:
    """A leg's use inside the box at its edge, its number outside on the wire."""
    inside = 0.2 if halign == "left" else -0.2
    _text(d, (at[0] + inside, at[1]), words, halign, SMALL)
    outside = -0.3 if halign == "left" else 0.3
    _text(d, (at[0] + outside, at[1] + 0.25), str(CHIP_LEGS[leg]), size=SMALL - 1)


def _to_supply(d: schemdraw.Drawing, at: tuple) -> None:
    _line(d, at, (at[0] - 0.7, at[1]))
    d += elm.Dot(open=True).at((at[0] - 0.7, at[1])).label("3.3 V", loc="left", fontsize=SMALL)


def _down(d: schemdraw.Drawing, at: tuple, words: str, loc: str = "bottom") -> None:
    """A resistor from a point to ground."""
    d += elm.Dot().at(at)
    low = (at[0], at[1] - 2.2)
    d += elm.ResistorIEC().endpoints(at, low).label(words, loc=loc, fontsize=USUAL)
    d += elm.Ground().at(low)


def _timing(d: schemdraw.Drawing, netlist: Netlist, x: float, y: float, keys: tuple) -> None:
    """Above a box: resistor to 3.3 V, capacitor to ground; legs in `keys` after the parts."""
    ohm, farad, rc, c = keys
    _text(d, (x - 0.3, y + 0.25), str(CHIP_LEGS[rc]), size=SMALL - 1)
    _text(d, (x + 1.7, y + 0.25), str(CHIP_LEGS[c]), size=SMALL - 1)
    _line(d, (x, y), (x, y + 1.0))
    d += elm.Dot().at((x, y + 1.0))
    d += elm.ResistorIEC().endpoints((x, y + 1.0), (x, y + 3.0)).label(
        value(netlist, ohm), loc="top", fontsize=USUAL)  # fmt: skip
    d += elm.Vdd().at((x, y + 3.0)).label("3.3 V", fontsize=SMALL)
    d += elm.Capacitor().endpoints((x, y + 1.0), (x + 2.0, y + 1.0)).label(
        value(netlist, farad), loc="top", fontsize=USUAL)  # fmt: skip
    _line(d, (x + 2.0, y + 1.0), (x + 2.0, y))
    d += elm.Dot().at((x + 2.0, y + 1.0))
    _line(d, (x + 2.0, y + 1.0), (x + 2.6, y + 1.0))
    d += elm.Ground().at((x + 2.6, y + 1.0))


def _second(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """The half that turns a falling edge into a short pulse; its timing hangs above ENABLE."""
    x, y = SECOND
    _half(d, SECOND, HIGH - 2.0, "second half:\n70 µs at each\nfalling edge")
    for at_y, leg, words in ((FALLING_Y, "b2", "B2"), (2.0, "a2", "A2"), (RESET_Y, "reset2", "R")):
        _leg(d, (x, at_y), leg, words, "left")
    _leg(d, (x + WIDE, FALLING_Y), "nq2", "Q2, inverted", "right")
    _line(d, (x, 2.0), (x - 0.7, 2.0))
    d += elm.Ground().at((x - 0.7, 2.0))
    _to_supply(d, (x, RESET_Y))
    _below(d, netlist, x, y)


def _below(d: schemdraw.Drawing, netlist: Netlist, x: float, y: float) -> None:
    """Resistor and capacitor of the short pulse, under its half."""
    rc, c = x + 1.2, x + 3.2
    for at_x, leg in ((rc, "rc2"), (c, "c2")):
        _text(d, (at_x - 0.35, y - 0.25), str(CHIP_LEGS[leg]), size=SMALL - 1)
        _line(d, (at_x, y), (at_x, y - 1.0))
        d += elm.Dot().at((at_x, y - 1.0))
    d += elm.Capacitor().endpoints((rc, y - 1.0), (c, y - 1.0)).label(
        value(netlist, "c_pulse"), loc="bottom", fontsize=USUAL)  # fmt: skip
    d += elm.ResistorIEC().endpoints((rc, y - 1.0), (rc - 2.6, y - 1.0)).label(
        value(netlist, "r_pulse"), loc="bottom", fontsize=USUAL)  # fmt: skip
    d += elm.Dot(open=True).at((rc - 2.6, y - 1.0)).label("3.3 V", loc="left", fontsize=SMALL)
    _line(d, (c, y - 1.0), (c, y - 1.3))
    d += elm.Ground().at((c, y - 1.3))


def _first(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """The half that holds the relay, fired by both edges."""
    x, y = FIRST
    words = f"first half:\nholds the relay\n{edge_train().usual_s:.2f} s after\neach edge"
    _half(d, FIRST, HIGH, words)
    for at_y, leg, words in ((RISING_Y, "a1", "A1"), (FALLING_Y, "b1", "B1"),
                             (RESET_Y, "reset1", "R")):  # fmt: skip
        _leg(d, (x, at_y), leg, words, "left")
    _leg(d, (x + WIDE, RISING_Y), "q1", "Q1", "right")
    _line(d, (SECOND[0] + WIDE, FALLING_Y), (x, FALLING_Y))
    _to_supply(d, (x, RESET_Y))
    _timing(d, netlist, x + 1.2, y + HIGH, ("r_hold", "c_hold", "rc1", "c1"))


def _enable(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """ENABLE to both halves, with its pull-down."""
    node = SECOND[0] - 1.2
    d += elm.Dot(open=True).at((-2.2, RISING_Y)).label("ENABLE", loc="left", fontsize=USUAL)
    _line(d, (-2.2, RISING_Y), (FIRST[0], RISING_Y))
    d += elm.Dot().at((node, RISING_Y))
    _line(d, (node, RISING_Y), (node, FALLING_Y), (SECOND[0], FALLING_Y))
    _down(d, (-0.8, RISING_Y), value(netlist, "r_in"), "top")


def _output(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """Gate resistor, pull-down, transistor; the coil hangs on its drain."""
    x = FIRST[0] + WIDE
    gate = (x + 2.6, RISING_Y)
    d += elm.ResistorIEC().endpoints((x + 0.6, RISING_Y), gate).label(
        value(netlist, "r_gate"), loc="top", fontsize=USUAL)  # fmt: skip
    _line(d, (x, RISING_Y), (x + 0.6, RISING_Y))
    _down(d, gate, value(netlist, "r_off"))
    _line(d, gate, (gate[0] + 1.0, RISING_Y))
    fet = elm.NFet().reverse().anchor("gate").at((gate[0] + 1.0, RISING_Y))
    d += fet
    _text(d, (fet.source[0] + 0.4, RISING_Y), "60 V, 1 A,\n2.5 V gate", "left", SMALL)
    _line(d, fet.source, (fet.source[0], fet.source[1] - 0.8))
    d += elm.Ground().at((fet.source[0], fet.source[1] - 0.8))
    top = (fet.drain[0], fet.drain[1] + 1.4)
    _line(d, fet.drain, top)
    d += elm.Dot(open=True).at(top).label("enable relay,\ncoil minus", loc="top", fontsize=USUAL)


def _supply(d: schemdraw.Drawing, netlist: Netlist) -> None:
    """The chip's own supply, said in words."""
    words = (
        f"chip: leg {CHIP_LEGS['vcc']} to 3.3 V, leg {CHIP_LEGS['gnd']} to supply −, "
        f"{value(netlist, 'c_supply')} across them.\nEach ground is supply −."
    )
    _text(d, (FIRST[0] - 0.6, -2.0), words, "left", SMALL)


def draw_driver(path: str) -> None:
    """The picture, as SVG."""
    netlist = load("edge-driver")
    with schemdraw.Drawing(file=path, show=False) as d:
        d.config(unit=2.0, fontsize=USUAL, margin=0.6)
        for part in (_enable, _second, _first, _output, _supply):
            part(d, netlist)
