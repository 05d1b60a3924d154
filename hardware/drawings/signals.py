"""The board's pins: outputs with their pull-downs, senses, contacts; from map and netlist."""

import schemdraw
import schemdraw.elements as elm
from schemdraw import flow

from board import where
from netlist import CONDUCTS, Netlist
from rigfw.pinmap import AT_REST, BOARD_PIN, GPIO, NAME, ROWS, USE, WAY

ROW = 1.9


def _pin(d: schemdraw.Drawing, row: tuple, y: float) -> None:
    """A pin's name at the board's edge, with GPIO and the pin of the board."""
    words = f"{row[NAME]}\nGPIO{row[GPIO]}, pin {row[BOARD_PIN]}"
    d += flow.Box(w=4.0, h=1.3).anchor("E").at((0, y)).label(words, fontsize=11)


def _ohm(ohm: int) -> str:
    return f"{ohm / 1000:g} kΩ" if ohm >= 1000 else f"{ohm} Ω"


def _parts_on(netlist: Netlist, row: tuple) -> list[tuple[str, str]]:
    """(key, end) of what hangs on a pin's net, the board itself left out."""
    ends = sorted(netlist.net(f"board.{row[NAME]}"))
    return [tuple(one.split(".")) for one in ends if not one.startswith("board.")]


def _far(netlist: Netlist, key: str, end: str) -> str:
    """Words for the net at a resistor's other end."""
    other = netlist.net(f"{key}.{'b' if end == 'a' else 'a'}")
    if "supply.minus" in other:
        return "ground"
    if "board.3V3" in other:
        return "3.3 V"
    if "board.ADC_VREF" in other:
        return "ADC_VREF"
    keys = sorted(one.partition(".")[0] for one in other if not one.startswith(key))
    loads = [one for one in keys if netlist.parts[one]["kind"] not in CONDUCTS]
    is_loop = any(netlist.parts[one]["kind"] == "contact" for one in keys)
    return "block S" if is_loop else netlist.parts[(loads or keys)[0]]["words"]


def _resistor(d: schemdraw.Drawing, netlist: Netlist, key: str, end: str, x: float, y: float):
    """A resistor from the line at x to ground below, or to a supply above."""
    far, ohm = _far(netlist, key, end), _ohm(netlist.parts[key]["ohm"])
    d += elm.Dot().at((x, y))
    if far == "ground":
        d += (
            elm.ResistorIEC()
            .endpoints((x, y), (x, y - 1.25))
            .label(ohm, loc="bottom", fontsize=10)
        )
        d += elm.Ground().at((x, y - 1.25))


def draw_outputs(netlist: Netlist, file: str) -> None:
    """Each output: pin, 10 k to ground at the switch, and what it leads to."""
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=11, margin=0.8)
        for number, row in enumerate([row for row in ROWS if row[WAY] == "out"]):
            y = -number * 2.6
            _pin(d, row, y)
            _output(d, netlist, row, y)


def _output(d: schemdraw.Drawing, netlist: Netlist, row: tuple, y: float) -> None:
    d += elm.Line().endpoints((0, y), (5, y))
    for key, end in _parts_on(netlist, row):
        part = netlist.parts[key]
        if part["kind"] == "resistor" and _far(netlist, key, end) == "ground":
            _resistor(d, netlist, key, end, 2.5, y)
        else:
            words = _destination(part["words"], row[USE])
            d += flow.Box(w=7.4, h=1.3).anchor("W").at((5, y)).label(words, fontsize=11)


def _destination(part: str, use: str) -> str:
    """What a line leads to, and its use below, without the part's own words again."""
    rest = use.removeprefix(part).lstrip(", ").partition(",")[0]
    return f"{part}\n{rest}"


