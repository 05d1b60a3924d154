"""The simulated world around a scripted firmware: no interpreter, no port, no wall clock."""

import struct

import pytest

from rigwire.messages import MISSING_MC
from rigwire.states import STATES
from snapgloss.virtual import exchange as ex
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.device import FirmwareDied
from snapgloss.virtual.faults import FaultPlan, Panel, parse_fault
from snapgloss.virtual.lockstep import ENABLE_HOLDS_MS, WATCHDOG_MS, Lockstep
from snapgloss.virtual.person import Person
from snapgloss.virtual.plant import Plant, PlantSetup

OFF, READY, MELTING = (STATES.index(state) for state in ("off", "ready", "melting"))
RECORD = struct.Struct(ex.TO_DEVICE_FORMAT)


class Script:
    """A firmware whose outputs the test sets; keeps every record it was sent."""

    def __init__(self) -> None:
        self.records: list[tuple[int, ...]] = []
        self.wire_in = b""
        self.state_no = OFF
        self.heat = False
        self.edges = True
        self.kicks = True
        self._edge = 0

    def send(self, record: bytes) -> None:
        """Take a record."""
        self.records.append(RECORD.unpack_from(record))
        self.wire_in += record[RECORD.size :]

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """Answer as set; a press of start in `ready` begins a batch."""
        if self.state_no == READY and self.records[-1][ex.INPUTS] & ex.START_DOWN:
            self.state_no = MELTING
        if self.edges:
            self._edge ^= ex.ENABLE_EDGE
        outputs = self._edge | (ex.HEAT_ON if self.heat else 0) | (ex.KICKED if self.kicks else 0)
        fields = [0] * len(ex.TO_PLANT)
        fields[ex.OUTPUTS] = outputs
        fields[ex.STATE_NO] = self.state_no
        return tuple(fields), b""

    def column(self, field: int) -> list[int]:
        """One field of every record."""
        return [record[field] for record in self.records]


def world(setup: PlantSetup, *faults: str) -> Lockstep:
    """A world at power on."""
    plant, panel = Plant(setup), Panel()
    plan = FaultPlan([parse_fault(text) for text in faults], (plant.faults, panel))
    return Lockstep(plant, Conversion(setup.seed), Person(setup.mass_g), panel, plan)


def run(lockstep: Lockstep, script: Script, seconds: float) -> None:
    """Tick for that much simulated time."""
    for _ in range(round(seconds * 1000 / ex.TICK_MS)):
        lockstep.tick(script, b"", 256)


def test_field_numbers_match_the_field_names() -> None:
    """Each index constant is the place of its name in the record."""
    to_device = (
        ex.NOW_MS,
        ex.PRODUCT_MC,
        ex.PRODUCT_AT_MS,
        ex.PLATE_MC,
        ex.PLATE_AT_MS,
        ex.ROOM_MC,
        ex.ROOM_AT_MS,
        ex.SAMPLE_MC,
        ex.INPUTS,
        ex.ROOM_BYTES,
        ex.WIRE_IN_BYTES,
    )
    assert to_device == tuple(range(len(ex.TO_DEVICE)))
    assert ex.TO_DEVICE[ex.WIRE_IN_BYTES] == "wire_bytes"
    assert ex.TO_PLANT[ex.STATE_NO] == "state_no"
    assert ex.TO_PLANT[ex.LAMP] == "lamp"
    assert ex.TO_PLANT[ex.WAITING_BYTES] == "waiting_bytes"
    assert len(ex.TO_PLANT) - 1 == ex.WIRE_OUT_BYTES


def test_a_conversion_is_read_750_ms_after_it_began() -> None:
    """Missing until 750 ms, then the value with the stamp of its begin, renewed every second."""
    lockstep, script = world(PlantSetup()), Script()
    run(lockstep, script, 3)
    assert script.column(ex.PRODUCT_MC)[:4] == [MISSING_MC, MISSING_MC, MISSING_MC, 21_000]
    assert script.column(ex.NOW_MS)[3:8] == [750, 1000, 1250, 1500, 1750]
    assert script.column(ex.PRODUCT_AT_MS)[3:8] == [0, 0, 0, 0, 1000]
    assert script.column(ex.ROOM_MC)[3] == 21_000


def test_the_bowl_stands_still_until_the_press() -> None:
    """A warm bowl does not cool while nobody has started; from the press on it does."""
    lockstep, script = world(PlantSetup(start_c=34.0, solid=False)), Script()
    run(lockstep, script, 600)
    assert lockstep.plant.product_c == 34.0 and lockstep.plant.at_s == 0.0
    script.state_no = READY
    run(lockstep, script, 600)
    pressed_at_ms = lockstep.person.pressed_at_ms
    assert pressed_at_ms is not None and 620_000 <= pressed_at_ms <= 622_000
    assert lockstep.plant.at_s == (lockstep.at_ms - pressed_at_ms) / 1000
    assert lockstep.plant.product_c < 33.9


