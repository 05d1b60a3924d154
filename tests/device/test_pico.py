"""The Pico's board and composition root on stand-ins for MicroPython's own modules.

What the stand-ins cannot show (real pins, real time) is for a board on a bench.
"""

import importlib
import sys
import types

import pytest

from fw_fakes import BENCH
from rigfw.config import ConfigRefused, RigConfig
from rigwire.frames import crc_hex

PACKAGES = ("rigfw.pico.boot", "rigfw.pico.board", "rigfw.pico.main")


class _Bench:
    """Levels of all pins and an account of what happened, in order."""

    def __init__(self):
        self.levels = {16: 1, 17: 1, 18: 0, 19: 1}
        self.did = []
        self.passes_left = 8
        self.now_ms = 0


def _machine(bench):
    """A stand-in for `machine`."""

    class Pin:
        """One pin; outputs are noted."""

        IN, OUT, PULL_UP, PULL_DOWN = 0, 1, 2, 3

        def __init__(self, number, mode=None, pull=None, value=None):
            self.number = number
            if value is not None:
                self.value(value)

        def value(self, level=None):
            """Read or drive."""
            if level is None:
                return bench.levels.get(self.number, 0)
            bench.levels[self.number] = level
            bench.did.append(("pin", self.number, level))
            return None

    class PWM:
        """A pulsed pin; its duty is its level."""

        def __init__(self, pin, freq=0, duty_u16=0):
            self.pin = pin
            self.duty_u16(duty_u16)

        def duty_u16(self, duty):
            """Drive."""
            bench.levels[self.pin.number] = duty
            bench.did.append(("pin", self.pin.number, duty))

    class WDT:
        """Notes begin and food."""

        def __init__(self, timeout):
            bench.did.append(("watchdog", timeout))

        def feed(self):
            """Fed."""
            bench.did.append(("fed",))

    module = types.ModuleType("machine")
    module.Pin, module.PWM, module.WDT = Pin, PWM, WDT
    module.unique_id = lambda: b"\x01\x02"
    module.reset_cause = lambda: 1
    return module


class _PowerGone(BaseException):
    """Ends the endless loop of a test."""


def _time(bench):
    """A stand-in for `time` that ends the run after some passes."""
    module = types.ModuleType("time")
    module.ticks_ms = lambda: bench.now_ms
    module.ticks_add = lambda at, more: at + more
    module.ticks_diff = lambda a, b: a - b

    def sleep_ms(span_ms):
        bench.now_ms += span_ms
        bench.passes_left -= 1
        if not bench.passes_left:
            raise _PowerGone

    module.sleep_ms = sleep_ms
    return module


def _onewire():
    """A stand-in for `onewire` with nothing on the bus."""
    module = types.ModuleType("onewire")
    module.OneWire = lambda pin: types.SimpleNamespace(reset=lambda: False)
    return module


def _select():
    """A stand-in for `select`: nothing to read, no room to write."""
    module = types.ModuleType("select")
    module.POLLIN, module.POLLOUT = 1, 4
    module.poll = lambda: types.SimpleNamespace(register=lambda *_: None, poll=lambda _: [])
    return module


def _micropython(bench):
    """A stand-in for `micropython`."""
    module = types.ModuleType("micropython")
    module.kbd_intr = lambda code: bench.did.append(("kbd_intr", code))
    module.alloc_emergency_exception_buf = lambda size: None
    return module


@pytest.fixture
def bench(monkeypatch, tmp_path):
    """Stand-ins in place, an empty flash, freshly imported modules of the Pico."""
    made = _Bench()
    monkeypatch.chdir(tmp_path)
    for name, module in (
        ("machine", _machine(made)),
        ("time", _time(made)),
        ("onewire", _onewire()),
        ("select", _select()),
        ("micropython", _micropython(made)),
    ):
        monkeypatch.setitem(sys.modules, name, module)
    for name in PACKAGES:
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.setattr(sys, "print_exception", print, raising=False)
    yield made
    for name in PACKAGES:
        sys.modules.pop(name, None)
        short = name.rpartition(".")[2]
        vars(sys.modules["rigfw.pico"]).pop(short, None)