def draw_senses(netlist: Netlist, file: str) -> None:
    """Dividers of the power side, contacts to ground, and the probes' bus."""
    with schemdraw.Drawing(file=file, show=False) as d:
        d.config(fontsize=11, margin=0.8)
        y = 0.0
        for row in ROWS:
            if row[NAME] in ("STOP_LOOP", "HEATER_SENSE"):
                y -= 0.6
                _divider(d, netlist, row, y)
                y -= 3.3
        for row in ROWS:
            if row[AT_REST].startswith("inside"):
                _contact(d, netlist, row, y)
                y -= 1.9
        for name in ("PROBES", "NTC_1"):
            y -= 1.2
            _pulled_up(d, netlist, next(row for row in ROWS if row[NAME] == name), y)
            y -= 1.7


def _divider(d: schemdraw.Drawing, netlist: Netlist, row: tuple, y: float) -> None:
    _pin(d, row, y)
    d += elm.Line().endpoints((0, y), (5, y))
    for key, end in _parts_on(netlist, row):
        part = netlist.parts[key]
        if part["kind"] == "clamp":
            _clamp(d, y)
        elif _far(netlist, key, end) == "ground":
            _resistor(d, netlist, key, end, 2.0, y)
        else:
            far = _far(netlist, key, end)
            d += elm.ResistorIEC().endpoints((5, y), (8, y)).label(_ohm(part["ohm"]), fontsize=10)
            d += elm.Dot(open=True).at((8, y)).label(f"{far}, 24 V", loc="right", fontsize=11)


def _clamp(d: schemdraw.Drawing, y: float) -> None:
    """A Schottky diode from the line up to 3.3 V."""
    d += elm.Dot().at((4.2, y))
    d += elm.Schottky().endpoints((4.2, y), (4.2, y + 1.25))
    d += (
        elm.Label()
        .at((4.2, y + 1.35))
        .label("3.3 V", halign="center", valign="bottom", fontsize=10)
    )


def _contact(d: schemdraw.Drawing, netlist: Netlist, row: tuple, y: float) -> None:
    _pin(d, row, y)
    ((key, _),) = _parts_on(netlist, row)
    part = netlist.parts[key]
    symbol = elm.Button if part["kind"] == "button" else elm.Switch
    d += elm.Line().endpoints((0, y), (2.0, y))
    made = symbol().endpoints((2.0, y), (5.0, y))
    d += made.label(part["words"], loc="top", ofst=0.3, fontsize=11)
    d += elm.Line().endpoints((5.0, y), (6.0, y))
    d += elm.Ground().at((6.0, y))
    d += (
        elm.Label()
        .at((7.0, y))
        .label("the chip's pull-up", halign="left", valign="center", fontsize=10)
    )


def _rest(netlist: Netlist, key: str, end: str) -> str:
    """Where the other ends of a part go, in few words."""
    ends = dict.fromkeys(one for wire in netlist.wires for one in wire[:2])
    others = [one for one in ends if one.startswith(f"{key}.") and one != f"{key}.{end}"]
    return "; ".join(where(netlist, one) for one in others)


def _pulled_up(d: schemdraw.Drawing, netlist: Netlist, row: tuple, y: float) -> None:
    _pin(d, row, y)
    d += elm.Line().endpoints((0, y), (5, y))
    words = []
    for key, end in _parts_on(netlist, row):
        part = netlist.parts[key]
        if part["kind"] == "resistor":
            far = _far(netlist, key, end)
            d += elm.Dot().at((2.5, y))
            d += (
                elm.ResistorIEC()
                .endpoints((2.5, y), (2.5, y + 1.25))
                .label(_ohm(part["ohm"]), loc="bottom", fontsize=10)
            )
            d += (
                elm.Label()
                .at((2.5, y + 1.35))
                .label(far, halign="center", valign="bottom", fontsize=10)
            )
        else:
            words.append(f"{part['words']} ({_rest(netlist, key, end)})")
    d += flow.Box(w=7.4, h=1.6).anchor("W").at((5, y)).label("\n".join(words), fontsize=11)
