"""The list of ports: USB only, by name."""

from types import SimpleNamespace

import pytest
from serial.tools import list_ports as system

from snapgloss.link.ports import PortRow, list_ports


def test_only_usb_ports_are_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A phantom port without USB ids is left out; the rest is sorted and described."""
    found = [
        SimpleNamespace(device="/dev/ttyS0", description="n/a", vid=None, pid=None),
        SimpleNamespace(device="/dev/ttyACM1", description=None, vid=0x2E8A, pid=0x0005),
        SimpleNamespace(device="/dev/ttyACM0", description="Board in FS mode", vid=1, pid=2),
    ]
    monkeypatch.setattr(system, "comports", lambda: found)
    assert list_ports() == [
        PortRow("/dev/ttyACM0", "Board in FS mode", "0001:0002"),
        PortRow("/dev/ttyACM1", "USB serial", "2e8a:0005"),
    ]
