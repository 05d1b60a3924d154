"""Switches and small circuits: heat sinks, relay life, the edge train, dividers.

Watts, kelvin per watt, ohms, volts, seconds.
"""

from typing import NamedTuple

BOX_C = 45.0  # own choice: air in the closed box of a warm kitchen
JUNCTION_C = 110.0  # own choice: 40 K and more under usual limits of 150 to 175 degC
CASE_K_PER_W = 1.5  # junction to case of a part as large as a thumb nail (from memory)
PASTE_K_PER_W = 0.5  # case to sink with paste (from memory)
BARE_K_PER_W = 62.0  # junction to air without a sink (usual data sheet figure, from memory)

RELAY_OPERATIONS = 100_000
"""Electrical life at rated load (usual data sheet figure, from memory)."""

E24 = (1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1,
       5.6, 6.2, 6.8, 7.5, 8.2, 9.1)  # fmt: skip
HOLD_FACTOR = 0.7
"""t = 0.7 R C of a precision one-shot of the 4538 kind (data sheet, from memory)."""
HOLD_TOLERANCE = 0.16  # resistor 1 %, film capacitor 5 %, chip 10 %: added, the worst case
HOLD_WANTED_S = 0.75
HOLD_LEAST_S, HOLD_MOST_S = 0.5, 1.0
"""Two passes of 250 ms may come late and the relay stays; a hang ends heat in a second."""
EDGE_CAPACITOR_F = 1e-6

PIN_HIGH_V, PIN_LOW_V, PIN_MOST_V = 2.0, 0.8, 3.6
"""RP2040 at 3.3 V: reads high from 2.0 V (from memory), low up to 0.8 V (its data sheet); no pin
may have more than 0.3 V over its supply."""
PIN_PULL_OHM = (50_000.0, 80_000.0)
"""The chip's own pull-down (its data sheet)."""
ZENER_V = 3.3
SUPPLY_SPREAD = 0.1

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
    """The resistor that holds the relay for about 0.75 s after the last edge."""
    wanted = HOLD_WANTED_S / HOLD_FACTOR / farad
    decade = 10.0 ** (len(str(int(wanted))) - 1)
    values = [decade * value for value in E24] + [10 * decade]
    ohm = min(values, key=lambda value: abs(value - wanted))
    usual_s = HOLD_FACTOR * ohm * farad
    return Hold(ohm, usual_s * (1 - HOLD_TOLERANCE), usual_s, usual_s * (1 + HOLD_TOLERANCE))


class Sense(NamedTuple):
    """Volts at a sensing pin at the least and the greatest supply, and the zener's A at most."""

    least_v: float
    most_v: float
    zener_a: float


def sense_divider(volts: float, top_ohm: float = 68_000.0, low_ohm: float = 10_000.0) -> Sense:
    """What a divider with a zener gives a pin, its own pull-down counted at its strongest."""

    def at(supply_v: float, pull_ohm: float) -> float:
        low = low_ohm if pull_ohm == float("inf") else low_ohm * pull_ohm / (low_ohm + pull_ohm)
        return supply_v * low / (top_ohm + low)

    least_v = at(volts * (1 - SUPPLY_SPREAD), PIN_PULL_OHM[0])
    open_v = at(volts * (1 + SUPPLY_SPREAD), float("inf"))
    zener_a = max(0.0, (volts * (1 + SUPPLY_SPREAD) - ZENER_V) / top_ohm - ZENER_V / low_ohm)
    return Sense(least_v, min(open_v, ZENER_V), zener_a)


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
