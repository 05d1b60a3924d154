"""Guide and firmware have one pin map: rigfw.pinmap."""

import re

import pytest

import hardware_pages
from rigfw import pinmap
from rigfw.pico import pins

PIN_ROW = re.compile(r"^\| ([A-Z][A-Z0-9_]*) \| (\d+) \| (\d+) \| (in|out|bus) \| (.+) \|$")

# GPIO -> pin of the 40-pin board: the published pinout of the Raspberry Pi Pico, from memory.
BOARD_PIN = {
    0: 1, 1: 2, 2: 4, 3: 5, 4: 6, 5: 7, 6: 9, 7: 10, 8: 11, 9: 12, 10: 14, 11: 15, 12: 16,
    13: 17, 14: 19, 15: 20, 16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31,
    27: 32, 28: 34,
}  # fmt: skip


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


def test_the_board_has_the_pins_of_the_map():
    """Each name of the board's own module is a row with that GPIO, and no row is missing."""
    numbers = {name: value for name, value in vars(pins).items() if type(value) is int}
    assert numbers == {row[pinmap.NAME]: row[pinmap.GPIO] for row in pinmap.ROWS}
    assert pinmap.gpios("out") == pins.OUTPUTS


def test_an_unknown_name_is_an_error():
    """A slip of the pen in a test or a page."""
    with pytest.raises(KeyError):
        pinmap.gpio("HEATTER")
    assert pinmap.gpio("HEATER") == 6
    assert pinmap.gpios("out") == (6, 7, 8, 10, 11, 12)
