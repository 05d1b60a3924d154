"""The firmware's process: started on its interpreter, one record each way for each tick."""

import contextlib
import json
import os
import select
import struct
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from snapgloss.virtual import exchange as ex
from snapgloss.virtual.interpreter import Interpreter

HANG_S = 2.0
"""Wall seconds without an answer after which the firmware counts as hung, as a watchdog would."""

_START_S = 20.0  # a cold disk and a loaded machine; a hang inside a loop is judged by HANG_S
_TO_PLANT = struct.Struct(ex.TO_PLANT_FORMAT)
_REPORT = struct.Struct(ex.REPORT_FORMAT)
_CHUNK = 4096
_APPEND = os.O_WRONLY | os.O_CREAT | os.O_APPEND
_READY = select.POLLIN | select.POLLHUP | select.POLLERR


class FirmwareDied(Exception):
    """The interpreter ended or hung. `.words` says which; the rig restarts it."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self.words = words


class Boot(NamedTuple):
    """What one start of the firmware is given."""

    config_text: str
    board_id: str
    boot_nonce: int
    reset_cause: int  # 1 power on, 3 watchdog, as the RP2040 port counts
    keep_folder: str = ""  # the firmware's flash, "" = a board that keeps nothing; relative to
    # the script, because MicroPython ends on an argument of more than 255 characters
    tap: Path | None = None  # every row of the journal is appended to this file
    with_modules: bool = False  # report the hash of every imported module file


class Device:
    """The running firmware. What it prints, and its traceback, go to `on_console(bytes)`.

    `report` is what it said of itself at boot: implementation, version and, when asked for,
    modules ({name: sha256 of the file that was imported}).
    """

    def __init__(
        self,
        interpreter: Interpreter,
        script: Path,
        boot: Boot,
        on_console: Callable[[bytes], None],
    ) -> None:
        self._on_console = on_console
        self._pending = b""
        self._process = self._spawn(interpreter, script, boot)
        try:
            self.report: dict[str, object] = self._read_report()
        except FirmwareDied:
            self.close()
            raise

    @property
    def pid(self) -> int:
        """The operating system's number of the firmware's process."""
        return self._process.pid

    def _spawn(
        self, interpreter: Interpreter, script: Path, boot: Boot
    ) -> subprocess.Popen[bytes]:
        fd_in, self._to_device = os.pipe()
        self._from_device, fd_out = os.pipe()
        fd_tap = -1 if boot.tap is None else os.open(boot.tap, _APPEND)
        passed = (fd_in, fd_out) if fd_tap < 0 else (fd_in, fd_out, fd_tap)
        setup = {
            "fd_in": fd_in,
            "fd_out": fd_out,
            "fd_tap": fd_tap,
            "config": boot.config_text,
            "board_id": boot.board_id,
            "boot_nonce": boot.boot_nonce,
            "reset_cause": boot.reset_cause,
            "keep": boot.keep_folder,
            "report": boot.with_modules,
        }
        process = subprocess.Popen(
            [*interpreter.command, str(script), json.dumps(setup)],
            cwd=script.parent,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            pass_fds=passed,
            start_new_session=True,  # Ctrl-C in the terminal is for the rig, which ends us
        )
        for fd in passed:
            os.close(fd)
        assert process.stdout is not None
        self._console = process.stdout.fileno()
        self._poll = select.poll()
        self._poll.register(self._from_device, select.POLLIN)
        self._poll.register(self._console, select.POLLIN)
        return process

    def _read_report(self) -> dict[str, object]:
        head = self._read_bytes(_REPORT.size, _START_S)
        text = self._read_bytes(_REPORT.unpack(head)[0], _START_S)
        report: dict[str, object] = json.loads(text)
        return report

    def send(self, record: bytes) -> None:
        """Hand over one record with its wire bytes. Raises FirmwareDied."""
        try:
            os.write(self._to_device, record)
        except BrokenPipeError:
            raise self._death("ended") from None

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """The answer to the last record, and wire bytes to the host. Raises FirmwareDied."""
        data = self._pending or self._read_some(HANG_S)
        while len(data) < _TO_PLANT.size:
            data += self._read_some(HANG_S)
        fields = _TO_PLANT.unpack_from(data)
        end = _TO_PLANT.size + fields[ex.WIRE_OUT_BYTES]
        while len(data) < end:
            data += self._read_some(HANG_S)
        self._pending = data[end:]
        return fields, data[_TO_PLANT.size : end]

    def _read_bytes(self, count: int, wait_s: float) -> bytes:
        while len(self._pending) < count:
            self._pending += self._read_some(wait_s)
        data, self._pending = self._pending[:count], self._pending[count:]
        return data

    def _read_some(self, wait_s: float) -> bytes:
        """Some bytes of the exchange; console text that comes meanwhile is passed on."""
        deadline_s = time.monotonic() + wait_s
        while True:
            ready = self._poll.poll(wait_s * 1000)
            for fd, _ in ready:
                if fd == self._from_device:
                    data = os.read(fd, _CHUNK)
                    if not data:
                        raise self._death("ended")
                    return data
                self._pass_console()
            if time.monotonic() > deadline_s:
                raise self._death(f"hung for {wait_s:g} s")

    def _pass_console(self) -> bool:
        text = os.read(self._console, _CHUNK)
        if text:
            self._on_console(text)
        else:
            self._poll.unregister(self._console)
        return bool(text)

    def _death(self, words: str) -> FirmwareDied:
        """Kill what is left, pass on its last words, and give the error to raise."""
        self._process.kill()
        self._process.wait()
        with contextlib.suppress(KeyError):
            while self._pass_console():
                pass
        return FirmwareDied(words)

    def close(self) -> None:
        """End the process and close every descriptor. May be called again."""
        if self._process.stdout is None or self._process.stdout.closed:
            return
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()
        os.close(self._to_device)
        os.close(self._from_device)
