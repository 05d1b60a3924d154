"""The edge-train driver: its netlist, run with the firmware's own edges, and its page.

The one-shot is modelled as its data sheet says: a rising edge at A fires while B is high, a
falling edge at B fires while A is low, and firing again while it holds starts the hold anew.
"""

from pathlib import Path

import pytest

from netlist import FOLDER, load
from rigfw import limits
from rigfw.config import RigConfig
from rigfw.drive import Drive
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.sizing_switches import (
    HOLD_FACTOR,
    HOLD_TOLERANCE,
    LATE_S,
    RELEASE_S,
    edge_train,
)

GUIDE = Path(__file__).parents[2] / "hardware"
PASS_S = limits.LOOP_MS / 1000
LEVELS = {"supply.a": 1, "ground.a": 0}


def hold_s(netlist, half):
    """Hold of a half by the parts that its wires hang on it: 0.7 R C."""
    values = {}
    for key, part in netlist.parts.items():
        if f"{key}.a" in netlist.net(f"chip.rc{half}") or f"{key}.b" in netlist.net(
            f"chip.rc{half}"
        ):
            values[part["kind"]] = part.get("ohm") or part.get("farad")
    return HOLD_FACTOR * values["resistor"] * values["capacitor"]


class Driver:
    """The chip as it is wired. `spread` is how far its holds are off; `closed(at_s)` the relay."""

    def __init__(self, netlist, spread=0.0):
        self._netlist = netlist
        self._hold = {half: hold_s(netlist, half) * (1 + spread) for half in (1, 2)}
        self._until = {1: -1.0, 2: -1.0}
        self._enable = 0
        assert "r_gate.a" in netlist.net("chip.q1")
        assert {"fet.drain"} < netlist.net("out.a")

    def _level(self, leg, enable, pulse):
        """Level of an input: the supply's, ENABLE's, or the second half's inverted output."""
        net = self._netlist.net(f"chip.{leg}")
        found = [level for end, level in LEVELS.items() if end in net]
        found += [enable] if "in.a" in net else []
        found += [1 - pulse] if "chip.nq2" in net else []
        (level,) = found
        return level

    def _fire(self, half, at_s, before, after):
        legs = f"a{half}", f"b{half}", f"reset{half}"
        (a, b, _), (a_now, b_now, reset) = (
            [self._level(leg, *state) for leg in legs] for state in (before, after)
        )
        fires = (a < a_now and b_now and b) or (b > b_now and not a_now and not a)
        if fires and reset:
            self._until[half] = at_s + self._hold[half]
        return bool(fires)

    def set(self, at_s, enable):
        """ENABLE at a level from that time on."""
        before, after = (self._enable, 0), (enable, 0)
        self._enable = enable
        self._fire(1, at_s, before, after)
        if self._fire(2, at_s, before, after):
            self._fire(1, at_s, (enable, 0), (enable, 1))

    def closed(self, at_s):
        """Whether the relay's coil has current."""
        return at_s < self._until[1]


def run(netlist, lost, spread=0.0, late_s=0.0, passes=40):
    """Times at which the relay is open between the firmware's first edge and its last.

    `lost` passes do not happen, in the middle; the next one comes `late_s` too late.
    """
    driver, firmware = Driver(netlist, spread), Drive(config(), None)
    opened = []
    for number in range(passes):
        at_s = number * PASS_S
        if 20 <= number < 20 + lost:
            continue
        if number == 20 + lost:
            at_s += late_s
        if number and not driver.closed(at_s):
            opened.append(round(at_s, 3))
        firmware.power(0, 0, 1, limits.LOOP_MS)
        driver.set(at_s, firmware.outputs.enable_edge)
    return opened


def config():
    """The built-in rig as its board has it."""
    return RigConfig.from_text(BENCH_RIG.to_config_text())


@pytest.fixture(scope="module")
def driver():
    """The netlist of the driver."""
    return load("edge-driver")


@pytest.mark.parametrize("spread", [-HOLD_TOLERANCE, 0.0, HOLD_TOLERANCE])
def test_with_every_part_at_its_worst_one_lost_pass_holds_and_two_drop(driver, spread):
    """None lost: closed all the time. One, and the next 20 ms late: closed. Two in a row: open."""
    assert run(driver, 0, spread) == []
    assert run(driver, 1, spread, LATE_S) == []
    assert run(driver, 2, spread) == [22 * PASS_S]
    assert 3 * PASS_S - hold_s(driver, 1) * (1 + spread) >= RELEASE_S  # time to let go


@pytest.mark.parametrize("level", [0, 1])
def test_a_pin_that_stands_still_lets_the_relay_fall(driver, level):
    """High or low: within a second of the last edge, and for good."""
    made = Driver(driver, HOLD_TOLERANCE)
    made.set(0.0, 1 - level)
    made.set(0.25, level)
    assert made.closed(0.25)
    assert not made.closed(1.0)
    assert not made.closed(1000.0)


def test_each_edge_counts(driver):
    """A rising edge holds, and so does a falling one, half a second later."""
    made = Driver(driver)
    made.set(0.0, 1)
    assert (made.closed(0.6), made.closed(0.7)) == (True, False)
    made.set(10.0, 0)
    assert (made.closed(10.6), made.closed(10.7)) == (True, False)


def test_a_driver_that_counts_rising_edges_alone_is_found(tmp_path):
    """B1 at 3.3 V: every second edge is lost, and one lost pass drops the relay."""
    text = (FOLDER / "edge-driver.toml").read_text(encoding="utf-8")
    wire = 'from = "chip.nq2", to = "chip.b1"'
    assert wire in text
    one_edge = text.replace(wire, 'from = "supply.a", to = "chip.b1"')
    (tmp_path / "edge-driver.toml").write_text(one_edge, encoding="utf-8")
    assert run(load("edge-driver", tmp_path), 1) != []


def test_the_short_pulse_is_over_before_the_next_pass(driver):
    """0.7 x 10 kohm x 10 nF = 70 µs."""
    assert hold_s(driver, 2) == pytest.approx(70e-6)


def test_the_netlist_has_the_reckoned_resistor(driver):
    """887 kohm and 1 µF: 0.62 s, 0.52 to 0.72 s with all tolerances."""
    hold = edge_train()
    assert hold_s(driver, 1) == pytest.approx(hold.usual_s)
    assert driver.parts["r_hold"]["ohm"] == pytest.approx(hold.ohm)
    page = (GUIDE / "edge-driver.md").read_text(encoding="utf-8")
    assert f"{hold.usual_s:.2f} s, {hold.least_s:.2f} to {hold.most_s:.2f} s" in page


def test_every_leg_that_may_not_hang_is_wired(driver):
    """Inputs, timing legs and supply; only Q2 and the first inverted output are open."""
    wired = {end for wire in driver.wires for end in wire[:2] if end.startswith("chip.")}
    from netlist import CHIP_LEGS

    assert {f"chip.{leg}" for leg in CHIP_LEGS} - wired == {"chip.q2", "chip.nq1"}
