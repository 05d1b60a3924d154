"""The figures of a rig, each with its formula and where that is from."""

from rigfw.commissioned import UNPROVED_W
from rigfw.limits import FREE_W
from rigfw.pulser import RELAY_WINDOW_MS
from snapgloss.base.errors import InputError
from snapgloss.rigs import reaction
from snapgloss.rigs import sizing_heat as heat
from snapgloss.rigs import sizing_switches as switches
from snapgloss.rigs import sizing_wires as wires
from snapgloss.rigs.sizing_cutout import choose, first_c, link_for_c
from snapgloss.rigs.sizing_stirrer import Stirrer, stirrer
from snapgloss.rigs.sizing_wanted import Figure, Wanted

VOLTS = 24.0
SWITCH_OHM = 0.02  # a DC switch of 15 A and more (usual data sheet figure, from memory)
TURNS_PER_MIN = (40.0, 30.0, 25.0, 20.0, 15.0)
AIR_MOST_M_PER_S = 8.0  # own choice: above it a duct howls and cools unevenly
SMALL_SUPPLY_W = 96.0  # 4 A at 24 V: the recommended rig's
OTHERS_W, OTHERS_LARGE_W = 20.0, 40.0
"""Stirrer with lumps, fan, relay and board, as wired in the guide's recommended and larger rig."""
NTC_PULL_OHM, NTC_32_OHM, NTC_35_OHM = 10_000.0, 7_406.0, 6_535.0
"""Pull-up, and a 10 k thermistor of B 3977 (its maker's curve, constants from memory)."""
STIRRER_W, STIRRER_LARGE_W = 12.0, 30.0
"""What of that is the stirrer's, with lumps."""
WATER_J_PER_M3_K = 4.18e6  # (from memory)
WATER_RISE_K = 2.0  # own choice


def total_w(heater_w: int) -> float:
    """What all loads take together, W."""
    return heater_w + (OTHERS_W if heater_w <= FREE_W else OTHERS_LARGE_W)


def heat_figures(wanted: Wanted, heater_w: int) -> list[Figure]:
    """Heater and plate."""
    needed_w = heat.heater_needed_w(wanted.mass_kg, wanted.room_c, wanted.melt_s)
    return [
        Figure("heater_needed_w", "heater, at least", needed_w, "W",
               "heat to melt / time + loss x half the climb", "energy balance"),
        Figure("heater_w", "heater, taken", heater_w, "W",
               "next usual size that a cut-out can guard", "common practice"),
        Figure("plate_cm2", "plate under the heater, at least", heat.plate_cm2(heater_w), "cm²",
               "power / 0.5 W/cm²", "common practice"),
    ]  # fmt: skip


def fan_figures(wanted: Wanted) -> list[Figure]:
    """Fan and air. Raises InputError for air faster than 8 m/s."""
    total = heat.cooling_needed_w_per_k(wanted.mass_kg, wanted.room_c, wanted.cool_s)
    still = heat.scaled(heat.LOSS_W_PER_K, wanted.mass_kg)
    fan = max(total - still, 0.0)
    length_m = heat.bowl_radius_m(wanted.mass_kg)
    area_m2 = 2 * heat.wall_m2(wanted.mass_kg)  # wall, and as much again in fins and plate
    speed = heat.air_speed_m_per_s(fan, area_m2, length_m)
    if speed > AIR_MOST_M_PER_S:
        raise InputError(
            f"A fan cannot cool {wanted.mass_kg:g} kg to {heat.COOL_C:g} °C in "
            f"{wanted.cool_s / 60:.0f} min in a room of {wanted.room_c:g} °C: the air would have "
            f"to pass at {speed:.0f} m/s.",
            "Give it longer, a cooler room, or --coolant with its temperature.",
        )
    air = heat.air_m3_per_h(max(total, still), wanted.room_c)
    source = "laminar flat plate (Incropera, from memory)"
    return [
        Figure("fan_w_per_k", "fan adds", fan, "W/K",
               "C ln((48 - room)/(28 - room)) / t, less still air", "Newton's law of cooling"),
        Figure("air_m3_per_h", "air", air, "m³/h",
               "heat / (1207 J/m³K x 3 K)", "energy balance"),
        Figure("air_m_per_s", "air along the wall", speed, "m/s",
               "Nu = 0.664 Re^½ Pr^⅓ on wall and fins", source),
    ]  # fmt: skip


