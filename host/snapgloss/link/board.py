"""A board at its MicroPython prompt: its files, from here. The one module that knows mpremote.

Only a board that is known to be at its prompt is ever spoken to so: entering it means Ctrl-C.
"""

import ast
from typing import Any, NamedTuple, Protocol

from snapgloss.base.errors import InputError, LinkError, RigError

READ_WAIT_S = 3.0
GONE = "Plug the cable in again, hold the rig's start button while you do, and try again."
FLASH_FAULTS = ("ENOSPC", "Errno 28", "OSError: 28", "EIO", "OSError: 5")
NEEDS_EXTRA = (
    "Putting firmware on a board needs two more packages.",
    'Install them with: pip install "snapgloss[deploy]"',
)

_HELP = """
import os, binascii
def _crc(p):
    n = c = 0
    b = bytearray(512)
    try:
        with open(p, 'rb') as f:
            while True:
                k = f.readinto(b)
                if not k:
                    return n, c & 0xffffffff
                c = binascii.crc32(memoryview(b)[:k], c)
                n += k
    except OSError:
        return None
def _read(p):
    try:
        with open(p, 'rb') as f:
            return f.read()
    except OSError:
        return b''
def _rm(p):
    try:
        names = os.listdir(p)
    except OSError:
        names = ()
    for n in names:
        _rm(p + '/' + n)
    try:
        os.remove(p)
    except OSError:
        try:
            os.rmdir(p)
        except OSError:
            pass
def _mk(p):
    try:
        os.mkdir(p)
    except OSError:
        pass
"""
_FACTS = """
import sys
try:
    import machine
    _u = 'pico-' + binascii.hexlify(machine.unique_id()).decode()
except Exception:
    _u = ''
_s = os.statvfs('/')
_i = sys.implementation
print(repr((sys.platform, list(_i[1])[:3], getattr(_i, '_mpy', 0), _s[0] * _s[3], _u)))
"""
_SCAN = """
import machine, onewire
print(repr([binascii.hexlify(r).decode() for r in onewire.OneWire(machine.Pin({})).scan()]))
"""

# It answers before it goes: the pause lets that answer out.
_RESTART = "import machine, time\ntime.sleep_ms(200)\nmachine.reset()"


class BoardFacts(NamedTuple):
    """What a board says of itself."""

    platform: str
    micropython: tuple[int, ...]
    format_no: int  # of compiled files; 0 = takes none
    free_bytes: int
    board: str  # its name in hello; "" for a board that has none


class Board(Protocol):
    """The files of a board. Paths begin at the top, without a slash. Raises LinkError."""

    def facts(self) -> BoardFacts:
        """What it is."""
        ...

    def crc_of(self, path: str) -> tuple[int, int] | None:
        """(bytes, CRC-32) of a file, None when there is none."""
        ...

    def read(self, path: str) -> bytes:
        """A file; b"" when there is none."""
        ...

    def write(self, path: str, data: bytes) -> None:
        """A file, not safe against a cut. RigError when the flash is full."""
        ...

    def rename(self, old: str, new: str) -> None:
        """In one step, over a file that is there."""
        ...

    def remove(self, path: str) -> None:
        """A file, or a folder with all in it; nothing when it is not there."""
        ...

    def make_folder(self, path: str) -> None:
        """A folder, unless it is there."""
        ...

    def restart(self) -> None:
        """Begin anew: the program on it runs. The board is not at its prompt any more."""
        ...

    def close(self) -> None:
        """Let the port go."""
        ...


class PromptBoard:
    """A Board over mpremote's serial transport, which is given open."""

    def __init__(self, transport: Any) -> None:
        self._transport = transport
        self._run(_HELP)

    def facts(self) -> BoardFacts:
        """See Board."""
        platform, version, mpy, free_bytes, name = self._ask(_FACTS)
        return BoardFacts(platform, tuple(version), mpy & 0xFF, free_bytes, name)

    def crc_of(self, path: str) -> tuple[int, int] | None:
        """See Board."""
        found = self._ask(f"print(repr(_crc({'/' + path!r})))")
        return None if found is None else (int(found[0]), int(found[1]))

    def read(self, path: str) -> bytes:
        """See Board."""
        data: bytes = self._ask(f"print(repr(_read({'/' + path!r})))")
        return data

    def write(self, path: str, data: bytes) -> None:
        """See Board."""
        try:
            self._transport.fs_writefile("/" + path, data, chunk_size=512)
        except Exception as fault:
            if any(sign in str(fault) for sign in FLASH_FAULTS):
                raise RigError(
                    f"The board cannot keep {path}: its flash is full or fails.",
                    "Remove what else lies on it, or change the board.",
                ) from fault
            raise self._gone(fault) from fault

    def rename(self, old: str, new: str) -> None:
        """See Board."""
        self._run(f"os.rename({'/' + old!r}, {'/' + new!r})")

    def remove(self, path: str) -> None:
        """See Board."""
        self._run(f"_rm({'/' + path!r})")

    def make_folder(self, path: str) -> None:
        """See Board."""
        self._run(f"_mk({'/' + path!r})")

    def on_bus(self, gpio: int) -> list[str]:
        """Numbers of the devices on the 1-wire bus of that GPIO, 16 hex digits each, unchecked."""
        found: list[str] = self._ask(_SCAN.format(gpio))
        return found

    def restart(self) -> None:
        """See Board."""
        try:
            self._transport.exec_raw_no_follow(_RESTART)
        except Exception as fault:
            raise self._gone(fault) from fault

    def close(self) -> None:
        """See Board."""
        try:
            self._transport.close()
        except OSError:
            return  # unplugged, or gone with its reset

    def _run(self, code: str) -> bytes:
        try:
            said: bytes = self._transport.exec(code)
        except Exception as fault:  # whatever mpremote or the port makes of it
            raise self._gone(fault) from fault
        return said

    def _ask(self, code: str) -> Any:
        said = self._run(code)
        try:
            return ast.literal_eval(said.decode().strip().splitlines()[-1])
        except (ValueError, SyntaxError, IndexError) as fault:
            raise LinkError("The board answers what cannot be read.", GONE) from fault

    @staticmethod
    def _gone(fault: Exception) -> LinkError:
        said = str(fault).strip().splitlines()
        why = f": {said[-1][:80]}" if said else ""
        return LinkError(f"The board stopped answering at its prompt{why}.", GONE)


def at_prompt(port: str) -> PromptBoard:
    """The board on a port, which must be at its prompt. Raises InputError without the extra."""
    try:
        from mpremote.transport_serial import SerialTransport
    except ImportError as missing:
        raise InputError(*NEEDS_EXTRA) from missing
    try:
        return entered(SerialTransport(port, timeout=READ_WAIT_S))
    except LinkError:
        raise
    except Exception as fault:
        raise LinkError(f"The board on {port} does not come to its prompt.", GONE) from fault


def entered(transport: Any) -> PromptBoard:
    """Enter the raw prompt of an open transport; no soft reset, which would run the program."""
    import contextlib
    import io

    try:
        with contextlib.redirect_stdout(io.StringIO()):  # mpremote prints what it did not expect
            transport.enter_raw_repl(soft_reset=False, timeout_overall=READ_WAIT_S)
    except Exception as fault:
        transport.close()
        raise LinkError("The board does not come to its prompt.", GONE) from fault
    return PromptBoard(transport)
