"""hardware/pinmap.md is the table of firmware/rigfw/pico/pins.py."""

import ast
import re

import pytest

PIN_ROW = re.compile(r"^\| ([A-Z][A-Z0-9_]*) \| (\d+) \| (\d+) \| (in|out|bus) \| (.+) \|$")


def pins_of(source: str) -> dict[str, int]:
    """Module-level `NAME = 12` or `NAME = const(12)` of the pin module."""
    pins = {}
    for node in ast.parse(source).body:
        if not isinstance(node, ast.Assign) or not isinstance(node.targets[0], ast.Name):
            continue
        value = node.value
        if isinstance(value, ast.Call) and getattr(value.func, "id", "") == "const":
            value = value.args[0]
        if isinstance(value, ast.Constant) and type(value.value) is int:
            pins[node.targets[0].id] = value.value
    return pins


@pytest.fixture(scope="module")
def rows(root):
    """The table of the pin map: (name, GPIO, board pin, direction, use)."""
    text = (root / "hardware" / "pinmap.md").read_text(encoding="utf-8")
    return [match.groups() for line in text.splitlines() if (match := PIN_ROW.match(line))]


@pytest.fixture(scope="module")
def pins(root):
    """The pins of the firmware."""
    source = (root / "firmware" / "rigfw" / "pico" / "pins.py").read_text(encoding="utf-8")
    return pins_of(source)


# GPIO -> pin of the 40-pin board: the published pinout of the Raspberry Pi Pico, from memory.
BOARD_PIN = {
    0: 1, 1: 2, 2: 4, 3: 5, 4: 6, 5: 7, 6: 9, 7: 10, 8: 11, 9: 12, 10: 14, 11: 15, 12: 16,
    13: 17, 14: 19, 15: 20, 16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31,
    27: 32, 28: 34,
}  # fmt: skip


def test_the_table_is_the_firmware(rows, pins):
    """Name and GPIO of every row are the firmware's, and no pin is left out."""
    assert pins
    assert {name: int(gpio) for name, gpio, *_ in rows} == pins


def test_ways_are_those_of_the_firmware(rows, root):
    """Outputs, inputs and buses are the firmware's own lists of them."""
    text = (root / "firmware" / "rigfw" / "pico" / "pins.py").read_text(encoding="utf-8")
    for listed, way in (("OUTPUTS", "out"), ("INPUTS", "in"), ("BUSES", "bus")):
        names = re.search(rf"^{listed} = \((.*?)\)", text, re.M)[1].replace(" ", "").split(",")
        assert {name for name, _, _, is_way, _ in rows if is_way == way} == set(names)


def test_no_pin_twice(pins):
    """Two names never share a GPIO."""
    assert len(set(pins.values())) == len(pins)


def test_board_pins_are_right(rows):
    """The pin of the board beside each GPIO is that of the 40-pin layout."""
    assert {int(gpio): int(pin) for _, gpio, pin, *_ in rows} == {
        int(gpio): BOARD_PIN[int(gpio)] for _, gpio, *_ in rows
    }


def test_gpio15_drives_nothing(rows):
    """GPIO15 is no output: the RP2040's USB work-around may drive it."""
    assert [name for name, gpio, _, way, _ in rows if gpio == "15" and way != "in"] == []


def test_wiring_names_every_pin(rows, root):
    """Each name of the pin map stands in the wiring table."""
    wiring = (root / "hardware" / "wiring.md").read_text(encoding="utf-8")
    assert [name for name, *_ in rows if not re.search(rf"\b{name}\b", wiring)] == []


def test_every_output_is_pulled_down(rows, root):
    """Each output's row in the wiring table has its 10 k to ground."""
    lines = (root / "hardware" / "wiring.md").read_text(encoding="utf-8").splitlines()
    bare = []
    for name in (name for name, _, _, way, _ in rows if way == "out"):
        row = next(line for line in lines if line.startswith("|") and f" {name} |" in line)
        if "10 kΩ" not in row:
            bare.append(name)
    assert bare == []