def pump_figures(wanted: Wanted) -> list[Figure]:
    """Jacket and coolant."""
    assert wanted.coolant_c is not None
    conductance = heat.cooling_needed_w_per_k(wanted.mass_kg, wanted.coolant_c, wanted.cool_s)
    mean_k = (heat.MELT_C + heat.COOL_C) / 2 - wanted.coolant_c
    flow_m3_per_s = conductance * mean_k / (WATER_J_PER_M3_K * WATER_RISE_K)
    return [
        Figure("coolant_w_per_k", "jacket or coil", conductance, "W/K",
               "C ln((48 - coolant)/(28 - coolant)) / t", "Newton's law of cooling"),
        Figure("coolant_l_per_min", "coolant", flow_m3_per_s * 60_000, "l/min",
               "heat / (4.18 MJ/m³K x 2 K)", "energy balance"),
    ]  # fmt: skip


def wire_figures(wanted: Wanted, heater_w: int) -> list[Figure]:
    """Current, fuse, wire, contacts."""
    load_a = heater_w / VOLTS
    fuse = wires.fuse_a(load_a)
    mm2 = wires.wire_for(load_a, fuse, VOLTS, wanted.cable_m)
    drop = wires.drop_v(load_a, mm2, wanted.cable_m)
    return [
        Figure("total_w", "all loads together", total_w(heater_w), "W",
               "heater + stirrer with lumps + fan + relay and board", "the wiring's own data"),
        Figure("heater_a", "heater current", load_a, "A", "P / 24 V", "Ohm's law"),
        Figure("fuse_a", "heater fuse", fuse, "A", "next usual size from 1.25 x current",
               "common practice; IEC 60127 series from memory"),
        Figure("wire_mm2", "heater wire, at least", mm2, "mm²",
               "carries its fuse; drops at most 3 %", "IEC 60335-1 cord table; IEC 60228"),
        Figure("drop_v", "lost in the cable", drop, "V", "I x 2 l x 1.13 rho / A at 60 °C",
               "copper 1/58 ohm mm²/m, strands 1.13 by IEC 60228"),
        Figure("contact_a", "contacts in the heater's path, at least", fuse, "A DC",
               "what their fuse lets through", "own choice"),
    ]  # fmt: skip


def switch_figures(heater_w: int) -> list[Figure]:
    """Heater switch, relay, edge train, sense."""
    loss_w = switches.on_loss_w(heater_w / VOLTS, SWITCH_OHM)
    sink = switches.sink_k_per_w(loss_w)
    hold, sense = switches.edge_train(), switches.sense_divider(VOLTS, *switches.SENSE_OHM)
    return [
        Figure("switch_loss_w", "heat of the heater switch", loss_w, "W", "I² x 1.7 x 20 mohm",
               "data sheet figures from memory"),
        Figure("sink_k_per_w", "heat sink (0: none needed)", 0.0 if sink is None else sink, "K/W",
               "(110 - 45) / P - 1.5 - 0.5", "thermal resistances in series"),
        Figure("relay_life_h", "a relay in place of the switch would last",
               switches.relay_life_h(RELAY_WINDOW_MS / 1000), "h",
               "100,000 operations, one in 10 s, as the firmware switches a relay",
               "usual life, from memory"),
        Figure("edge_ohm", "edge train: resistor at 1 µF", hold.ohm, "ohm",
               "t = 0.7 R C between 2 and 3 passes of 0.25 s", "CD74HC4538 data sheet"),
        Figure("edge_least_s", "relay stays at least", hold.least_s, "s",
               "16 % less: chip 10 %, capacitor 5 %, resistor 1 %", "MC74HC4538A data sheet"),
        Figure("edge_most_s", "relay falls at the latest", hold.most_s, "s", "16 % more",
               "tolerances added"),
        Figure("sense_v", "sense of 24 V at the pin, least", sense.least_v, "V",
               "33 k over 4.7 k and the pin's own 50 k, supply -10 %", "RP2040 data sheet"),
        Figure("sense_most_v", "sense of 24 V at the pin, most", sense.most_v, "V",
               "33 k over 4.7 k alone, supply +10 %", "RP2040 data sheet"),
    ]  # fmt: skip


def probe_figures() -> list[Figure]:
    """The divider of a 10 k thermistor, where one stands in for a DS18B20."""
    one_up = NTC_32_OHM * (NTC_35_OHM / NTC_32_OHM) ** (1 / 3)
    found = switches.ntc_divider(NTC_PULL_OHM, NTC_32_OHM, one_up)
    return [
        Figure("ntc_step_k", "thermistor over 10 kΩ at 32 °C: one step", found.step_k, "°C",
               "1 / (4096 x change of R / (R + 10 k) for 1 °C)", "its maker's published curve"),
        Figure("ntc_warm_k", "thermistor: its own heat", found.self_heat_k, "°C",
               "(3.3 V / (R + 10 k))² R / 6 mW/K", "own choice for a bead in a sleeve"),
    ]  # fmt: skip


