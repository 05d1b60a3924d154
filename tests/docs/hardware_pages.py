"""Write the generated parts of the hardware guide; `--check` only compares.

The pin map comes from rigfw.pinmap, wiring and parts from hardware/netlists.

    python tests/docs/hardware_pages.py [--check]
"""

import re
import sys
from itertools import groupby
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "hardware" / "drawings"))

from netlist import (  # noqa: E402 - on the path only now
    BOARD_SUPPLIES,
    BUILDS,
    CHIP_LEGS,
    Group,
    Netlist,
    load,
)
from rigfw.pinmap import BOARD_PIN, GPIO, NAME, ROWS  # noqa: E402
from snapgloss.rigs.commissioning_steps import STEPS  # noqa: E402
from snapgloss.rigs.sized import BUILDS as SIZED  # noqa: E402
from snapgloss.rigs.sizing import size  # noqa: E402

FINDERS = {"rig": "the rig", "figure": "you, an instrument", "seen": "you, looking"}

PAGES = (
    "pinmap.md",
    "wiring.md",
    "parts.md",
    "larger.md",
    "coolant.md",
    "commissioning.md",
    "sizing.md",
    "edge-driver.md",
)
BLOCK = re.compile(r"<!-- generated: ([^\n]*) -->\n.*?<!-- end -->", re.S)
REST_WORDS = {
    "down": "10 kΩ to ground",
    "up": "resistor to 3.3 V",
    "inside up": "the chip's pull-up",
    "divider": "its divider",
    "chip": "what it leads to",
}


def table(head: list[str], rows: list[list[str]]) -> str:
    """A Markdown table."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


def pin_table() -> str:
    """The pin map, a row a pin."""
    rows = [
        [name, str(gpio), str(pin), way, REST_WORDS[rest], use]
        for name, gpio, pin, way, rest, use in ROWS
    ]
    return table(["Name", "GPIO", "Board pin", "Way", "At rest", "Use"], rows)


def _end(netlist: Netlist, terminal: str) -> str:
    """A terminal in words: "main fuse, b"; a pin by name, GPIO and number; a chip's leg."""
    key, _, end = terminal.partition(".")
    words = netlist.parts[key]["words"]
    if key == "board":
        return _pin(end)
    if netlist.parts[key]["kind"] == "chip4538":
        return f"{words}, leg {CHIP_LEGS[end]} ({end.upper().replace('NQ', 'inverted Q')})"
    return words if netlist.parts[key]["kind"] == "plug" else f"{words}, {end.replace('_', ' ')}"


def _pin(name: str) -> str:
    """ "HEATER: GPIO6, pin 9": what is printed beside the board, and the leg to count to."""
    if name in BOARD_SUPPLIES:
        return f"{name}: pin {BOARD_SUPPLIES[name]}"
    row = next(row for row in ROWS if row[NAME] == name)
    return f"{name}: GPIO{row[GPIO]}, pin {row[BOARD_PIN]}"


def parts_of_driver() -> str:
    """The loose parts of the edge-train driver, with their values."""
    rows = []
    for part in load("edge-driver").parts.values():
        if "ohm" in part:
            rows.append([part["words"], _valued(part["ohm"], "Ω")])
        elif "farad" in part:
            rows.append([part["words"], _valued(part["farad"], "F")])
    return table(["Part", "Value"], rows)


def _valued(value: float, unit: str) -> str:
    """887000 ohm as "887 kΩ"."""
    prefixes = ((1e3, "k"), (1, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))
    for factor, prefix in prefixes:
        if value >= factor * 0.999:
            return f"{value / factor:.3g} {prefix}{unit}"
    return f"{value:g} {unit}"


def group_table(netlist: Netlist, group: Group, first_no: int) -> str:
    """One heading with its wires, numbered on from `first_no`."""
    rows = []
    for number, wire in enumerate(group.wires, first_no):
        copper = f"{wire.mm2:g} mm² {wire.colour}".strip()
        ends = [_end(netlist, wire.begin), _end(netlist, wire.end)]
        rows.append([str(number), *ends, copper, wire.note])
    return f"### {group.title}\n\n" + table(["No", "From", "To", "Wire", "Note"], rows)


def wiring(build: str, only_new: bool = False) -> str:
    """All wiring tables of a build; `only_new`: those that the recommended rig does not have."""
    netlist, known, parts, number = load(build), load("bench").groups, [], 1
    for group in netlist.groups:
        if not (only_new and group in known):
            parts.append(group_table(netlist, group, number))
        number += len(group.wires)
    return "\n\n".join(parts)


