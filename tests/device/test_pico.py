"""The Pico's composition root and start-up on stand-ins for MicroPython's own modules."""

import importlib
import sys
import types

import pytest

from fw_onewire import rom_of
from rigfw.drivers.probelist import to_text
from rigfw.numbers import OFF
from rigfw.pinmap import gpios
from rigwire.views import STOP_KEYS

ONE_WIRE = [f"ds18b20,{rom_of(number).hex()},0,0" for number in (1, 2)] + ["-", "-"]


def _outputs():
    from rigfw.pico import pins

    return pins.OUTPUTS


def test_outputs_are_off_first_and_last(bench):
    """Before anything else every output is driven low, and again when the loop ends."""
    bench.run()
    first = [step for step in bench.did if step[0] == "pin"][: len(_outputs())]
    assert [step[1:] for step in first] == [(number, 0) for number in _outputs()]
    assert {bench.levels[number] for number in _outputs()} == {0}
    assert bench.did[: len(first)] == first


def test_the_watchdog_runs_before_the_first_pass_and_is_fed_by_every_pass(bench):
    """2000 ms, begun before any output was anything but 0; one feed a pass."""
    bench.run()
    at = bench.did.index(("watchdog", 2000))
    assert all(step[2] == 0 for step in bench.did[:at] if step[0] == "pin")
    assert bench.did[:at].count(("fed",)) == 0
    assert bench.did.count(("fed",)) == 8


def test_without_a_description_the_rig_is_locked(bench, monkeypatch):
    """An empty flash: the App is built, locked, with the reason in words."""
    _, app = bench.built()
    assert app.sequencer.state_no == 0
    assert app.lock_words.startswith("the list of the program's files is missing")


def test_with_both_files_the_rig_is_off_and_in_order_to_ask(bench, tmp_path):
    """A good description and a good list of probes: off, and the limits are the file's."""
    bench.describe(ONE_WIRE)
    board, app = bench.built()
    assert app.sequencer.state_no == OFF
    assert app.config.plate_ceiling_mc == 70000
    assert board.board_id == "pico-0102"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the list of probes is missing or not of format 2"),
        (b"probes|2|-|-|-|-|00000000", "the list of probes is damaged"),
        (b"\xff\xfe", "the list of probes is missing or not of format 2"),
        (to_text(["-"] * 4).encode(), "no probe is listed for the chocolate"),
        (to_text(["k,1,0,0", "-", "-", "-"]).encode(), "chocolate probe: no such kind"),
        (
            to_text([ONE_WIRE[0], "-", "-", "-"]).encode(),
            "the described plate probe is not listed",
        ),
    ],
)
def test_a_bad_list_of_probes_locks_the_rig(bench, tmp_path, content, words):
    """Missing, damaged, not even text, or with no probe where one is described."""
    bench.describe(ONE_WIRE)
    (tmp_path / "probes.txt").write_bytes(content)
    _, app = bench.built()
    assert (app.sequencer.state_no, app.lock_words) == (0, words)


def test_a_rig_without_its_proof_gets_little_heat(bench, tmp_path):
    """20 of 100 W without the file, all of it with; another description's proof is none."""
    from rigfw.commissioned import proof_text

    bench.describe(ONE_WIRE)
    assert bench.built()[1].cap_permille == 200
    text = bench.built()[1].config.to_text()
    (tmp_path / "proof.txt").write_text(proof_text(text) + "\n")
    assert bench.built()[1].cap_permille == 1000
    bench.describe(ONE_WIRE, heater_w=50)
    assert bench.built()[1].cap_permille == 400


def test_the_programs_files_are_looked_for_where_boot_put_them_first(bench, monkeypatch):
    """A folder of its own first on the path: its code.txt, its files; else those at the top."""
    startup = importlib.import_module("rigfw.pico.startup")
    monkeypatch.setattr(sys, "path", ["/fw_b", ""])
    assert startup._code_folder() == "/fw_b/"
    bench.describe(ONE_WIRE)
    _, app = bench.built()
    assert app.lock_words.startswith("the list of the program's files is missing")
    monkeypatch.setattr(sys, "path", ["", ".frozen"])
    assert startup._code_folder() == ""


def test_a_described_room_probe_must_be_listed(bench, tmp_path):
    """The plate's twin."""
    bench.describe(ONE_WIRE, has_room=1)
    _, app = bench.built()
    assert app.lock_words == "the described room probe is not listed"
    bench.describe([*ONE_WIRE[:2], f"ds18b20,{rom_of(3).hex()},0,0", "-"], has_room=1)
    assert bench.built()[1].lock_words == ""


@pytest.mark.parametrize("name", ["Raspberry Pi Pico2 with RP2350", "Generic ESP32", ""])
def test_another_board_is_locked(bench, monkeypatch, name):
    """Another chip, or one that does not say: locked with its code, whatever else is right."""
    bench.describe(ONE_WIRE)
    monkeypatch.setattr(sys.implementation, "_machine", name)
    _, app = bench.built()
    assert (app.sequencer.state_no, app.lock_words) == (0, "this board has no RP2040")
    assert STOP_KEYS[app.sequencer.stop_code] == "wrong_board"


def test_a_pico_with_radio_is_the_same_board(bench, monkeypatch):
    """Its radio hangs on pins that the rig does not use."""
    bench.describe(ONE_WIRE)
    monkeypatch.setattr(sys.implementation, "_machine", "Raspberry Pi Pico W with RP2040")
    assert bench.built()[1].sequencer.state_no == OFF


