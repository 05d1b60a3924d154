"""The wiring of every build, walked: what cuts the heater, what the cut-out shares, pull-downs.

"Reached" takes every switch, relay and contact for closed but those named: the worst that a hung
or mad program, and welded contacts, can do.
"""

import pytest

from netlist import BOARD_SUPPLIES, BUILDS, FOLDER, NetlistRefused, load
from rigfw.pinmap import AT_REST, NAME, ROWS, WAY
from snapgloss.rigs.sized import BUILDS as SIZED
from snapgloss.rigs.sizing import size
from snapgloss.rigs.sizing_figures import (
    OTHERS_LARGE_W,
    OTHERS_W,
    SMALL_SUPPLY_W,
    STIRRER_LARGE_W,
    STIRRER_W,
)
from snapgloss.rigs.sizing_switches import SENSE_OHM

BARRIERS = ("main_fuse", "stop_button", "lid", "heater_fuse", "cutout", "thermal_link",
            "enable_relay", "heater_switch")  # fmt: skip
PULL_DOWN_MOST_OHM = 10_000
GROUND, PLUS = "supply.minus", "supply.plus"

# Rated current against copper of flexible cords, "up to A": IEC 60335-1, the table of supply
# cords, as a pump's manual reprints it (0.5 mm2 to 3 A ... 4 mm2 to 32 A). 0.25 mm2: own choice.
CARRIES_A = {0.25: 1.0, 0.5: 3.0, 0.75: 6.0, 1.0: 10.0, 1.5: 16.0, 2.5: 25.0, 4.0: 32.0}


def resistors_at(netlist, terminal):
    """(ohm, terminals at the other end) of each resistor on the net of a terminal."""
    found = []
    for one in netlist.net(terminal):
        key, _, end = one.partition(".")
        part = netlist.parts[key]
        if part["kind"] == "resistor":
            other = f"{key}.{'b' if end == 'a' else 'a'}"
            found.append((part["ohm"], netlist.net(other)))
    return found


def test_all_closed_the_heater_has_current(build):
    """With everything closed plus reaches the heater, and its minus the supply's, unswitched."""
    assert "heater.plus" in build.reached(PLUS)
    assert "heater.minus" in build.net(GROUND)


@pytest.mark.parametrize("barrier", BARRIERS)
def test_each_barrier_alone_cuts_the_heater(build, barrier):
    """Fuses, stop, cut-out, link, relay, switch: any one of them open is enough."""
    assert "heater.plus" not in build.reached(PLUS, without=[barrier])


def test_plus_and_minus_never_meet(build):
    """No wire and no closed contact joins plus and minus."""
    assert GROUND not in build.reached(PLUS)


@pytest.mark.parametrize("load_plus", ["heater.plus", "motor.plus"])
def test_the_stop_loop_breaks_heater_and_stirrer_with_the_firmware_hung(build, load_plus):
    """Stop pressed or lid open, every output stuck on, the relay welded: no voltage."""
    for loop in ("stop_button", "lid"):
        poles = [key for key in build.of_kind("contact") if key.startswith(loop)]
        assert load_plus not in build.reached(PLUS, without=poles)


def test_the_stop_loop_takes_the_relays_coil_and_is_sensed(build):
    """With the loop open the coil has no supply, and STOP_LOOP's resistor none."""
    for loop in ("stop_button", "lid"):
        poles = [key for key in build.of_kind("contact") if key.startswith(loop)]
        dead = build.reached(PLUS, without=poles)
        assert "enable_relay.coil_plus" not in dead
        assert "stop_top.a" not in dead


def test_the_board_keeps_its_supply_when_the_loop_opens(build):
    """Somebody must still be told why: stop takes heat and stirrer, not the board."""
    assert "step_down.in" in build.reached(PLUS, without=build.of_kind("contact"))


def test_the_cut_out_shares_no_sensor_and_no_supply_with_the_firmware(build):
    """Two terminals, both in the heater's path; its own element; no wire to the board."""
    for key in ("cutout", "thermal_link"):
        assert build.parts[key]["senses"].startswith("its own")
        joined = (build.net(f"{key}.a") | build.net(f"{key}.b")) - {f"{key}.a", f"{key}.b"}
        allowed = {"heater_fuse", "cutout", "thermal_link", "enable_relay"}
        assert {one.partition(".")[0] for one in joined} <= allowed
    fed_by_heater_branch = build.reached(PLUS) - build.reached(PLUS, without=["heater_fuse"])
    assert not [one for one in fed_by_heater_branch if one.startswith(("board.", "probe_"))]


def test_the_cut_out_works_without_the_boards_supply(build):
    """The logic fuse blown: the cut-out is still in series with the heater, and still cuts it."""
    assert "heater.plus" in build.reached(PLUS, without=["logic_fuse"])
    assert "heater.plus" not in build.reached(PLUS, without=["logic_fuse", "cutout"])