def ratings(build: str) -> str:
    """Parts with a figure to buy by: DC amperes or watts at 24 V."""
    rows = []
    for part in load(build).parts.values():
        if "amp" in part:
            rows.append([part["words"], f"{part['amp']:g} A DC"])
        elif part["kind"] == "load" and part["watt"] >= 1:
            rows.append([part["words"], f"{part['watt']:g} W"])
    return table(["Part", "Rating at 24 V"], rows)


def small_parts(build: str) -> str:
    """Resistors by value, and what else is bought by a word: how many, and where they go."""
    found: dict[str, list[str]] = {}
    for part in load(build).parts.values():
        if "ohm" in part:
            share = "0.1 %" if part["words"].startswith("pull-up, thermistor") else "1 %"
            found.setdefault(f"resistor, {_valued(part['ohm'], 'Ω')}, {share}", []).append(
                part["words"]
            )
        elif "take" in part:
            found.setdefault(part["take"], []).append(part["words"])
    rows = [[str(len(words)), what, "; ".join(words)] for what, words in found.items()]
    return table(["Number", "Part", "Where"], rows)


def steps() -> str:
    """Every step of commissioning, a table a group."""
    parts = []
    for title, group in groupby(STEPS, key=lambda step: step.group):
        rows = []
        for step in group:
            again = f"every {step.days} days" if step.days else "after a repair"
            rows.append([f"`{step.key}`", FINDERS[step.how], step.words, step.must, again])
        head = ["Step", "Found by", "Do", "Must be", "Again"]
        parts.append(f"### {title}\n\n{table(head, rows)}")
    return "\n\n".join(parts)


def sizes() -> str:
    """The figures of the guide's three rigs, side by side, with formula and source."""
    found = {name: {f.key: f for f in size(wanted).figures} for name, wanted in SIZED.items()}
    rows = []
    for key in dict.fromkeys(key for one in found.values() for key in one):
        figure = next(one[key] for one in found.values() if key in one)
        values = [shown(one[key].value) if key in one else "" for one in found.values()]
        formula = figure.formula.replace("|", "/")
        rows.append([re.sub(r", [\d.]+ kg$", "", figure.words), figure.unit, *values, formula,
                     figure.source])  # fmt: skip
    return table(["Figure", "Unit", *found, "Formula", "Source"], rows)


def shown(value: float) -> str:
    """Three figures, and no more zeros than they need."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def races() -> str:
    """Each hazard's race for the three rigs: bound, and how warm the chocolate gets meanwhile."""
    found = {name: {r.key: r for r in size(wanted).races} for name, wanted in SIZED.items()}
    rows = []
    for key, race in found["bench"].items():
        rises = [f"{one[key].rise_k:.1f}" for one in found.values()]
        rows.append([race.what, f"{race.bound_s:g} s", *rises])
    return table(["Fault", "Heat ends within", *[f"{name}, °C" for name in found]], rows)


def block(words: str) -> str:
    """The text of a mark: `pins`, `steps`, `sizes`, `races`, `wiring BUILD` and the like."""
    what, _, build = words.partition(" ")
    makers = {
        "wiring": lambda: wiring(build),
        "changes": lambda: wiring(build, only_new=True),
        "ratings": lambda: ratings(build),
        "small": lambda: small_parts(build),
    }
    single = {
        "pins": pin_table,
        "steps": steps,
        "sizes": sizes,
        "races": races,
        "driver parts": parts_of_driver,
        "driver wires": lambda: wiring("edge-driver"),
    }
    if words in single:
        return single[words]()
    if what not in makers or build not in BUILDS:
        raise ValueError(f"nothing is generated by {words!r}")
    return makers[what]()


def generated(text: str) -> str:
    """The page with every block as the data has it."""

    def fresh(match: re.Match) -> str:
        return f"<!-- generated: {match[1]} -->\n\n{block(match[1])}\n\n<!-- end -->"

    return BLOCK.sub(fresh, text)


def main(arguments: list[str]) -> int:
    """Exit code 1 when `--check` finds a page that differs."""
    stale = 0
    for name in PAGES:
        page = ROOT / "hardware" / name
        text = page.read_text(encoding="utf-8")
        if generated(text) == text:
            continue
        stale = 1
        if "--check" in arguments:
            sys.stdout.write(f"hardware/{name} is stale\n")
        else:
            page.write_text(generated(text), encoding="utf-8")
    return stale if "--check" in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
