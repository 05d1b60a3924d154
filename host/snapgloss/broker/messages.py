"""What a broker is told: topics and payloads, stated in host/docs/broker.md."""

import json
from typing import NamedTuple

from snapgloss.base.records import Event, Identity, Reading

FORMAT = 1
"""Raised when a payload changes its meaning; a new key does not."""
_IN_TOPICS = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.")


class Message(NamedTuple):
    """One message. A kept one is what the broker tells whoever asks later: the newest counts."""

    topic: str
    payload: bytes
    is_kept: bool = False


def level(name: str) -> str:
    """A name as one level of a topic."""
    return "".join(c if c in _IN_TOPICS else "_" for c in name) or "_"


def host_message(prefix: str, host: str, is_there: bool) -> Message:
    """Whether a host is there; the broker says so itself when the host is cut off."""
    return _message(f"{prefix}/hosts/{level(host)}", {"is_there": is_there}, is_kept=True)


def reading_message(prefix: str, there: Identity, reading: Reading) -> Message:
    """One reading, with the key under which the record has it."""
    return _message(_topic(prefix, there, "reading"), {**_key(there), **reading._asdict()})


def event_message(prefix: str, there: Identity, event: Event) -> Message:
    """One event, likewise."""
    return _message(_topic(prefix, there, "event"), {**_key(there), **event._asdict()})


def state_message(prefix: str, host: str, there: Identity, reading: Reading) -> Message:
    """Where a rig is, and who says so; sent when state or step changes."""
    told = {
        **_key(there),
        "host": level(host),
        "firmware": there.firmware,
        "state": reading.state,
        "step_no": reading.step_no,
        "at_ms": reading.at_ms,
    }
    return _message(_topic(prefix, there, "state"), told, is_kept=True)


def _topic(prefix: str, there: Identity, what: str) -> str:
    return f"{prefix}/rigs/{level(there.board)}/{what}"


def _key(there: Identity) -> dict[str, object]:
    return {
        "board": there.board,
        "boot_nonce": there.boot_nonce,
        "simulated": there.simulated,
    }


def _message(topic: str, told: dict[str, object], is_kept: bool = False) -> Message:
    text = json.dumps({"format": FORMAT, **told}, ensure_ascii=False, separators=(",", ":"))
    return Message(topic, text.encode(), is_kept)
