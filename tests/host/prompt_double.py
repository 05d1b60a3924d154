"""A scripted board at its MicroPython prompt: a serial port's face over a folder.

It speaks the raw prompt byte by byte and runs what it is sent with this Python, whose `os`, `open`
and `sys` are those of a small board. It can be another kind, full, silent, forgetful, or lose its
power at any write.
"""

import binascii
import errno
import shutil
from pathlib import Path
from types import SimpleNamespace

from mpremote.transport_serial import SerialTransport

BANNER = b"raw REPL; CTRL-B to exit\r\n>"


class PowerCut(Exception):
    """The board went dark in the middle of something."""


class PromptSerial:
    """pyserial's face. `flash` is the board's files; `cut_at` the write to the flash that is the
    last; `spoils` a path whose first bytes arrive damaged so many times."""

    def __init__(self, flash: Path) -> None:
        self.flash = flash
        self.platform, self.version, self.mpy = "rp2", (1, 28, 0, ""), 0x1106
        self.flash_bytes = 1_400_000
        self.is_silent = False
        self.bus: dict[int, list[bytes]] = {}  # GPIO -> numbers of the devices on its 1-wire bus
        self.cut_at: int | None = None
        self.spoils: dict[str, int] = {}
        self.writes = self.resets = 0
        self.log: list[str] = []
        self._out = bytearray()
        self._in = bytearray()
        self._names: dict[str, object] = {}
        self.is_open = True

    # The port.

    def inWaiting(self) -> int:
        """Bytes to be read."""
        return len(self._out)

    def read(self, count: int = 1) -> bytes:
        """At most so many; none when there are none."""
        data, self._out = bytes(self._out[:count]), self._out[count:]
        return data

    def write(self, data: bytes) -> int:
        """What the host types."""
        for value in data:
            self._typed(value)
        return len(data)

    def close(self) -> None:
        """Let go."""
        self.is_open = False

    rts = dtr = True

    def _typed(self, value: int) -> None:
        if self.is_silent:
            return
        if value == 0x01:
            self._in.clear()
            self._out += BANNER
        elif value == 0x05 or (self._in[:1] == b"\x05" and len(self._in) < 2):
            self._in.append(value)
        elif self._in[:2] == b"\x05A" and value == 0x01:
            self._in.clear()
            self._out += b"R\x00"
        elif value == 0x04:
            self._run(bytes(self._in).decode())
            self._in.clear()
        elif value != 0x03:
            self._in.append(value)

    def _run(self, code: str) -> None:
        said: list[str] = []
        self._names.setdefault("__builtins__", self._builtins())
        self._names["print"] = lambda *words: said.append(" ".join(map(str, words)) + "\r\n")
        problem = ""
        self._out += b"OK"  # before it is done, as on a board
        try:
            exec(compile(code.replace("\r", ""), "board", "exec"), self._names)
        except PowerCut:
            self.is_silent = True
            return
        except SystemExit:
            return
        except Exception as fault:
            number = getattr(fault, "errno", None)
            problem = f"Traceback:\r\n{type(fault).__name__}: {number or fault}\r\n"
        self._out += "".join(said).encode() + b"\x04" + problem.encode() + b"\x04>"

    # The board behind it.

    def _builtins(self) -> dict[str, object]:
        import builtins

        modules = {
            "os": self._os(),
            "sys": SimpleNamespace(
                platform=self.platform,
                implementation=_Implementation(self.version, self.mpy),
            ),
            "binascii": binascii,
            "time": SimpleNamespace(sleep_ms=lambda _span_ms: None),
            "machine": SimpleNamespace(
                reset=self._reset, Pin=lambda gpio: gpio, unique_id=lambda: b"\x12\xab"
            ),
            "onewire": SimpleNamespace(OneWire=self._one_wire),
        }
        names = {**vars(builtins), "open": self._open}
        names["__import__"] = lambda name, *_rest: modules[name]
        return names

    def _one_wire(self, gpio: int) -> SimpleNamespace:
        return SimpleNamespace(scan=lambda: [bytearray(rom) for rom in self.bus.get(gpio, [])])

    def _path(self, path: str) -> Path:
        return self.flash / path.strip("/")

    def _os(self) -> SimpleNamespace:
        return SimpleNamespace(
            statvfs=lambda _path: (4096, 0, 0, self.free_bytes() // 4096),
            listdir=lambda path: [one.name for one in self._path(path).iterdir()],
            remove=lambda path: self.flash_does("remove", path) or self._path(path).unlink(),
            rmdir=lambda path: self.flash_does("rmdir", path) or self._path(path).rmdir(),
            mkdir=lambda path: self.flash_does("mkdir", path) or self._path(path).mkdir(),
            rename=self._rename,
        )

    def free_bytes(self) -> int:
        """Blocks of 4 KiB that no file has."""
        used = sum(
            -(-path.stat().st_size // 4096) for path in self.flash.rglob("*") if path.is_file()
        )
        return self.flash_bytes - used * 4096

    def flash_does(self, what: str, path: str) -> None:
        """Count a change of the flash; the power may go before it."""
        self.writes += 1
        self.log.append(f"{what} {path}")
        if self.cut_at is not None and self.writes >= self.cut_at:
            raise PowerCut

    def _rename(self, old: str, new: str) -> None:
        self.flash_does("rename", new)
        self._path(old).replace(self._path(new))

    def _open(self, path: str, mode: str = "r") -> object:
        if "w" not in mode:
            return self._path(path).open(mode)
        self.flash_does("write", path)
        self._path(path).write_bytes(b"")
        return _FlashFile(self, path, self._path(path))

    def _reset(self) -> None:
        self.resets += 1
        self.is_silent = True
        raise SystemExit

    def wake(self) -> None:
        """The power comes back, at the prompt."""
        self.is_silent, self.cut_at = False, None
        self._in.clear()
        self._out.clear()
        self._names.clear()


class _Implementation:
    """`sys.implementation`: a tuple with a name in it."""

    def __init__(self, version: tuple, mpy: int) -> None:
        self._version, self._mpy = version, mpy

    def __getitem__(self, at: int) -> object:
        return ("micropython", self._version)[at]


class _FlashFile:
    """A file being written: it may fill the flash, or be damaged on the way."""

    def __init__(self, board: PromptSerial, path: str, file: Path) -> None:
        self._board, self._path, self._file = board, path, file

    def write(self, data: bytes) -> int:
        """Some more of it."""
        board = self._board
        board.flash_does("part of", self._path)
        if board.free_bytes() < 4096:
            raise OSError(errno.ENOSPC, "full")
        if board.spoils.get(self._path, 0) > 0:
            board.spoils[self._path] -= 1
            data = bytes([data[0] ^ 1]) + data[1:]
        with self._file.open("ab") as file:
            return file.write(data)

    def close(self) -> None:
        """On the flash already."""


class PromptTransport(SerialTransport):
    """mpremote's own transport over the double, opened by nobody."""

    def __init__(self, serial: PromptSerial) -> None:
        self.serial = serial
        self.in_raw_repl = self.mounted = self.is_pty = False
        self.use_raw_paste = True
        self.device_name = "scripted"


def copy_of(flash: Path, to: Path) -> Path:
    """A flash with the same files."""
    shutil.copytree(flash, to)
    return to