def test_a_start_button_held_at_boot_gives_the_prompt(bench, capsys):
    """Held: nothing runs, no watchdog, Ctrl-C still works, outputs are off; it says so."""
    bench.levels[16] = 0
    main = importlib.import_module("rigfw.pico.main")
    main.run()
    assert capsys.readouterr().out == "start button held: prompt, nothing runs\n"
    assert [step for step in bench.did if step[0] != "pin"] == []
    assert {bench.levels[number] for number in _outputs()} == {0}


def test_the_mark_of_an_update_counts_once(bench, tmp_path, capsys):
    """Marked: outputs off, no program, no watchdog; it says so; the mark is gone, and the next
    boot runs."""
    (tmp_path / "update").write_bytes(b"once")
    importlib.import_module("rigfw.pico.main").run()
    assert capsys.readouterr().out == "update: prompt, nothing runs\n"
    assert [step for step in bench.did if step[0] != "pin"] == []
    assert {bench.levels[number] for number in _outputs()} == {0}
    assert not (tmp_path / "update").exists()
    bench.run()
    assert ("watchdog", 2000) in bench.did


def test_a_mark_that_cannot_be_removed_keeps_the_prompt(bench, tmp_path, monkeypatch):
    """A flash that takes no change: nothing runs, nothing is driven, no exception."""
    boot = importlib.import_module("rigfw.pico.boot")
    (tmp_path / "update").write_bytes(b"once")

    def refuse(_name):
        raise OSError(30)

    monkeypatch.setattr(boot.os, "remove", refuse)
    importlib.import_module("rigfw.pico.main").run()
    assert [step for step in bench.did if step[0] != "pin"] == []


def test_a_press_that_was_asked_for_restarts_the_board(bench, tmp_path):
    """Asked in off, pressed for 1.5 s: all outputs 0, then the reset, and the mark is kept."""
    bench.describe(ONE_WIRE)
    importlib.import_module("rigfw.pico.startup").KEEP_FOLDER = str(tmp_path)
    bench.ends_ms = 4000
    bench.at_ms = {
        500: lambda: bench.made[1].desk.ask_update(),  # noqa: PLW0108 - made later
        1000: lambda: bench.levels.update({16: 0}),
        2500: lambda: bench.levels.update({16: 1}),
    }
    bench.run()
    at = bench.did.index(("reset",))
    assert {bench.levels[number] for number in _outputs()} == {0}
    assert [step[2] for step in bench.did[at - len(_outputs()) : at]] == [0] * len(_outputs())
    assert (tmp_path / "update").read_bytes() == b"once"


@pytest.mark.parametrize(("jump_ms", "passes"), [(0, 8), (510, 8), (511, 7), (1000, 6)])
def test_passes_that_were_lost_are_not_made_up_for(bench, jump_ms, passes):
    """10 ms before a pass the clock goes on by so much: late by two passes they are made up for,
    by more the next begins anew. Each pass feeds the watchdog once, before which all is seen."""
    bench.at_ms[740] = lambda: setattr(bench, "now_ms", bench.now_ms + jump_ms)
    bench.run()
    assert bench.did.count(("fed",)) == passes


def test_the_heap_is_tidied_after_every_pass(bench, monkeypatch):
    """Once a pass; and room for an exception is kept before the first."""
    import gc

    monkeypatch.setattr(gc, "collect", lambda: bench.did.append(("collect",)))
    bench.run()
    assert bench.did.count(("collect",)) == bench.did.count(("fed",)) == 8
    assert bench.did.index(("buffer", 100)) < bench.did.index(("watchdog", 2000))


def test_what_only_builds_is_dropped(bench):
    """Neither the list of modules nor their package names them any more."""
    import rigfw.pico

    bench.built()
    startup = {"rigfw.pico.startup", "rigfw.pico.fitted", "rigfw.slots"}
    assert not startup & set(sys.modules)
    assert not hasattr(rigfw.pico, "startup") and not hasattr(rigfw.pico, "fitted")


def test_ctrl_c_cannot_stop_the_loop(bench):
    """kbd_intr(-1) before the watchdog begins."""
    bench.run()
    assert bench.did.index(("kbd_intr", -1)) < bench.did.index(("watchdog", 2000))


def test_contacts_read_safe_on_a_broken_wire(bench):
    """All wires off: not pressed, no pedal, no bowl, stop loop open."""
    bench.levels.update({16: 1, 17: 1, 18: 1, 19: 0})
    board = importlib.import_module("rigfw.pico.board").PicoBoard()
    seen = types.SimpleNamespace()
    board.inputs(seen)
    assert (board.heater_live, board.stirrer_rpm) == (-1, -1)
    assert vars(seen) == {
        "start_down": 0,
        "pedal_down": 0,
        "bowl_present": 0,
        "stop_open": 1,
        "stir_turning": 0,
    }


def test_pins_are_sane():
    """No pin twice, none of the board's own, GPIO15 is no output, every pin exists."""
    from rigfw.pico import pins

    used = pins.OUTPUTS + gpios("in") + gpios("bus")
    assert len(set(used)) == len(used)
    assert 15 not in pins.OUTPUTS
    assert not set(used) & {23, 24, 25, 29}
    assert all(0 <= number <= 28 for number in used)
    named = {value for name, value in vars(pins).items() if type(value) is int}
    assert named == set(used)
