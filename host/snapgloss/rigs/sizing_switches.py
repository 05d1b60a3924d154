"""Switches and small circuits: heat sinks, relay life, the edge train, dividers.

Watts, kelvin per watt, ohms, volts, seconds.
"""

import math
from typing import NamedTuple

from rigfw import limits

BOX_C = 45.0  # own choice: air in the closed box of a warm kitchen
JUNCTION_C = 110.0  # own choice: 40 K and more under usual limits of 150 to 175 degC
CASE_K_PER_W = 1.5  # junction to case of a part as large as a thumb nail (from memory)
PASTE_K_PER_W = 0.5  # case to sink with paste (from memory)
BARE_K_PER_W = 62.0  # junction to air without a sink (usual data sheet figure, from memory)

RELAY_OPERATIONS = 100_000
"""Electrical life at rated load (usual data sheet figure, from memory)."""

E96 = tuple(round(10 ** (step / 96), 2) for step in range(96))
"""Values of resistors of 1 %, in one decade (IEC 60063, from memory)."""
HOLD_FACTOR = 0.7
"""t = 0.7 R C (data sheet of the CD74HC4538)."""
HOLD_TOLERANCE = 0.16
"""Resistor 1 %, film capacitor 5 %, chip 10 % (data sheet of the MC74HC4538A): all added."""
PASS_S = limits.LOOP_MS / 1000
LATE_S, RELEASE_S = 0.02, 0.02
"""Own choice for a late pass; a small relay with a diode lets go about so late (from memory)."""
HOLD_LEAST_S = 2 * PASS_S + LATE_S
HOLD_MOST_S = 3 * PASS_S - RELEASE_S
"""The program turns its pin over once a pass, and every edge counts. One pass lost: the next edge
comes after two passes, the relay must stay. Two lost in a row: after three, and it must fall."""
EDGE_CAPACITOR_F = 1e-6  # over this (and 1 Mohm) a maker of the chip sees trouble

PIN_HIGH_V, PIN_LOW_V, PIN_MOST_V = 2.0, 0.8, 3.6
"""RP2040 at 3.3 V: reads high from 2.0 V (from memory), low up to 0.8 V (its data sheet); no pin
may have more than 0.3 V over its supply."""
PIN_PULL_OHM = (50_000.0, 80_000.0)
"""The chip's own pull-down, which the firmware turns on at both senses (its data sheet)."""
SENSE_OHM = (33_000.0, 4_700.0)
"""Upper and lower resistor of a sense, 1 %: the pin's own pull-down is over ten of the lower."""
RESISTOR_SPREAD, SUPPLY_SPREAD = 0.01, 0.1

ADC_V, ADC_BITS = 3.3, 12
NTC_IN_SLEEVE_W_PER_K = 6e-3  # own choice for a bead in a sleeve in stirred liquid


def on_loss_w(load_a: float, on_ohm: float) -> float:
    """Heat in W of a transistor that is on: I2 R, its resistance hot 1.7 times that at 25 degC.

    The factor is usual for such parts (from memory). Switching once in seconds adds nothing.
    """
    return load_a * load_a * 1.7 * on_ohm


def sink_k_per_w(loss_w: float) -> float | None:
    """Greatest thermal resistance of a heat sink in K/W; None: none is needed.

    Resistances in series: T_junction = T_box + P (R_case + R_paste + R_sink). Negative: no sink
    will do.
    """
    if BOX_C + loss_w * BARE_K_PER_W <= JUNCTION_C:
        return None
    return (JUNCTION_C - BOX_C) / loss_w - CASE_K_PER_W - PASTE_K_PER_W


def junction_c(loss_w: float, sink_resistance_k_per_w: float) -> float:
    """Temperature of the chip on a sink: the same sum forwards."""
    return BOX_C + loss_w * (CASE_K_PER_W + PASTE_K_PER_W + sink_resistance_k_per_w)


def relay_life_h(window_s: float, operations: int = RELAY_OPERATIONS) -> float:
    """Hours until a relay that is switched once in each window has made its operations."""
    return operations * window_s / 3600


class Hold(NamedTuple):
    """A one-shot's resistor in ohm, and its shortest, usual and longest hold in s."""

    ohm: float
    least_s: float
    usual_s: float
    most_s: float


def edge_train(farad: float = EDGE_CAPACITOR_F) -> Hold:
    """The resistor of 1 % that holds the relay longer than two passes and less than three."""
    wanted = (HOLD_LEAST_S + HOLD_MOST_S) / 2 / HOLD_FACTOR / farad
    decade = 10.0 ** (len(str(int(wanted))) - 1)
    values = [decade * value for value in E96] + [10 * decade]
    ohm = min(values, key=lambda value: abs(value - wanted))
    usual_s = HOLD_FACTOR * ohm * farad
    return Hold(ohm, usual_s * (1 - HOLD_TOLERANCE), usual_s, usual_s * (1 + HOLD_TOLERANCE))


class Sense(NamedTuple):
    """Volts at a sensing pin: usual, with and without its own pull-down, and the extremes."""

    usual_v: tuple[float, float]
    least_v: float
    most_v: float


def sense_divider(volts: float, top_ohm: float, low_ohm: float) -> Sense:
    """What a divider gives a pin whose own pull-down, 50 to 80 kohm, lies beside its lower half.

    Least: supply 10 % low, resistors 1 % off, the strongest pull-down. Most: supply 10 % high,
    resistors 1 % off the other way, no pull-down, as before the program starts.
    """

    def at(supply_v: float, off: float, pull_ohm: float) -> float:
        low = 1 / (1 / (low_ohm * (1 - off)) + 1 / pull_ohm)
        return supply_v * low / (top_ohm * (1 + off) + low)

    none, strong = math.inf, PIN_PULL_OHM[0]
    least_v = at(volts * (1 - SUPPLY_SPREAD), RESISTOR_SPREAD, strong)
    most_v = at(volts * (1 + SUPPLY_SPREAD), -RESISTOR_SPREAD, none)
    return Sense((at(volts, 0, strong), at(volts, 0, none)), least_v, most_v)


class Divider(NamedTuple):
    """A thermistor with its pull-up: kelvin of one step of the converter, and of its own heat."""

    step_k: float
    self_heat_k: float


def ntc_divider(pull_ohm: float, ohm: float, ohm_one_kelvin_up: float) -> Divider:
    """How fine a thermistor reads at `ohm`, and how much it warms itself in its sleeve."""
    share, next_share = ohm / (ohm + pull_ohm), ohm_one_kelvin_up / (ohm_one_kelvin_up + pull_ohm)
    step_k = 1 / (abs(next_share - share) * 2**ADC_BITS)
    watt = ohm * (ADC_V / (ohm + pull_ohm)) ** 2
    return Divider(step_k, watt / NTC_IN_SLEEVE_W_PER_K)
