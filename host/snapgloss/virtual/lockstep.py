"""One tick of the virtual rig: person, sensors, firmware, drive, plant, in simulated time.

No wall clock, thread or cable here. The plant stands still until the first press of start, or
until something drives it or goes wrong: the person sets the bowl on the plate as they press. So
how long a host took to ask for the start changes nothing, and the same seed gives the same batch
at any speed.
"""

import struct
from typing import Protocol

from snapgloss.virtual import exchange as ex
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.cup import Cup
from snapgloss.virtual.device import FirmwareDied
from snapgloss.virtual.faults import FaultPlan, Panel
from snapgloss.virtual.handling import Hands
from snapgloss.virtual.person import BATCH, WORKING, Person, Seen
from snapgloss.virtual.plant import Drive, Plant

WATCHDOG_MS = 2000
"""Simulated time without a kick after which the board's watchdog bites (as on the real board)."""

ENABLE_HOLDS_MS = 1000
"""The enable relay falls this long after the last edge of its pin, whichever way it went. Own
choice: what SAFETY.md promises; the guide's driver lets it fall after 0.52 to 0.72 s."""

RESTART_MS = 2000
"""From the watchdog's bite to the first loop: all outputs off, pads pulled down."""

_TICK_S = ex.TICK_MS / 1000
_RECORD = struct.Struct(ex.TO_DEVICE_FORMAT)
_OFF = Drive(enable=False)
_NOTHING_SEEN = Seen(-1, 0, 0)


class Firmware(Protocol):
    """The other end of the exchange: a Device, or a stand-in of a test."""

    def send(self, record: bytes) -> None:
        """Hand over one record with its wire bytes."""
        ...

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """Return the answer's fields, and the wire bytes to the host."""
        ...