@pytest.mark.parametrize("row", [row for row in ROWS if row[WAY] == "out"], ids=lambda r: r[NAME])
def test_every_output_has_its_pull_down(build, row):
    """Each output of the pin map has a resistor of at most 10 k to ground, and it says so."""
    to_ground = [ohm for ohm, far in resistors_at(build, f"board.{row[NAME]}") if GROUND in far]
    assert row[AT_REST] == "down"
    assert to_ground
    assert max(to_ground) <= PULL_DOWN_MOST_OHM


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[NAME])
def test_what_holds_a_line_at_rest_is_there(build, row):
    """ "up" has a resistor to 3.3 V; "divider" has a resistor; the chip's own pulls have none."""
    found = resistors_at(build, f"board.{row[NAME]}")
    if row[AT_REST] == "up":
        assert [ohm for ohm, far in found if "board.3V3" in far]
    elif row[AT_REST] == "divider":
        assert found
    elif row[AT_REST].startswith("inside"):
        assert found == []


def test_every_pin_of_the_map_is_wired_and_no_other(build):
    """The board's wired pins are the pin map's names and its supply pins."""
    wired = {one.partition(".")[2] for wire in build.wires for one in wire[:2]
             if one.startswith("board.")}  # fmt: skip
    assert wired == {row[NAME] for row in ROWS} | set(BOARD_SUPPLIES)


def test_no_two_pins_share_a_net(build):
    """No wire joins two GPIOs, or a GPIO to a supply pin."""
    for row in ROWS:
        others = [one for one in build.net(f"board.{row[NAME]}") if one.startswith("board.")]
        assert others == [f"board.{row[NAME]}"]


def test_the_power_side_meets_a_gpio_only_through_a_resistor(build):
    """What has 24 V, all closed, touches no pin of the board."""
    assert not [one for one in build.reached(PLUS) if one.startswith("board.")]
    for name in ("STOP_LOOP", "HEATER_SENSE"):
        clamps = [one for one in build.net(f"board.{name}") if one.endswith("_clamp.anode")]
        assert len(clamps) == 1, "no diode holds the pin near 3.3 V"
        assert clamps[0].replace("anode", "cathode") in build.net("board.3V3")


@pytest.mark.parametrize(("pin", "far"), [("STOP_LOOP", "lid.b"), ("HEATER_SENSE", "heater.plus")])
def test_the_senses_have_the_reckoned_divider(build, pin, far):
    """Upper resistor to what is sensed, lower to minus: values that the sizing reckons with."""
    found = resistors_at(build, f"board.{pin}")
    upper = [ohm for ohm, other in found if far in other]
    lower = [ohm for ohm, other in found if GROUND in other]
    assert (upper, lower) == ([SENSE_OHM[0]], [SENSE_OHM[1]])


def test_enable_reaches_the_relay_only_through_the_edge_driver(build):
    """The pin touches the driver's input and its pull-down; the coil the driver's output."""
    assert build.net("board.ENABLE") == {"board.ENABLE", "edge_driver.in", "r_enable.a"}
    assert "edge_driver.out" in build.net("enable_relay.coil_minus")
    assert "board.3V3" in build.net("edge_driver.supply")


def test_every_wire_carries_what_its_fuse_lets_through(build):
    """On each net behind a fuse, the thinnest wire carries the smallest fuse in series with it."""
    thin = []
    for wire in build.wires:
        fuses = [build.parts[key]["amp"] for key in build.in_series(wire.begin, "fuse")]
        if wire.begin in build.reached(PLUS) and fuses and CARRIES_A[wire.mm2] < min(fuses):
            thin.append((wire.begin, wire.end, wire.mm2, min(fuses)))
    assert thin == []


def test_the_minus_of_each_load_carries_what_its_fuse_lets_through(build):
    """The way back is as thick as the way there asks for."""
    for wire in build.wires:
        key, _, end = wire.begin.partition(".")
        if build.parts[key]["kind"] == "load" and end == "minus" and wire.end == GROUND:
            fuses = [build.parts[fuse]["amp"] for fuse in build.in_series(f"{key}.plus", "fuse")]
            assert CARRIES_A[wire.mm2] >= min(fuses), key


def test_before_the_main_fuse_a_wire_carries_what_the_supply_gives(build):
    """The only stretch without a fuse is short, and thick enough for all that the supply gives."""
    first = [wire for wire in build.wires if wire.begin == PLUS]
    assert [wire.end for wire in first] == ["main_fuse.a"]
    assert CARRIES_A[first[0].mm2] >= build.parts["supply"]["amp"]


def test_fuses_carry_their_loads_and_contacts_their_fuses(build):
    """Load current <= fuse <= DC rating of each contact, cut-out, relay, switch in series."""
    volts = build.head["supply_v"]
    for key in build.of_kind("load"):
        if key == "buzzer":
            continue
        amp = build.parts[key]["watt"] / volts
        fuses = [build.parts[fuse]["amp"] for fuse in build.in_series(f"{key}.plus", "fuse")]
        assert 1.2 * amp <= min(fuses), key
        for kind in ("contact", "cutout", "link", "relay", "switch"):
            for part in build.in_series(f"{key}.plus", kind):
                assert build.parts[part]["amp"] >= min(fuses), (key, part)


