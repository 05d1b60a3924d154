"""The ports a rig may be on, as the system lists them."""

from typing import NamedTuple


class PortRow(NamedTuple):
    """One serial port: its name, what USB says of it, and the USB ids as `2e8a:0005`."""

    port: str
    description: str
    usb_id: str


def list_ports() -> list[PortRow]:
    """Return the serial ports that are USB devices, sorted by name.

    Ports without USB ids are left out: boards come over USB, and systems list phantom ports.
    """
    from serial.tools import list_ports as system

    rows = [
        PortRow(
            found.device, found.description or "USB serial", f"{found.vid:04x}:{found.pid:04x}"
        )
        for found in system.comports()
        if found.vid is not None and found.pid is not None
    ]
    return sorted(rows)
