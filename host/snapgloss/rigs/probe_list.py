"""The list of probes as the board keeps it: which probe has which role, with its calibration.

The text is that of the firmware (firmware/README.md, "Probes"); a test reads it with the
firmware's own reader.
"""

import re
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from rigfw.pinmap import GPIO, NAME, ROWS
from rigwire.frames import crc_hex
from snapgloss.base.errors import InputError

ROLES = ("chocolate", "plate", "room", "sample")
Role = Literal["chocolate", "plate", "room", "sample"]
KIND = re.compile(
    r"(ds18b20,28[0-9a-f]{14}|ntc,[1-3],\d+,\d+,\d+,\d+|ntc_beta,[1-3],\d+,\d+,\d+|"
    r"pt1000?,[12],\d+,[234],(50|60))"
)
BUS_GPIO = next(int(row[GPIO]) for row in ROWS if row[NAME] == "PROBES")
FAMILY = 0x28  # the first byte of every DS18B20's number (its data sheet)
EXAMPLE = "ds18b20,2801001a2b00005f"
MOST = 2000  # the board refuses more: 2 K off is a broken or a wrong probe


def on_bus(numbers: list[str]) -> list[str]:
    """What each device on the probes' bus is, as `--probe` wants it, or in words what is wrong."""
    return [_device(number) for number in numbers]


def _device(number: str) -> str:
    rom = bytes.fromhex(number)
    if len(rom) != 8 or _crc8(rom[:7]) != rom[7]:
        return f"{number}: garbled; look at the bus resistor and the cable"
    return f"ds18b20,{number}" if rom[0] == FAMILY else f"{number}: no DS18B20"


def _crc8(data: bytes) -> int:
    """CRC-8 of 1-wire devices: x^8 + x^5 + x^4 + 1, reflected, from 0 (their data sheet)."""
    crc = 0
    for value in data:
        crc ^= value
        for _ in range(8):
            crc = (crc >> 1) ^ (0x8C if crc & 1 else 0)
    return crc


class ProbeEntry(BaseModel):
    """One probe: `kind` with its values, then what calibration found.

    `offset_mk` is added to a reading in mK, and so are `slope_e5` hundred-thousandths of it in
    degC.
    """

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid")

    kind: Annotated[str, Field(min_length=5, max_length=80)]
    offset_mk: Annotated[int, Field(ge=-MOST, le=MOST)] = 0
    slope_e5: Annotated[int, Field(ge=-MOST, le=MOST)] = 0

    def text(self) -> str:
        """The role's part of the line."""
        return f"{self.kind},{self.offset_mk},{self.slope_e5}"


def entry(kind: str, offset_mk: int = 0, slope_e5: int = 0) -> ProbeEntry:
    """A probe, checked. Raises InputError."""
    if not KIND.fullmatch(kind):
        raise InputError(f'"{kind[:60]}" is no probe.', f"Write it like {EXAMPLE}.")
    try:
        return ProbeEntry(kind=kind, offset_mk=offset_mk, slope_e5=slope_e5)
    except ValidationError:
        raise InputError(
            "A calibration of more than 2 °C is that of a broken or a wrong probe.",
            "Check the bath, then change the probe.",
        ) from None


def line_of(probes: dict[str, ProbeEntry]) -> str:
    """The board's line for probes by role. Raises InputError without one for the chocolate."""
    if "chocolate" not in probes:
        raise InputError(
            "No probe is named for the chocolate.", f"Give --probe chocolate={EXAMPLE}."
        )
    unknown = set(probes) - set(ROLES)
    if unknown:
        raise InputError(f'No role is called "{min(unknown)}".', f"There are {', '.join(ROLES)}.")
    kinds = [one.kind for one in probes.values()]
    if len(set(kinds)) != len(kinds):
        raise InputError("Two roles have the same probe.", "Give each its own.")
    parts = [probes[role].text() if role in probes else "-" for role in ROLES]
    body = "|".join(["probes", "2", *parts])
    return f"{body}|{crc_hex(body.encode())}"


def read_line(line: str) -> dict[str, ProbeEntry] | None:
    """The probes of a board's line; None when it is missing, damaged or not one of ours."""
    parts = line.strip().split("|")
    if len(parts) != 7 or parts[:2] != ["probes", "2"]:
        return None
    if crc_hex("|".join(parts[:-1]).encode()) != parts[-1]:
        return None
    texts = {role: text for role, text in zip(ROLES, parts[2:6], strict=True) if text != "-"}
    try:
        return {role: _entry_of(text) for role, text in texts.items()}
    except (ValueError, InputError):
        return None


def _entry_of(text: str) -> ProbeEntry:
    kind, offset_mk, slope_e5 = text.rsplit(",", 2)
    return entry(kind, int(offset_mk), int(slope_e5))
