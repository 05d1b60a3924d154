"""The pictures of the guide are drawn from the wiring."""

import re

import pytest

import board
import draw
from netlist import BUILDS, load
from power import block_of, path_to


def test_no_picture_is_stale():
    """Each picture in the folder has the words that the netlists give today."""
    assert draw.stale() == []


def test_a_changed_rating_would_be_noticed(tmp_path, hardware):
    """A picture with another fuse is stale; so is one that is not there."""
    for name in draw.PICTURES:
        text = (hardware / "drawings" / f"{name}.svg").read_text(encoding="utf-8")
        if name == "bench-heater":
            text = text.replace(">4 A<", ">6.3 A<")
        if name != "bench-chain":
            (tmp_path / f"{name}.svg").write_text(text, encoding="utf-8")
    assert draw.stale(tmp_path) == ["bench-heater", "bench-chain"]


def _changed(folder, hardware, name, change):
    """All pictures in a folder, one of them changed; the names of the stale ones."""
    for one in draw.PICTURES:
        text = (hardware / "drawings" / f"{one}.svg").read_text(encoding="utf-8")
        (folder / f"{one}.svg").write_text(change(text) if one == name else text, encoding="utf-8")
    return draw.stale(folder)


def test_two_words_that_changed_places_would_be_noticed(tmp_path, hardware):
    """The heater's name at the fan's pin: all words are there, each in another place."""

    def swapped(text):
        return text.replace(">HEATER", ">X").replace(">FAN", ">HEATER").replace(">X", ">FAN")

    assert _changed(tmp_path, hardware, "bench-outputs", swapped) == ["bench-outputs"]


def test_a_picture_without_its_lines_would_be_noticed(tmp_path, hardware):
    """Words alone are no wiring."""

    def bare(text):
        return re.sub(r"<path[^>]*>", "", text)

    assert _changed(tmp_path, hardware, "bench-heater", bare) == ["bench-heater"]


def test_the_block_of_a_load_is_the_wirings(hardware):
    """A stirrer that is wired before the stop loop is drawn so: the picture hides no fault."""
    netlist = load("bench")
    assert (block_of(netlist, "motor.plus"), block_of(netlist, "coil_fuse.b")) == (
        "block S", "block S",
    )  # fmt: skip
    before = next(end for end in netlist.reached("supply.plus", without=["stop_button"])
                  if end.startswith("fan_fuse") or end.startswith("main_fuse"))  # fmt: skip
    assert block_of(netlist, before) == "block P"


@pytest.mark.parametrize("build", BUILDS)
def test_every_barrier_is_in_the_picture_with_its_rating(build, hardware):
    """Words of each part in the heater's path stand in the schematic."""
    netlist = load(build)
    words = " ".join(draw.words_in(hardware / "drawings" / f"{build}-heater.svg"))
    path = path_to(netlist, "heater.plus")
    assert len(path) == 8
    for key in path:
        for word in netlist.parts[key]["words"].split():
            assert word in words
    for key in path:
        assert f"{netlist.parts[key]['amp']:g} A" in words


def test_every_end_of_a_sensor_is_drawn_with_the_pin_that_it_goes_to(hardware):
    """Each wire between a sensor and the board, or the supply's minus, stands in the picture."""
    netlist = load("bench")
    words = draw.words_in(hardware / "drawings" / "bench-board.svg")
    for key in netlist.of_kind("sensor"):
        assert netlist.parts[key]["words"] in words
        ends = {one for wire in netlist.wires for one in wire[:2] if one.startswith(f"{key}.")}
        assert ends and all(board.where(netlist, end) in words for end in ends)
    for pin in ("VSYS, pin 39", "RUN, pin 30", "3V3, pin 36"):
        assert pin in words


@pytest.mark.parametrize("build", BUILDS)
def test_every_diode_at_a_motor_is_drawn(build, hardware):
    """Stirrer, fan or pump: its diode stands beside it in the schematic."""
    netlist = load(build)
    words = " ".join(draw.words_in(hardware / "drawings" / f"{build}-heater.svg"))
    for key in ("motor_diode", "fan_diode"):
        assert netlist.parts[key]["words"] in words


def test_the_path_is_in_the_order_of_the_guide(hardware):
    """The walk from plus to heater gives the order that wiring.md tells in words."""
    netlist = load("bench")
    text = " ".join((hardware / "wiring.md").read_text(encoding="utf-8").split())
    told = re.search(r"supply \+ → (.*?) → heater → supply", text)[1].split(" → ")
    assert [netlist.parts[key]["words"] for key in path_to(netlist, "heater.plus")] == told


def test_every_picture_is_shown_in_the_guide(hardware):
    """No drawing that no page shows, no page that shows one that is not drawn."""
    pages = "\n".join(page.read_text(encoding="utf-8") for page in hardware.glob("*.md"))
    assert set(re.findall(r"drawings/([\w-]+)\.svg", pages)) == set(draw.PICTURES)