def test_the_supply_feeds_all_loads_at_once(build):
    """All loads, stirrer with lumps, relay and board together stay inside the supply's rating."""
    watts = sum(build.parts[key]["watt"] for key in build.of_kind("load")) + build.head["rest_w"]
    assert watts <= build.head["supply_w"]
    assert build.head["supply_w"] == build.head["supply_v"] * build.parts["supply"]["amp"]


@pytest.mark.parametrize(("name", "others_w"), [("bench", OTHERS_W), ("large", OTHERS_LARGE_W)])
def test_the_sizing_reckons_with_the_loads_of_the_wiring(name, others_w):
    """All but the heater and the buzzer, which draws from the board, and the rest."""
    build = load(name)
    loads = [key for key in build.of_kind("load") if key not in ("heater", "buzzer")]
    assert sum(build.parts[key]["watt"] for key in loads) + build.head["rest_w"] == others_w
    assert build.parts["motor"]["watt"] == {"bench": STIRRER_W, "large": STIRRER_LARGE_W}[name]


@pytest.mark.parametrize("name", ["bench", "pump"])
def test_the_recommended_supply_is_at_most_100_w_and_what_the_sizing_says(name):
    """4 A, 96 W; heater, heater fuse and wire are those that are sized, or the next stronger."""
    build, sized = load(name), size(SIZED[name])
    found = {figure.key: figure.value for figure in sized.figures}
    assert build.head["supply_w"] == SMALL_SUPPLY_W <= 100
    assert build.head["heater_w"] == build.parts["heater"]["watt"] == sized.heater_w
    assert build.parts["heater_fuse"]["amp"] == found["fuse_a"]
    thinnest = min(wire.mm2 for wire in build.wires if wire.end == "heater.plus")
    assert thinnest >= found["wire_mm2"]
    assert found["total_w"] <= SMALL_SUPPLY_W
    assert sized.cautions == []


def test_inductive_loads_have_their_diode(build):
    """Coil, motor and fan each have a diode, band to plus."""
    for plus, minus in (
        ("enable_relay.coil_plus", "enable_relay.coil_minus"),
        ("motor.plus", "motor.minus"),
        ("fan.plus", "fan.minus"),
    ):
        bands = {one.removesuffix(".cathode") for one in build.net(plus)}
        backs = {one.removesuffix(".anode") for one in build.net(minus)}
        assert [key for key in bands & backs if key in build.of_kind("diode")], plus


def test_the_pump_stops_with_the_stop_loop_and_the_fan_does_not():
    """A leak is a reason to press stop; cold air is none."""
    stop = ["stop_button"]
    assert "fan.plus" not in load("pump").reached(PLUS, without=stop)
    assert "fan.plus" in load("bench").reached(PLUS, without=stop)


def test_above_100_w_the_heater_is_sensed():
    """The larger rig's sense hangs on the heater's own terminal."""
    large = load("large")
    assert large.head["heater_w"] > 100
    assert "sense_top.a" in large.net("heater.plus")


def test_nothing_names_mains():
    """No part and no note of a netlist is on the mains side."""
    for build in BUILDS:
        text = (FOLDER / f"{build}.toml").read_text(encoding="utf-8").lower()
        assert not [word for word in ("mains", "230", "120 v", "neutral", "live") if word in text]


BAD = {
    "an unknown terminal": ("main_fuse.b", "main_fuse.c", "there is no terminal main_fuse.c"),
    "an unknown part": ("main_fuse.b", "man_fuse.b", "there is no terminal man_fuse.b"),
    "a part twice": ('key = "lid"', 'key = "cutout"', "a part has the key of another"),
}


@pytest.mark.parametrize("case", BAD)
def test_a_netlist_that_is_no_wiring_is_refused(case, tmp_path):
    """A slip of the pen is named, not drawn."""
    old, new, words = BAD[case]
    text = (FOLDER / "bench.toml").read_text(encoding="utf-8")
    (tmp_path / "bench.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(NetlistRefused, match=words):
        load("bench", tmp_path)


def _changed(tmp_path, old, new):
    text = (FOLDER / "bench.toml").read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "bench.toml").write_text(text.replace(old, new), encoding="utf-8")
    return load("bench", tmp_path)


def test_a_bridge_around_the_cut_out_is_found(tmp_path):
    """The checks see a wiring in which the cut-out no longer cuts."""
    bridged = _changed(tmp_path, 'from = "cutout.b", to = "thermal_link.a"',
                       'from = "heater_fuse.b", to = "thermal_link.a"')  # fmt: skip
    assert "heater.plus" in bridged.reached(PLUS, without=["cutout"])


def test_a_missing_pull_down_is_found(tmp_path):
    """The checks see an output whose resistor hangs on 3.3 V instead of ground."""
    floating = _changed(tmp_path, 'from = "r_heater.b", to = "supply.minus"',
                        'from = "r_heater.b", to = "board.3V3"')  # fmt: skip
    assert [far for _, far in resistors_at(floating, "board.HEATER") if GROUND in far] == []
