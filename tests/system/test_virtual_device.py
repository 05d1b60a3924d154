"""The lockstep on the real interpreters, with a stand-in firmware that misbehaves on request."""

import os
import re
import select
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import serial

from snapgloss.base.errors import RigError
from snapgloss.rigs.manifest import firmware_files
from snapgloss.virtual import device, interpreter, pacing
from snapgloss.virtual.interpreter import Interpreter
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.rig import RigOptions, VirtualRig
from snapgloss.virtual.staging import Staging

pytestmark = pytest.mark.timeout(60)

STANDIN = Path(__file__).parent / "standin_app.py"
WITHIN_S = 10.0
MakeRig = Callable[..., VirtualRig]


def standin_files() -> dict[str, Path]:
    """The real files with the stand-in for the app."""
    return {**firmware_files(), "rigfw/app.py": STANDIN}


@pytest.fixture(params=["micropython", "cpython"])
def runner(request: pytest.FixtureRequest) -> Interpreter:
    """Each interpreter that can run a firmware here."""
    found = interpreter.find()
    if request.param == "cpython":
        return interpreter.cpython()
    if not found.is_micropython:
        pytest.skip("no MicroPython for this system")
    return found


@pytest.fixture
def make_rig(runner: Interpreter) -> Iterator[MakeRig]:
    """Start rigs in threads; all are stopped afterwards."""
    rigs: list[VirtualRig] = []

    def make(speed: float | None = None) -> VirtualRig:
        rig = VirtualRig(RigOptions(PlantSetup(), speed=speed), standin_files(), runner)
        rigs.append(rig)
        rig.start()
        return rig

    yield make
    for rig in rigs:
        rig.stop()


class Terminal:
    """The port as a person with a terminal has it."""

    def __init__(self, rig: VirtualRig) -> None:
        self._fd = os.open(rig.port, os.O_RDWR | os.O_NOCTTY)
        self.seen = b""

    def type(self, letters: bytes) -> None:
        """Send."""
        os.write(self._fd, letters)

    def until(self, pattern: bytes) -> "re.Match[bytes]":
        """Read until `pattern` was seen, within WITHIN_S; what was matched is used up."""
        deadline_s = time.monotonic() + WITHIN_S
        while time.monotonic() < deadline_s:
            match = re.search(pattern, self.seen)
            if match:
                self.seen = self.seen[match.end() :]
                return match
            if select.select([self._fd], [], [], 0.1)[0]:
                self.seen += os.read(self._fd, 4096)
        raise AssertionError(f"no {pattern!r} within {WITHIN_S} s, but {self.seen[-300:]!r}")

    def close(self) -> None:
        """Close. May be called again."""
        if self._fd >= 0:
            os.close(self._fd)
        self._fd = -1


@pytest.fixture
def open_terminal() -> Iterator[Callable[[VirtualRig], Terminal]]:
    """Open terminals; all are closed afterwards."""
    opened: list[Terminal] = []

    def make(rig: VirtualRig) -> Terminal:
        opened.append(Terminal(rig))
        return opened[-1]

    yield make
    for terminal in opened:
        terminal.close()


OpenTerminal = Callable[[VirtualRig], Terminal]


def test_bytes_pass_both_ways_and_print_is_console_text(
    make_rig: MakeRig, open_terminal: OpenTerminal
) -> None:
    """A letter is echoed, and what the firmware prints comes out of the same port."""
    terminal = open_terminal(make_rig())
    terminal.type(b"?")
    terminal.until(rb"\?")
    terminal.type(b"p")
    terminal.until(rb"printed words")


def test_an_exception_restarts_the_firmware_with_outputs_off(
    make_rig: MakeRig, open_terminal: OpenTerminal
) -> None:
    """Its traceback is console text; the boot nonce is new; the heat of before is off."""
    rig = make_rig()
    terminal = open_terminal(rig)
    terminal.type(b"n")
    nonce = terminal.until(rb"nonce=(\d+)\n").group(1)
    terminal.type(b"h")
    terminal.until(rb"\d+ \d+ 1\n")
    terminal.type(b"x")
    terminal.until(rb"ValueError: asked to raise")
    terminal.until(rb"\n0 -300000 0\n")
    terminal.type(b"n")
    assert terminal.until(rb"nonce=(\d+)\n").group(1) != nonce
    assert rig.restarts == 1
    supplied_j = rig.lockstep.plant.ledger.supplied_j
    terminal.until(rb"\d+ \d+ 0\n")
    assert rig.lockstep.plant.ledger.supplied_j == supplied_j > 0


