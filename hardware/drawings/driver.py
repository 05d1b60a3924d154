"""The circuit of the edge-train driver, its resistor as the sizing reckons it."""

import schemdraw
import schemdraw.elements as elm

from snapgloss.rigs.sizing_switches import EDGE_CAPACITOR_F, edge_train

SMALL, USUAL = 10, 11


def timing_words() -> tuple[str, str]:
    """Resistor and capacitor of the hold, as printed on the parts."""
    return f"{edge_train().ohm / 1e6:g} MΩ", f"{EDGE_CAPACITOR_F * 1e6:g} µF"


def _chip() -> elm.Ic:
    pins = [
        elm.IcPin(name="A", side="left", slot="3/3", anchorname="a"),
        elm.IcPin(name="B", side="left", slot="2/3", anchorname="b"),
        elm.IcPin(name="reset", side="left", slot="1/3", anchorname="reset"),
        elm.IcPin(name="RX/CX", side="top", slot="1/2", anchorname="rx"),
        elm.IcPin(name="CX", side="top", slot="2/2", anchorname="cx"),
        elm.IcPin(name="Q", side="right", slot="3/3", anchorname="q"),
    ]
    return elm.Ic(pins=pins, edgepadW=1.2, edgepadH=0.9, pinspacing=1.5).label(
        "one-shot\n4538 kind", loc="center", fontsize=USUAL
    )


def _timing(d: schemdraw.Drawing, chip: elm.Element) -> None:
    """The resistor to 3.3 V, the capacitor between the two pins."""
    ohm, farad = timing_words()
    d += elm.Line().at(chip.rx).up(1.0)
    d += elm.Dot()
    d += elm.ResistorIEC().up(2.2).label(ohm, loc="top", fontsize=USUAL)
    d += elm.Vdd().label("3.3 V", fontsize=SMALL)
    d += (
        elm.Capacitor()
        .at((chip.rx[0], chip.rx[1] + 1.0))
        .tox(chip.cx)
        .label(farad, loc="top", fontsize=USUAL)
    )
    d += elm.Line().down(1.0)


def _inputs(d: schemdraw.Drawing, chip: elm.Element) -> None:
    """ENABLE with its pull-down; the two inputs that stay high."""
    d += elm.Line().at(chip.a).left(2.4)
    node = d.here
    d += elm.Dot()
    d += elm.Line().left(1.2)
    d += elm.Dot(open=True).label("ENABLE", loc="left", fontsize=USUAL)
    d += elm.ResistorIEC().at(node).down(2.6).label("10 kΩ", loc="top", fontsize=USUAL)
    d += elm.Ground()
    for pin in (chip.b, chip.reset):
        d += elm.Line().at(pin).left(0.6)
        d += elm.Dot(open=True).label("3.3 V", loc="left", fontsize=SMALL)


def _output(d: schemdraw.Drawing, chip: elm.Element) -> None:
    """Gate resistor, pull-down, transistor; the coil hangs on its drain."""
    d += elm.ResistorIEC().at(chip.q).right(2.2).label("1 kΩ", loc="top", fontsize=USUAL)
    gate = d.here
    d += elm.Dot()
    d += elm.ResistorIEC().down(2.6).label("10 kΩ", loc="bottom", fontsize=USUAL)
    d += elm.Ground()
    d += elm.Line().at(gate).right(1.0)
    fet = elm.NFet().reverse().anchor("gate")
    d += fet
    words = "60 V, 1 A,\nlogic level"
    d += elm.Label().at((fet.source[0] + 1.6, gate[1])).label(words, fontsize=SMALL)
    d += elm.Line().at(fet.source).down(0.8)
    d += elm.Ground()
    d += elm.Line().at(fet.drain).up(1.4)
    d += elm.Dot(open=True).label("enable relay, coil minus", loc="top", fontsize=USUAL)


def _draw(d: schemdraw.Drawing) -> None:
    d.config(unit=2.4, fontsize=USUAL)
    chip = _chip()
    d += chip
    _timing(d, chip)
    _inputs(d, chip)
    _output(d, chip)


def draw_driver(path: str) -> None:
    """The picture, as SVG."""
    with schemdraw.Drawing(file=path, show=False) as drawing:
        _draw(drawing)
