"""The emulated board: a user's MicroPython image, our compiled firmware, chips on its pins.

Only collected with `--uf2 PATH` (extra `emulator`). UNVERIFIED in this project: no image is part
of it, and none was at hand; the chips themselves are proved by tests/shared/test_fw_bitslave.py.
What was tried here (rp2040py 0.3.6, an image of one endless loop, the bus driven by hand through
its registers): outputs read low, a reset pulse of 500 us is answered 30 to 140 us after its end.
"""

import asyncio
from collections.abc import Callable
from pathlib import Path

import pytest

from fw_bitslave import BitSlave
from fw_fakes import BENCH
from fw_onewire import Chip, Wire, rom_of
from rigfw import pinmap, slots
from rigfw.commissioned import proof_text
from rigfw.config import RigConfig
from rigwire import messages
from rigwire.messages import Message
from rigwire.reader import FrameReader
from snapgloss.link.compiler import compiled
from snapgloss.rigs import board_image, probe_list
from snapgloss.rigs.manifest import firmware_files

CHOCOLATE, PLATE = rom_of(1), rom_of(2)
LOOK_S = 0.02


class LineOnPin:
    """A BitSlave on an emulated pin: told the master's edges, it drives the pad low in time."""

    def __init__(self, slave: BitSlave, gpio: int) -> None:
        self._slave, self._gpio = slave, gpio

    def attach(self, rp2040) -> None:
        """Listen to the pin, and let go of it at first."""
        self._pin, self._clock = rp2040.gpio[self._gpio], rp2040.clock
        self._pull = self._clock.create_alarm(lambda: self._pin.set_input_value(False))
        self._let_go = self._clock.create_alarm(lambda: self._pin.set_input_value(True))
        self._pin.set_input_value(True)  # the resistor to 3.3 V
        self._was_low = False
        self._pin.add_listener(self._edge)

    def _edge(self, *_states) -> None:
        is_low = bool(self._pin.output_enable) and not self._pin.output_value
        if is_low == self._was_low:
            return
        self._was_low = is_low
        now_us = self._clock.nanos / 1000
        (self._slave.fall if is_low else self._slave.rise)(now_us)
        if self._slave.low is not None:
            from_us, to_us = self._slave.low
            self._pull.schedule(max(1.0, (from_us - now_us) * 1000))
            self._let_go.schedule(max(2.0, (to_us - now_us) * 1000))


class EmulatedBoard:
    """A board with its firmware, spoken to in frames; pins by their names in the pin map."""

    def __init__(self, uf2: Path, filesystem: Path) -> None:
        from dataclasses import replace

        from rp2040py.boards import BOARDS, resolve_layout
        from rp2040py.device import MicroPythonDevice

        self.chips = {role: Chip(rom) for role, rom in (("product", CHOCOLATE), ("plate", PLATE))}
        line = LineOnPin(BitSlave(Wire(list(self.chips.values()))), pinmap.gpio("PROBES"))
        pico = BOARDS["pico"]
        spec = replace(
            pico,
            extras=(*pico.extras, lambda: line),
            image=str(uf2),
            layout=resolve_layout(pico, "micropython"),
        )
        self.device = MicroPythonDevice(board=spec, filesystem=filesystem)
        self.device._post_boot_handshake = lambda: None  # a running rig wants frames, no newline
        self.device.cdc.on_serial_data = self._hear
        self._reader = FrameReader()
        self.heard: list[Message] = []
        self.console = b""
        self._number = 0

    def _hear(self, data: bytes) -> None:
        self._reader.feed(bytes(data), self._frame, self._text)

    def _frame(self, array: list, _line: bytes) -> None:
        message = messages.parse(array, messages.TO_HOST)
        if message is not None:
            self.heard.append(message)

    def _text(self, data: bytes) -> None:
        self.console += data

    def set_contact(self, name: str, level: bool) -> None:
        """A contact's level: START low = pressed, STOP_LOOP high = closed."""
        self.device.mcu.gpio[pinmap.gpio(name)].set_input_value(level)

    def level(self, name: str) -> bool:
        """What a pin drives."""
        return bool(self.device.mcu.gpio[pinmap.gpio(name)].output_value)

    def now_s(self) -> float:
        """The board's own seconds."""
        return self.device.mcu.clock.nanos / 1e9

    async def until(self, is_so: Callable[[], bool], most_s: float) -> float:
        """Board seconds until it is so; fails after most_s of them."""
        began_s = self.now_s()
        while not is_so():
            assert self.now_s() - began_s < most_s, self.console[-500:]
            await asyncio.sleep(LOOK_S)
        return self.now_s() - began_s

    async def ask(self, name: str, *values) -> Message:
        """One request and its answer."""
        self._number += 1
        number = 100_000 + self._number
        for byte in messages.encode(name, number, values):
            self.device.cdc.send_serial_byte(byte)

        def answers() -> list[Message]:
            return [one for one in self.heard if one.number == number]

        await self.until(lambda: bool(answers()), 10.0)
        return answers()[0]


def flash_image(path: Path) -> Path:
    """A littlefs of what `deploy` would leave: files, start-up files, settings, proof."""
    from littlefs import LittleFS

    image = compiled(firmware_files())
    config = RigConfig(**{**BENCH, "has_room": 0}).to_text()
    probes = probe_list.line_of(
        {
            "chocolate": probe_list.entry("ds18b20," + CHOCOLATE.hex()),
            "plate": probe_list.entry("ds18b20," + PLATE.hex()),
        }
    )
    files = {f"fw_a/{name}": data for name, data in image.files.items()}
    files |= {
        "boot.py": board_image.boot_text("fw_a"),
        "main.py": board_image.MAIN,
        "fw_a/code.txt": image.code_list(),
        "rig_a.txt": slots.to_slot(1, config).encode(),
        "probes.txt": probes.encode(),
        "proof.txt": proof_text(config).encode(),
    }
    flash = LittleFS(block_size=4096, block_count=352, prog_size=256, disk_version=0x00020000)
    for name, data in files.items():
        flash.makedirs("/" + name.rpartition("/")[0], exist_ok=True)
        with flash.open("/" + name, "wb") as file:
            file.write(data)
    path.write_bytes(bytes(flash.context.buffer))
    return path


@pytest.fixture(scope="session")
def filesystem(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The flash's files, made once."""
    return flash_image(tmp_path_factory.mktemp("flash") / "flash.bin")


@pytest.fixture
def board(request: pytest.FixtureRequest, filesystem: Path) -> EmulatedBoard:
    """A board that is about to get power: bowl seated, stop loop closed, button free."""
    made = EmulatedBoard(Path(request.config.getoption("--uf2")), filesystem)
    made.set_contact("START", True)
    made.set_contact("PEDAL", True)
    made.set_contact("BOWL", False)
    made.set_contact("STOP_LOOP", True)
    return made
