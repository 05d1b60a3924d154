"""The commands about ports and the virtual rig."""

from types import SimpleNamespace
from typing import Any

import pytest
from serial.tools import list_ports as system


def test_no_ports(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a port there is a hint; as JSON an empty list."""
    monkeypatch.setattr(system, "comports", list)
    assert call("ports").out.startswith("No USB serial port.")
    assert call("ports", "--json").value == []


def test_ports(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """One line a port; as JSON a list with the documented keys."""
    found = SimpleNamespace(device="/dev/ttyACM0", description="Board", vid=0x2E8A, pid=5)
    monkeypatch.setattr(system, "comports", lambda: [found])
    assert call("ports").out == "/dev/ttyACM0  2e8a:0005  Board\n"
    assert call("ports", "--json").value == [
        {"port": "/dev/ttyACM0", "description": "Board", "usb_id": "2e8a:0005"}
    ]


@pytest.mark.parametrize(
    "wish", [("--speed", "fast"), ("--fault", "dragon@3"), ("--mass", "2"), ("--room", "21")]
)
def test_a_virtual_rig_refuses_nonsense(call: Any, wish: tuple[str, str]) -> None:
    """What cannot be simulated is refused before anything starts."""
    answer = call("virtual", *wish)
    assert (answer.code, answer.out) == (2, "")
    assert "Traceback" not in answer.err