def _run(bench):
    main = importlib.import_module("rigfw.pico.main")
    with pytest.raises(_PowerGone):
        main.run()
    return main


def _outputs():
    from rigfw.pico import pins

    return pins.OUTPUTS


def test_outputs_are_off_first_and_last(bench):
    """Before anything else every output is driven low, and again when the loop ends."""
    _run(bench)
    first = [step for step in bench.did if step[0] == "pin"][: len(_outputs())]
    assert [step[1:] for step in first] == [(number, 0) for number in _outputs()]
    assert {bench.levels[number] for number in _outputs()} == {0}
    assert bench.did[: len(first)] == first


def test_the_watchdog_runs_before_the_first_pass_and_is_fed_by_every_pass(bench):
    """2000 ms, begun before any output was anything but 0; one feed a pass."""
    _run(bench)
    at = bench.did.index(("watchdog", 2000))
    assert all(step[2] == 0 for step in bench.did[:at] if step[0] == "pin")
    assert bench.did[:at].count(("fed",)) == 0
    assert bench.did.count(("fed",)) == 8


def test_without_a_description_the_rig_is_locked(bench, monkeypatch):
    """An empty flash: the App is built, locked, with the reason in words."""
    main = importlib.import_module("rigfw.pico.main")
    _, app = main._built()
    assert app.sequencer.state_no == 0
    assert app.lock_words == "the rig's description is missing or not of format 1"


def test_with_both_files_the_rig_is_off_and_in_order_to_ask(bench, tmp_path):
    """A good description and a good list of probes: off, and the limits are the file's."""
    (tmp_path / "rig.txt").write_text(RigConfig(**BENCH).to_text())
    body = "probes|1|28ff00000000001a|28ff00000000002b|-"
    (tmp_path / "probes.txt").write_text(body + "|" + crc_hex(body.encode()) + "\n")
    main = importlib.import_module("rigfw.pico.main")
    board, app = main._built()
    assert app.sequencer.state_no == 1
    assert app.config.plate_ceiling_mc == 70000
    assert board.board_id == "pico-0102"


@pytest.mark.parametrize("text", ["", "probes|1|28|-|-|00000000", "probes|2|-|-|-|x", None])
def test_a_bad_list_of_probes_is_refused(bench, text):
    """Missing, damaged or of another format: no probe is taken for the chocolate's."""
    main = importlib.import_module("rigfw.pico.main")
    with pytest.raises(ConfigRefused):
        main.probes_of(text)


def test_a_start_button_held_at_boot_gives_the_prompt(bench):
    """Held: nothing runs, no watchdog, Ctrl-C still works, outputs are off."""
    bench.levels[16] = 0
    main = importlib.import_module("rigfw.pico.main")
    main.run()
    assert [step for step in bench.did if step[0] != "pin"] == []
    assert {bench.levels[number] for number in _outputs()} == {0}


def test_ctrl_c_cannot_stop_the_loop(bench):
    """kbd_intr(-1) before the watchdog begins."""
    _run(bench)
    assert bench.did.index(("kbd_intr", -1)) < bench.did.index(("watchdog", 2000))


def test_contacts_read_safe_on_a_broken_wire(bench):
    """All wires off: not pressed, no pedal, no bowl, stop loop open."""
    bench.levels.update({16: 1, 17: 1, 18: 1, 19: 0})
    board = importlib.import_module("rigfw.pico.board").PicoBoard()
    seen = types.SimpleNamespace()
    board.inputs(seen)
    assert vars(seen) == {"start_down": 0, "pedal_down": 0, "bowl_present": 0, "stop_open": 1}


def test_pins_are_sane():
    """No pin twice, none of the board's own, GPIO15 is no output, every pin exists."""
    from rigfw.pico import pins

    used = pins.OUTPUTS + pins.INPUTS + pins.BUSES
    assert len(set(used)) == len(used)
    assert 15 not in pins.OUTPUTS
    assert not set(used) & {23, 24, 25, 29}
    assert all(0 <= number <= 28 for number in used)
    named = {value for name, value in vars(pins).items() if type(value) is int}
    assert named == set(used)
