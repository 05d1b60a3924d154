"""The wiring as data: reads hardware/netlists, and answers what is connected to what.

Terminals are texts such as "main_fuse.a". A net is all terminals that wires join. `reached` walks
on through parts that conduct, which is how the tests ask what still has voltage when a part is
open. Raises NetlistRefused for a file that does not describe one wiring.
"""

import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

FOLDER = Path(__file__).resolve().parents[1] / "netlists"
BUILDS = ("bench", "large", "pump")

# Which pairs of terminals a part of a kind joins when it is whole, closed or switched on.
CONDUCTS = {
    "fuse": ("a", "b"),
    "contact": ("a", "b"),
    "cutout": ("a", "b"),
    "link": ("a", "b"),
    "relay": ("com", "no"),
    "switch": ("in", "out"),
}
CHIP_LEGS = {"c1": 1, "rc1": 2, "reset1": 3, "a1": 4, "b1": 5, "q1": 6, "nq1": 7, "gnd": 8,
             "nq2": 9, "q2": 10, "b2": 11, "a2": 12, "reset2": 13, "rc2": 14, "c2": 15,
             "vcc": 16}  # fmt: skip
"""Legs of a dual one-shot of the 4538 kind, "n" for an inverted output (MC74HC4538A data sheet).
A rising edge at a fires while b is high; a falling edge at b fires while a is low."""
TERMINALS = {
    **{kind: {"a", "b"} for kind in ("fuse", "contact", "cutout", "link", "resistor", "button")},
    "capacitor": {"a", "b"},
    "plug": {"a"},
    "fet": {"gate", "drain", "source"},
    "chip4538": set(CHIP_LEGS),
    "supply": {"plus", "minus"},
    "relay": {"com", "no", "coil_plus", "coil_minus"},
    "switch": {"in", "out", "control", "ground"},
    "transistor": {"out", "control", "ground"},
    "load": {"plus", "minus"},
    **{kind: {"anode", "cathode"} for kind in ("diode", "clamp", "led")},
    "oneshot": {"in", "out", "supply", "ground"},
    "converter": {"in", "out", "ground"},
    "supervisor": {"out", "supply", "ground"},
    "metal": {"bond"},
}
BOARD_SUPPLIES = {"VSYS": 39, "3V3": 36, "GND": 38, "AGND": 33, "ADC_VREF": 35, "RUN": 30}
"""The board's own pins that are no GPIO: the published pinout of the 40-pin board, from memory."""


class NetlistRefused(Exception):
    """A netlist that cannot be a wiring; the words say what is wrong."""


class Wire(NamedTuple):
    """One wire. `mm2` is its copper; colour and note are for the builder, "" where none."""

    begin: str
    end: str
    mm2: float
    colour: str
    note: str


class Group(NamedTuple):
    """Wires under one heading of the wiring table."""

    title: str
    wires: tuple[Wire, ...]


class Netlist:
    """Parts by key (dicts with kind and words), groups of wires, and the nets these make."""

    def __init__(self, head: dict, parts: dict[str, dict], groups: list[Group]) -> None:
        self.head, self.parts, self.groups = head, parts, groups
        self.wires = [wire for group in groups for wire in group.wires]
        self._nets = _joined((wire.begin, wire.end) for wire in self.wires)

    def of_kind(self, kind: str) -> list[str]:
        """Keys of the parts of a kind, in the order of the file."""
        return [key for key, part in self.parts.items() if part["kind"] == kind]

    def net(self, terminal: str) -> frozenset[str]:
        """All terminals that wires join to this one."""
        return self._nets.get(terminal, frozenset({terminal}))

    def reached(self, terminal: str, without: Iterable[str] = ()) -> set[str]:
        """Terminals that have this one's voltage, with the parts of `without` open.

        Every other switch, relay and contact counts as closed: the worst that can be.
        """
        opened, seen, todo = set(without), set(), [terminal]
        while todo:
            for one in self.net(todo.pop()) - seen:
                seen.add(one)
                key, _, end = one.partition(".")
                pair = CONDUCTS.get(self.parts[key]["kind"])
                if pair and end in pair and key not in opened:
                    todo.append(f"{key}.{pair[1 - pair.index(end)]}")
        return seen

    def in_series(self, terminal: str, kind: str) -> list[str]:
        """Parts of a kind whose opening alone takes the supply's plus from a terminal."""
        return [
            key
            for key in self.of_kind(kind)
            if terminal not in self.reached("supply.plus", without=[key])
        ]


def _joined(pairs: Iterable[tuple[str, str]]) -> dict[str, frozenset[str]]:
    """The net of each terminal, by union of what wires join."""
    nets: dict[str, set[str]] = {}
    for begin, end in pairs:
        both = nets.get(begin, {begin}) | nets.get(end, {end})
        for one in both:
            nets[one] = both
    return {one: frozenset(net) for one, net in nets.items()}


def load(build: str, folder: Path = FOLDER) -> Netlist:
    """The netlist of a build by its name in BUILDS; a variant takes what it does not name."""
    data = _read(folder / f"{build}.toml")
    if "base" in data:
        data = _changed(_read(folder / data["base"]), data)
    parts = {part["key"]: part for part in data["parts"]}
    if len(parts) != len(data["parts"]):
        raise NetlistRefused(f"{build}: a part has the key of another")
    places = {place["key"] for place in data["places"]}
    lost = [key for key, part in parts.items() if part.get("place") not in places]
    if lost:
        raise NetlistRefused(f"{build}: these parts have no place: {lost}")
    groups = [_group(one) for one in data["group"]]
    head = {name: data[name] for name in data if name not in ("parts", "group", "base")}
    found = Netlist(head, parts, groups)
    _check(build, found)
    return found


def _read(path: Path) -> dict:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _changed(base: dict, change: dict) -> dict:
    """The base with the variant's parts by key and its groups by title."""
    parts = {part["key"]: part for part in base["parts"]}
    for part in change.get("parts", []):
        parts[part["key"]] = {**parts.get(part["key"], {}), **part}
    new = {group["title"]: group for group in change.get("group", [])}
    unknown = set(new) - {group["title"] for group in base["group"]}
    if unknown:
        raise NetlistRefused(f"no group in the base is called {sorted(unknown)}")
    groups = [new.get(group["title"], group) for group in base["group"]]
    return {**base, **change, "parts": list(parts.values()), "group": groups}


def _group(data: dict) -> Group:
    wires = [
        Wire(one["from"], one["to"], one["mm2"], one.get("colour", ""), one.get("note", ""))
        for one in data["wires"]
    ]
    return Group(data.get("shown_as", data["title"]), tuple(wires))


def _check(build: str, netlist: Netlist) -> None:
    """Every terminal that a wire names is one of a part; every part hangs on a wire."""
    wired = {one for wire in netlist.wires for one in (wire.begin, wire.end)}
    for terminal in sorted(wired):
        key, _, end = terminal.partition(".")
        part = netlist.parts.get(key)
        known = TERMINALS.get(part["kind"], {end}) if part else set()
        if end not in known:
            raise NetlistRefused(f"{build}: there is no terminal {terminal}")
    loose = set(netlist.parts) - {terminal.partition(".")[0] for terminal in wired}
    if loose:
        raise NetlistRefused(f"{build}: no wire leads to {sorted(loose)}")
