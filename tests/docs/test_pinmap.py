"""Guide and firmware have one pin map: rigfw.pinmap."""

import ast
import re

import pytest

import hardware_pages
from rigfw import pinmap

PIN_ROW = re.compile(r"^\| ([A-Z][A-Z0-9_]*) \| (\d+) \| (\d+) \| (in|out|bus) \| (.+) \|$")

# GPIO -> pin of the 40-pin board: the published pinout of the Raspberry Pi Pico, from memory.
BOARD_PIN = {
    0: 1, 1: 2, 2: 4, 3: 5, 4: 6, 5: 7, 6: 9, 7: 10, 8: 11, 9: 12, 10: 14, 11: 15, 12: 16,
    13: 17, 14: 19, 15: 20, 16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31,
    27: 32, 28: 34,
}  # fmt: skip


def names_asked(source: str) -> dict[str, str]:
    """Module-level `NAME = gpio("NAME")` of the pin module."""
    found = {}
    for node in ast.parse(source).body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Call):
            call = node.value
            if getattr(call.func, "id", "") == "gpio":
                found[node.targets[0].id] = call.args[0].value
    return found


def test_every_row_has_its_name_in_the_firmware(root):
    """The pin module asks for each name of the map, under that name, and holds no number."""
    source = (root / "firmware" / "rigfw" / "pico" / "pins.py").read_text(encoding="utf-8")
    names = [row[pinmap.NAME] for row in pinmap.ROWS]
    assert names_asked(source) == {name: name for name in names}
    assert not [
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Constant) and isinstance(node.value, int)
    ]


def test_the_page_is_the_map(root):
    """hardware/pinmap.md has every row, in order, and no other."""
    text = (root / "hardware" / "pinmap.md").read_text(encoding="utf-8")
    rows = [match.groups()[:4] for line in text.splitlines() if (match := PIN_ROW.match(line))]
    assert [(name, int(gpio), int(pin), way) for name, gpio, pin, way in rows] == [
        row[:4] for row in pinmap.ROWS
    ]


@pytest.mark.parametrize("page", hardware_pages.PAGES)
def test_no_page_of_the_guide_is_stale(root, page):
    """Pin map, wiring and ratings are what the data gives."""
    text = (root / "hardware" / page).read_text(encoding="utf-8")
    assert "<!-- generated: " in text
    assert hardware_pages.generated(text) == text


def test_a_changed_pin_would_be_noticed(root, monkeypatch):
    """HEATER on another GPIO: the page in the folder is stale."""
    text = (root / "hardware" / "pinmap.md").read_text(encoding="utf-8")
    moved = [("HEATER", 0, 1, *row[3:]) if row[0] == "HEATER" else row for row in pinmap.ROWS]
    monkeypatch.setattr(hardware_pages, "ROWS", tuple(moved))
    assert hardware_pages.generated(text) != text


def test_no_pin_twice():
    """Two names never share a GPIO, or a name."""
    gpios = [row[pinmap.GPIO] for row in pinmap.ROWS]
    names = [row[pinmap.NAME] for row in pinmap.ROWS]
    assert len(set(gpios)) == len(gpios)
    assert len(set(names)) == len(names)


def test_board_pins_are_right():
    """The pin of the board beside each GPIO is that of the 40-pin layout."""
    assert {row[pinmap.GPIO]: row[pinmap.BOARD_PIN] for row in pinmap.ROWS} == {
        row[pinmap.GPIO]: BOARD_PIN[row[pinmap.GPIO]] for row in pinmap.ROWS
    }


def test_gpio15_drives_nothing():
    """GPIO15 is no output: the RP2040's USB work-around may drive it."""
    assert [row for row in pinmap.ROWS if row[pinmap.GPIO] == 15 and row[pinmap.WAY] != "in"] == []


def test_an_unknown_name_is_an_error():
    """A slip of the pen in the pin module ends the program at boot, before anything is driven."""
    with pytest.raises(KeyError):
        pinmap.gpio("HEATTER")
    assert pinmap.gpio("HEATER") == 6
    assert pinmap.gpios("out") == (6, 7, 8, 10, 11, 12)