def test_firmware_that_heats_unasked_moves_the_plant() -> None:
    """Heat without a press is not hidden by the standing bowl."""
    lockstep, script = world(PlantSetup()), Script()
    script.heat = True
    run(lockstep, script, 60)
    assert lockstep.plant.plate_c > 23.0


def test_no_edges_no_heat() -> None:
    """A frozen enable pin opens the relay within ENABLE_HOLDS_MS, whatever the duty pin does."""
    lockstep, script = world(PlantSetup()), Script()
    script.heat = True
    run(lockstep, script, 60)
    script.edges = False
    run(lockstep, script, ENABLE_HOLDS_MS / 1000)
    supplied_j = lockstep.plant.ledger.supplied_j
    run(lockstep, script, 60)
    assert lockstep.plant.ledger.supplied_j == supplied_j > 0


def test_a_watchdog_that_is_not_fed_bites_in_two_seconds() -> None:
    """The last kick at 9.75 s; the record of 11.75 s is the last one."""
    lockstep, script = world(PlantSetup()), Script()
    run(lockstep, script, 10)
    script.kicks = False
    with pytest.raises(FirmwareDied, match="watchdog"):
        run(lockstep, script, 10)
    assert script.records[-1][ex.NOW_MS] == 9_750 + WATCHDOG_MS


def test_a_restart_lets_the_plant_cool_and_the_clock_begin_again() -> None:
    """Outputs are off meanwhile; the new boot begins at a whole second with its own 0 ms."""
    lockstep, script = world(PlantSetup()), Script()
    script.heat = True
    run(lockstep, script, 60.25)
    supplied_j = lockstep.plant.ledger.supplied_j
    lockstep.without_firmware()
    lockstep.power_on()
    assert lockstep.plant.ledger.supplied_j == supplied_j
    assert lockstep.at_ms == 63_000
    script.heat = False
    run(lockstep, script, 1)
    assert script.records[-4][ex.NOW_MS] == 0
    assert script.records[-4][ex.PRODUCT_MC] == MISSING_MC
    assert script.records[-1][ex.PRODUCT_MC] != MISSING_MC


def readings_since_press(wait_s: float, seed: int) -> list[tuple[int, ...]]:
    """All temperatures of a batch whose window opened after `wait_s`, from the press on."""
    lockstep, script = world(PlantSetup(seed=seed)), Script()
    run(lockstep, script, wait_s)
    script.state_no = READY
    run(lockstep, script, 30)
    script.heat = True
    run(lockstep, script, 900 - (wait_s % 1))
    pressed = [bool(record[ex.INPUTS] & ex.START_DOWN) for record in script.records].index(True)
    rows = script.records[pressed + 4 : pressed + 3000]
    return [(row[ex.PRODUCT_MC], row[ex.PLATE_MC], row[ex.ROOM_MC]) for row in rows]


def test_how_long_the_host_waited_changes_nothing_but_the_seed_does() -> None:
    """The same seed: the same rows after 3 s and after 3 h of waiting; another: others."""
    first = readings_since_press(3, seed=7)
    assert first == readings_since_press(10_800, seed=7)
    assert first != readings_since_press(3, seed=8)
    assert len(set(first)) > 100


def test_hazards_count_from_the_press() -> None:
    """A probe that fails 100 s after the press is missing in the next conversion, not before."""
    lockstep, script = world(PlantSetup(), "probe_missing@100"), Script()
    script.state_no = READY
    run(lockstep, script, 200)
    missing = [row[ex.NOW_MS] for row in script.records if row[ex.PRODUCT_MC] == MISSING_MC]
    pressed_at_ms = lockstep.person.pressed_at_ms
    assert pressed_at_ms is not None
    assert missing[3] == pressed_at_ms + 100_000 + 750


def test_wire_bytes_go_in_behind_the_record() -> None:
    """Their count stands in the record."""
    lockstep, script = world(PlantSetup()), Script()
    lockstep.tick(script, b"abc", 128)
    assert script.wire_in == b"abc"
    assert script.records[0][ex.WIRE_IN_BYTES] == 3
    assert script.records[0][ex.ROOM_BYTES] == 128


def test_contacts_of_the_panel_reach_the_firmware() -> None:
    """Stuck start, open stop loop, lifted bowl and pedal are the bits of `inputs`."""
    lockstep, script = world(PlantSetup()), Script()
    run(lockstep, script, 0.25)
    panel = lockstep.panel
    panel.start_stuck = panel.stop_open = panel.bowl_lifted = panel.pedal_down = True
    run(lockstep, script, 0.25)
    assert script.column(ex.INPUTS) == [
        ex.BOWL_PRESENT,
        ex.START_DOWN | ex.STOP_OPEN | ex.PEDAL_DOWN,
    ]
