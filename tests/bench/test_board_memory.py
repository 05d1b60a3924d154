"""The firmware fits the board, as far as a 32-bit MicroPython on this computer can say."""

import ast

import pytest

import board_memory
from snapgloss.link.compiler import compiled
from snapgloss.rigs.manifest import firmware_files

BUILDERS = (
    "rigfw.codelist",
    "rigfw.describe",
    "rigfw.drivers.platinum",
    "rigfw.drivers.probelist",
    "rigfw.drivers.thermistor",
    "rigfw.pico.fitted",
    "rigfw.pico.startup",
    "rigfw.slots",
    "rigwire.states",
    "rigwire.views",
)


@pytest.mark.node
@pytest.mark.parametrize("rig", board_memory.RIGS)
def test_a_rig_leaves_the_memory_that_is_held_for_now(rig: str) -> None:
    """After boot, journal and all: at least 86 kB of a bare Pico's 241 are free; the aim is 90."""
    used = board_memory.boot_bytes(compiled(firmware_files()), rig)
    assert 50_000 < used <= board_memory.BOARD_FREE_BYTES - board_memory.LEAST_FREE_BYTES


@pytest.mark.node
def test_each_module_is_measured_and_what_builds_the_rig_is_gone() -> None:
    """Every module of the image alone; after boot none of those is left."""
    image = compiled(firmware_files())
    assert len(board_memory.module_bytes(image)) == len(image.files)
    left = f"import sys\nassert not [name for name in {BUILDERS!r} if name in sys.modules]"
    parts = [["boot", board_memory.BOOT], ["left", left]]
    assert len(board_memory.measured(board_memory.flash(image, "usual"), parts)) == 2


@pytest.mark.node
def test_nothing_allocates_where_whole_numbers_have_31_bits() -> None:
    """The tests under the locked heap, and the journal's, on integers as small as the board's."""
    passed = board_memory.shared_tests(["test_fw_heap", "test_fw_journal", "test_fw_sequencer"])
    assert len(passed) >= 25
    assert "test_every_reading_comes_back_as_it_was_kept" in passed


def test_without_node_it_says_what_is_missing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, exit code 2, nothing measured."""
    monkeypatch.setattr(board_memory.shutil, "which", lambda _name: None)
    monkeypatch.setattr(board_memory.sys, "argv", ["board_memory.py"])
    assert board_memory.main() == 2
    said = capsys.readouterr()
    assert (said.out, said.err.count("\n")) == ("", 1)
    assert "install nodejs" in said.err


def test_modules_come_after_what_they_import() -> None:
    """Or a module's figure would hold another's bytes."""
    order = board_memory.in_order({"a": "import c", "b": "x = 1", "c": "from b import x"})
    assert order == ["b", "c", "a"]
    assert ast.parse(board_memory.BOOT)