def stirrer_figures(wanted: Wanted, heater_w: int) -> list[Figure]:
    """Turns and torques."""
    most_w = STIRRER_W if heater_w <= FREE_W else STIRRER_LARGE_W
    turns_per_min, drive = _turns(wanted.mass_kg, most_w)
    source = "Casson flow; shear 20 x turns (Metzner and Otto, from memory)"
    return [
        Figure("turns_per_min", "stirrer turns, at most", turns_per_min, "/min",
               "the fastest whose lumps a finger bears, and the supply", "own choice"),
        Figure("stir_nm", "stirrer, running", drive.torque_nm, "N m",
               "stress x radius x swept area, 29 Pa and 6.1 Pa s", source),
        Figure("stir_least_nm", "stirrer, with lumps", drive.with_lumps_nm, "N m", "3 x running",
               "own choice"),
        Figure("stir_w", "stirrer with lumps takes", drive.with_lumps_w, "W",
               "torque x 2 pi turns / 0.5", "efficiency of a gear motor, from memory"),
        Figure("stir_most_nm", "stirrer, stalled, at most", drive.stall_most_nm, "N m",
               "50 N at the paddle's tip", "own choice"),
    ]  # fmt: skip


def _turns(mass_kg: float, most_w: float) -> tuple[float, Stirrer]:
    """The fastest turning whose motor, strong enough for lumps, is weak and frugal enough."""
    radius_m = heat.bowl_radius_m(mass_kg)
    for turns_per_min in TURNS_PER_MIN:
        drive = stirrer(radius_m, radius_m, turns_per_min)
        if drive.with_lumps_nm <= drive.stall_most_nm and drive.with_lumps_w <= most_w:
            return turns_per_min, drive
    raise InputError(
        f"A stirrer for {mass_kg:g} kg of thick chocolate would be too strong for fingers, or for "
        "its supply.",
        "Take less chocolate.",
    )


def cut_out_fits(wanted: Wanted, heater_w: float) -> bool:
    """Whether a cut-out lies between a usual batch and a stuck heater, as far as can be reckoned.

    The hottest plate of a batch: melting's end, with all of the heat still passing through.
    """
    plate_w_per_k = heat.scaled(heat.PLATE_W_PER_K, wanted.mass_kg)
    stuck_c = heat.plate_levels_c(wanted.mass_kg, wanted.room_c, heater_w)
    try:
        choose(heat.MELT_C + heater_w / plate_w_per_k, stuck_c)
    except InputError:
        return False
    return True


def first_figures(wanted: Wanted, heater_w: int) -> list[Figure]:
    """The cut-out to begin with and its link. Raises InputError where none would do."""
    levels = [heat.plate_levels_c(wanted.mass_kg, wanted.room_c, power_w)
              for power_w in (UNPROVED_W, heater_w)]  # fmt: skip
    rated_c = first_c(*levels)
    return [
        Figure("plate_20_w_c", "plate levels out on 20 W at", levels[0], "°C",
               "room + P / loss + P / plate to bowl", "energy balance"),
        Figure("plate_stuck_c", "plate with the heater stuck on at", levels[1], "°C",
               "room + P / loss + P / plate to bowl", "energy balance"),
        Figure("first_cut_out_c", "cut-out to begin with", rated_c, "°C",
               "8 °C over the first, 8 under the second, 55 at least", "own choice"),
        Figure("first_link_c", "thermal link beside it", link_for_c(rated_c), "°C",
               "next usual rating 15 °C over it", "usual ratings, from memory"),
    ]  # fmt: skip


def time_figures(wanted: Wanted, heater_w: int, held_j_per_k: float) -> list[Figure]:
    """Time to react, and the smallest batch."""
    seconds = reaction.reaction_s(reaction.ALLOWED_K, held_j_per_k, heater_w)
    plate = heat.scaled(heat.PLATE_J_PER_K, wanted.mass_kg)
    return [
        Figure("react_s", f"time for 5 °C, {wanted.smallest_kg:g} kg", seconds, "s", "5 K x C / P",
               "energy balance, nothing lost"),
        Figure("react_plate_s", "time for 5 °C, plate alone",
               reaction.reaction_s(5.0, plate, heater_w), "s", "5 K x C / P", "energy balance"),
        Figure("least_kg", "smallest batch for this heater", reaction.least_mass_kg(heater_w),
               "kg", "5 K in 34 s", "limits of the firmware"),
    ]  # fmt: skip