class Lockstep:
    """The simulated world around one firmware.

    `.at_ms` is simulated time since power on, whatever restarts there were; `.in_batch` says
    whether the rig shows a state of a batch; `.shown` is the last answer, the display's figures in
    it; `.waiting_bytes` counts wire bytes that the firmware has not read.
    """

    def __init__(
        self,
        plant: Plant,
        conversion: Conversion,
        person: Person,
        panel: Panel,
        faults: FaultPlan,
        hands: Hands | None = None,
    ) -> None:
        self.plant = plant
        self.person = person
        self.panel = panel
        self.faults = faults
        self.hands = hands or Hands((), plant)
        self.at_ms = 0
        self.shown: tuple[int, ...] = (0,) * len(ex.TO_PLANT)
        self.waiting_bytes = 0
        cold_c = plant.setup.cold_c
        self.cup = None if cold_c is None else Cup(plant, cold_c)
        self._conversion = conversion
        self._seen = _NOTHING_SEEN
        self._driven = _OFF
        self._moving = False
        self.power_on()

    @property
    def in_batch(self) -> bool:
        """True while the display shows a state of a batch."""
        return self._seen.state_no in BATCH

    def power_on(self) -> None:
        """A boot of the firmware: its clock starts at 0, the relay has seen no edge."""
        self._boot_at_ms = self.at_ms
        self._kicked_at_ms = self.at_ms
        self._edge_at_ms = self.at_ms - ENABLE_HOLDS_MS
        self._edge = 0
        self._seen = _NOTHING_SEEN
        self._conversion.restart()
        self.waiting_bytes = 0

    def in_the_dark(self) -> None:
        """One tick of a power cut: hands and hazards go on, every output is off."""
        self._happen()
        self._move(_OFF)

    def without_firmware(self) -> None:
        """Let RESTART_MS pass with every output off, to a whole second."""
        until_ms = self.at_ms + RESTART_MS
        while self.at_ms < until_ms:
            self._move(_OFF)
        self.whole_second()

    def whole_second(self) -> None:
        """Let time pass with every output off until a boot may begin."""
        while self.at_ms % 1000:
            self._move(_OFF)

    def tick(self, firmware: Firmware, wire_in: bytes, room_bytes: int) -> bytes:
        """One loop of the firmware and one step of the plant; gives wire bytes to the host.

        Raises FirmwareDied; the plant has not moved then.
        """
        firmware.send(self._record(wire_in, room_bytes))
        answer, wire_out = firmware.receive()
        self._judge_watchdog(answer[ex.OUTPUTS])
        drive = self._drive(answer)
        if (
            answer[ex.STATE_NO] != self._seen.state_no
            or answer[ex.PROMPT_NO] != self._seen.prompt_no
            or answer[ex.SHOWN_VALUE] != self._seen.value
        ):
            self._seen = Seen(answer[ex.STATE_NO], answer[ex.PROMPT_NO], answer[ex.SHOWN_VALUE])
        self.shown = answer
        self.waiting_bytes = answer[ex.WAITING_BYTES]
        self._move(drive)
        return wire_out

    def _record(self, wire_in: bytes, room_bytes: int) -> bytes:
        at_ms = self.at_ms
        self.person.busy = self.hands.busy
        self.person.act(at_ms, self._seen, self.plant)
        self._happen()
        pressed_at_ms = self.person.pressed_at_ms
        sample_c = None if self.cup is None else self.cup.probe_c
        self._conversion.step(at_ms, pressed_at_ms, self.plant, sample_c)
        temperatures = self._conversion.latest
        boot_at_ms = self._boot_at_ms
        stamp_ms = max(0, self._conversion.begun_at_ms - boot_at_ms) % ex.TICKS_PERIOD
        record = _RECORD.pack(
            (at_ms - boot_at_ms) % ex.TICKS_PERIOD,
            temperatures.product_mc,
            stamp_ms,
            temperatures.plate_mc,
            stamp_ms,
            temperatures.room_mc,
            stamp_ms,
            temperatures.sample_mc,
            self._inputs(),
            room_bytes,
            len(wire_in),
        )
        return record + wire_in

    def _happen(self) -> None:
        """Hazards and hands that are due."""
        pressed_at_ms = self.person.pressed_at_ms
        if pressed_at_ms is not None:
            since_s = (self.at_ms - pressed_at_ms) / 1000
            self.faults.apply(since_s)
            self.hands.act(since_s)
        if self.cup is not None:
            state_no = self._seen.state_no
            self.cup.attend(self.at_ms, state_no == WORKING, 0 <= state_no not in BATCH)

    def _inputs(self) -> int:
        panel, hands = self.panel, self.hands
        bits = 0 if panel.bowl_lifted or hands.bowl_off else ex.BOWL_PRESENT
        if self.person.start_down or panel.start_stuck:
            bits |= ex.START_DOWN
        if panel.stop_open or self.person.stop_down:
            bits |= ex.STOP_OPEN
        if panel.pedal_down or hands.pedal_down:
            bits |= ex.PEDAL_DOWN
        if self.plant.stirrer.is_turning:
            bits |= ex.STIR_TURNING
        if self._is_heater_live():
            bits |= ex.HEATER_LIVE
        return bits

    def _is_heater_live(self) -> bool:
        """Whether the heater's node is under voltage."""
        faults, driven = self.plant.faults, self._driven
        closed = driven.enable or faults.enable_welded
        return closed and (driven.heat > 0.0 or faults.heater_shorted)

    def _judge_watchdog(self, outputs: int) -> None:
        if outputs & ex.KICKED:
            self._kicked_at_ms = self.at_ms
        elif self.at_ms - self._kicked_at_ms >= WATCHDOG_MS:
            raise FirmwareDied("did not feed its watchdog")

    def _drive(self, answer: tuple[int, ...]) -> Drive:
        """What the pins do: heat needs its own pin and an edge train on the other."""
        outputs = answer[ex.OUTPUTS]
        edge = outputs & ex.ENABLE_EDGE
        if edge != self._edge:
            self._edge, self._edge_at_ms = edge, self.at_ms
        enabled = self.at_ms - self._edge_at_ms < ENABLE_HOLDS_MS
        heat = 1.0 if outputs & ex.HEAT_ON else 0.0
        fan, stir = answer[ex.FAN_PERMILLE] / 1000, answer[ex.STIR_PERMILLE] / 1000
        return Drive(heat, fan, stir, enabled)

    def _move(self, drive: Drive) -> None:
        self.at_ms += ex.TICK_MS
        self._driven = drive
        if not self._moving:
            pressed = self.person.pressed_at_ms is not None
            driven = drive.heat > 0 or drive.fan > 0 or drive.stir > 0
            self._moving = pressed or driven or self.faults.begun or self.person.at_work
        if self._moving:
            self.plant.advance(_TICK_S, drive)
            if self.cup is not None:
                self.cup.advance(_TICK_S)
