"""A minimal host for tests and benches of the virtual rig: one port, no threads, no store."""

import os
import select
import time
from typing import Any

from rigwire import messages
from rigwire.reader import FrameReader
from rigwire.schedule import Schedule, Step, digest, to_body
from rigwire.states import STATES

ANSWER_WITHIN_S = 5.0
SILENT_FOR_S = 10.0
PART_BYTES = 80

SEEDED_DARK = Schedule(
    "Lantern 72",
    "seeded",
    "solid",
    2000,
    55_000,
    (
        Step("melt", 48_000, 300, 3000, 60_000, 1, 300, 0),
        Step("rest", 48_000, 600, 3000, 60_000, 0, 0, 0),
        Step("cool", 33_500, 0, 3000, 34_000, 0, 0, 0),
        Step("seed", 33_500, 300, 1000, 34_000, 2, 600, 120),
        Step("cool", 31_500, 0, 1000, 34_000, 0, 0, 0),
        Step("work", 31_500, 2700, 1000, 34_000, 3, 0, 0),
    ),
)
"""2 kg of dark chocolate from set blocks, with 45 minutes to pour."""


class Client:
    """Requests, and every push in order. A context manager."""

    def __init__(self, port: str) -> None:
        self._fd = os.open(port, os.O_RDWR | os.O_NOCTTY)
        self._frames = FrameReader()
        self._number = 0
        self.messages: list[Any] = []
        self.text = b""

    def __enter__(self) -> "Client":
        return self

    def __exit__(self, *_: object) -> None:
        os.close(self._fd)

    def _on_frame(self, array: list[Any], _line: bytes) -> None:
        self.messages.append(messages.parse(array, messages.TO_HOST, True))

    def _on_text(self, text: bytes) -> None:
        self.text += text

    def pump(self, wait_s: float) -> bool:
        """Take what has come within `wait_s`; False when nothing has."""
        if not select.select([self._fd], [], [], wait_s)[0]:
            return False
        self._frames.feed(os.read(self._fd, 4096), self._on_frame, self._on_text)
        return True

    def send_raw(self, data: bytes) -> None:
        """Write bytes as they are."""
        os.write(self._fd, data)

    def ask(self, name: str, *values: Any) -> Any:
        """Send one request and return its answer, within ANSWER_WITHIN_S."""
        self._number += 1
        number = self._number + 1_000_000  # apart from the sequence numbers of pushes
        self.send_raw(messages.encode(name, number, values))
        deadline_s = time.monotonic() + ANSWER_WITHIN_S
        while time.monotonic() < deadline_s:
            self.pump(0.1)
            for message in self.messages[-20:]:
                if message.number == number:
                    return message
        raise AssertionError(f"no answer to {name} within {ANSWER_WITHIN_S} s")

    def start(self, schedule: Schedule = SEEDED_DARK) -> None:
        """Greet, load and ask for the start; the simulated person presses."""
        body = to_body(schedule)
        asked = digest(body)
        assert self.ask("hello", 1, 0, "test").name == "hello_is"
        assert self.ask("load_open", len(body), asked).name == "ok"
        for at in range(0, len(body), PART_BYTES):
            assert self.ask("load_part", at, body[at : at + PART_BYTES].decode()).name == "ok"
        assert self.ask("load_done", asked).name == "held"
        assert self.ask("ask_start", asked).name == "ok"

    def until_state(self, *states: str) -> str:
        """Take pushes until the newest state is one of `states`; fails on silence."""
        seen = 0
        while True:
            for message in self.messages[seen:]:
                if message.name == "event" and message.get("kind") == "state":
                    state: str = STATES[message.get("a")]
                    if state in states:
                        return state
            seen = len(self.messages)
            if not self.pump(SILENT_FOR_S):
                raise AssertionError(f"the rig was silent; it said {self.text[-500:]!r}")

    def rows(self, name: str) -> list[Any]:
        """All messages of that name."""
        return [message for message in self.messages if message.name == name]