def test_a_hang_is_killed_and_restarted(
    make_rig: MakeRig, open_terminal: OpenTerminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A firmware that loops for ever is found out after HANG_S of wall time, here shortened."""
    monkeypatch.setattr(device, "HANG_S", 0.3)
    rig = make_rig()
    terminal = open_terminal(rig)
    terminal.type(b"z")
    terminal.until(rb"hung for 0.3 s; restarted")
    terminal.until(rb"\n0 -300000 0\n")
    assert rig.restarts == 1


def test_a_watchdog_that_is_not_fed_restarts_the_firmware(
    make_rig: MakeRig, open_terminal: OpenTerminal
) -> None:
    """The loop runs on, but without a kick it is bitten."""
    rig = make_rig()
    terminal = open_terminal(rig)
    terminal.type(b"k")
    terminal.until(rb"did not feed its watchdog; restarted")
    terminal.until(rb"\n0 -300000 0\n")
    assert rig.restarts == 1


def test_time_stands_still_while_the_host_has_unread_bytes(
    make_rig: MakeRig, open_terminal: OpenTerminal
) -> None:
    """At max speed a host that stops reading for 0.5 s misses less than 2 simulated seconds."""
    rig = make_rig()
    terminal = open_terminal(rig)
    terminal.type(b"w")
    while not rig.lockstep.in_batch:
        terminal.until(rb"\n")
    terminal.until(rb"\d+ \d+ 0\n")
    time.sleep(0.05)  # the second that was under way ends in an unread line
    before_ms = rig.lockstep.at_ms
    time.sleep(0.5)
    assert rig.lockstep.at_ms == before_ms
    terminal.until(rb"\d+ \d+ 0\n")


def test_a_dead_host_does_not_stop_the_rig(
    make_rig: MakeRig, open_terminal: OpenTerminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After STAND_STILL_S, here 0.2 s, simulated time runs on without the host."""
    monkeypatch.setattr(pacing, "STAND_STILL_S", 0.2)
    rig = make_rig()
    terminal = open_terminal(rig)
    terminal.type(b"w")
    while not rig.lockstep.in_batch:
        terminal.until(rb"\n")
    before_ms = rig.lockstep.at_ms
    deadline_s = time.monotonic() + WITHIN_S
    while rig.lockstep.at_ms - before_ms < 600_000 and time.monotonic() < deadline_s:
        time.sleep(0.01)
    assert rig.lockstep.at_ms - before_ms >= 600_000


def test_a_firmware_that_cannot_start_says_why(runner: Interpreter, tmp_path: Path) -> None:
    """The error carries the interpreter's own words; folder and port are gone."""
    broken = tmp_path / "app.py"
    broken.write_text("raise RuntimeError('no app today')\n")
    files = {**standin_files(), "rigfw/app.py": broken}
    with pytest.raises(RigError, match="no app today"):
        VirtualRig(RigOptions(), files, runner)


def test_a_firmware_that_dies_again_and_again_is_given_up(
    runner: Interpreter, tmp_path: Path
) -> None:
    """A loop that always raises: five lives, then a RigError with the firmware's words."""
    broken = tmp_path / "app.py"
    text = STANDIN.read_text().replace("board.kick()", "raise RuntimeError('no loop today')")
    broken.write_text(text)
    with VirtualRig(RigOptions(), {**standin_files(), "rigfw/app.py": broken}, runner) as rig:
        deadline_s = time.monotonic() + WITHIN_S
        while rig.failure is None and time.monotonic() < deadline_s:
            time.sleep(0.01)
        assert isinstance(rig.failure, RigError) and "no loop today" in str(rig.failure)
        assert rig.restarts == 5


def test_stopping_leaves_nothing_behind(make_rig: MakeRig) -> None:
    """Thread, process and folder are gone."""
    rig = make_rig()
    folder = rig._staging.folder
    pid = rig._device.pid
    assert folder.is_dir()
    rig.stop()
    assert not folder.exists()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def test_no_descriptor_is_lost_in_restarts_and_stops(
    runner: Interpreter, open_terminal: OpenTerminal
) -> None:
    """Three rigs, each restarted once: as many open descriptors as before (Linux)."""
    listed = Path("/proc/self/fd")
    if not listed.exists():
        pytest.skip("this system does not list descriptors in /proc")
    before = len(list(listed.iterdir()))
    for _ in range(3):
        with VirtualRig(RigOptions(speed=None), standin_files(), runner) as rig:
            terminal = open_terminal(rig)
            terminal.type(b"x")
            terminal.until(rb"\n0 -300000 0\n")
            terminal.close()
    assert len(list(listed.iterdir())) == before


@pytest.mark.enable_socket
def test_a_loopback_port_serves_one_host_after_another(runner: Interpreter) -> None:
    """pyserial opens the `socket://` URL; a letter is echoed; the next host gets its own."""
    rig = VirtualRig(RigOptions(speed=None, over_socket=True), standin_files(), runner)
    with rig:
        for letter in (b"?", b"!"):
            with serial.serial_for_url(rig.port, timeout=WITHIN_S) as host:
                host.write(letter)
                assert host.read_until(letter).endswith(letter)


def test_the_folder_holds_the_files_and_nothing_else(tmp_path: Path) -> None:
    """Exactly the firmware, the composition root and the exchange; removed at the end."""
    with Staging(firmware_files(), tmp_path) as staging:
        held = {
            path.relative_to(staging.folder).as_posix()
            for path in staging.folder.rglob("*")
            if path.is_file()
        }
        assert held == {*firmware_files(), "device_main.py", "exchange.py"}
        folder = staging.folder
    assert not folder.exists()


def test_the_first_micropython_found_is_taken_else_cpython(tmp_path: Path) -> None:
    """With none the words say that it is CPython, and no site-packages are on its path."""
    executable = tmp_path / "micropython"
    executable.touch()
    found = interpreter.find(iter([tmp_path / "absent", executable]))
    assert found.is_micropython and found.command[0] == str(executable)
    assert "heapsize=450k" in found.command
    fallback = interpreter.find(iter([tmp_path / "absent"]))
    assert not fallback.is_micropython
    assert fallback.words.startswith("CPython") and "-S" in fallback.command
