"""The firmware in this process, behind the records of the virtual rig, and what the host sends."""

import io
import struct
import sys
from array import array
from collections import deque
from typing import Any

from rigwire import messages
from rigwire.reader import FrameReader
from rigwire.schedule import Schedule, digest, to_body
from snapgloss.virtual import exchange as ex
from snapgloss.virtual.plant import Drive, Plant, PlantSetup

# The composition root finds the exchange beside itself where it is staged; here it is a module.
sys.modules.setdefault("exchange", ex)
from snapgloss.virtual import device_main  # noqa: E402

TO_DEVICE_BYTES = struct.calcsize(ex.TO_DEVICE_FORMAT)
PART_CHARACTERS = 80


class InProcess:
    """One boot of the firmware on this Python; a Firmware of the lockstep."""

    def __init__(self, config_text: str, board_id: str) -> None:
        self._record = array("i", [0] * len(ex.TO_DEVICE))
        self._answer = array("i", [0] * len(ex.TO_PLANT))
        boot = {"board_id": board_id, "boot_nonce": 1, "reset_cause": 1, "keep": ""}
        self._board = device_main.Board(self._record, self._answer, boot)
        self.faults_met: list[str] = []
        self._app = device_main.new_app(self._board, config_text, device_main.Clock(self._record))
        self._app._on_fault = lambda fault: self.faults_met.append(repr(fault))
        self._wire = b""

    def send(self, record: bytes) -> None:
        """Hand over one record with its wire bytes."""
        self._record[:] = array("i", record[:TO_DEVICE_BYTES])
        self._wire = record[TO_DEVICE_BYTES:]

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """One pass of the firmware's loop."""
        record, answer, port = self._record, self._answer, self._board.port
        port.receive(io.BytesIO(self._wire), record[ex.WIRE_IN_BYTES])
        answer[ex.OUTPUTS] &= ~ex.KICKED
        self._app.loop(record[ex.NOW_MS])
        answer[ex.AT_MS] = record[ex.NOW_MS]
        answer[ex.WAITING_BYTES] = port.unread()
        answer[ex.WIRE_OUT_BYTES] = port.out_bytes
        return tuple(answer), bytes(port.outbox[: port.out_bytes])

    def close(self) -> None:
        """Nothing to end."""


class WatchedPlant(Plant):
    """A plant that remembers how it is driven."""

    __slots__ = ("drive",)

    def __init__(self, setup: PlantSetup) -> None:
        super().__init__(setup)
        self.drive = Drive(enable=False)

    def advance(self, dt_s: float, drive: Drive) -> None:
        """As the plant, with `.drive` kept for the witness."""
        self.drive = drive
        super().advance(dt_s, drive)


class HostTalk:
    """The host's side of the wire: upload, ask for the start, declare. Never waits."""

    def __init__(self, schedule: Schedule) -> None:
        self._number = 0
        self._frames: deque[bytes] = deque()
        self._heard = bytearray()
        body = to_body(schedule)
        name = digest(body)
        text = body.decode()
        self._put("hello", (messages.PROTOCOL_MAJOR, messages.PROTOCOL_MINOR, "campaign"))
        self._put("load_open", (len(body), name))
        for at in range(0, len(text), PART_CHARACTERS):
            self._put("load_part", (at, text[at : at + PART_CHARACTERS]))
        self._put("load_done", (name,))
        self._put("ask_start", (name,))

    def declare(self, addition_no: int, grams: int) -> None:
        """Tell the rig what goes in or out."""
        self._put("declare", (addition_no, grams))

    def _put(self, name: str, values: tuple[Any, ...]) -> None:
        self._number += 1
        self._frames.append(messages.encode(name, self._number, values))

    def next_frame(self, at_ms: int) -> bytes:
        """The next frame, one a second from the third on; b"" when there is none."""
        due = at_ms >= 3000 and at_ms % 1000 == 0
        return self._frames.popleft() if due and self._frames else b""

    def hear(self, wire_out: bytes) -> None:
        """What the rig sends, kept as it is."""
        self._heard += wire_out

    def events(self) -> list[Any]:
        """The events the rig pushed, in their order."""
        found: list[Any] = []

        def on_frame(fields: list[Any], _line: bytes) -> None:
            message = messages.parse(fields, messages.TO_HOST, True)
            if message.name in ("event", "no"):
                found.append(message)

        FrameReader().feed(bytes(self._heard), on_frame, lambda _text: None)
        return found
