"""The steps that prove a rig, in their order: what a person does, what must come out.

`how` says who finds the result: the rig ("rig"), a person with an instrument ("figure"), or a
person who looks ("seen"). Every step that counts must be passed and signed before the rig may have
all of its heat. Bounds are own choices unless the words name another source.
"""

from typing import NamedTuple

from rigfw.numbers import BY_STIRRER
from rigfw.pinmap import BOARD_PIN, NAME, ROWS

RUN_PIN, SUPPLY_PIN = 30, 36
"""RUN and 3V3 of the 40-pin board (its published pinout, from memory)."""
ENABLE_PIN = next(row[BOARD_PIN] for row in ROWS if row[NAME] == "ENABLE")

ONCE, MONTHLY = 0, 31
"""Days after which a step falls due again; 0 = after a repair only."""


class Step(NamedTuple):
    """One step. `least` and `most` bound a figure in `unit`; `days` is how long it holds."""

    key: str
    group: str
    how: str
    words: str
    must: str
    least: float
    most: float
    unit: str
    days: int


def _seen(key: str, group: str, words: str, must: str, days: int = ONCE) -> Step:
    return Step(key, group, "seen", words, must, 1, 1, "", days)


def _figure(
    key: str, group: str, words: str, least: float, most: float, unit: str, days: int = ONCE
) -> Step:
    return Step(
        key, group, "figure", words, f"{least:g} to {most:g} {unit}", least, most, unit, days
    )


def _rig(
    key: str, group: str, words: str, must: str, least: float, most: float, unit: str,
    days: int = ONCE,
) -> Step:  # fmt: skip
    return Step(key, group, "rig", words, must, least, most, unit, days)


COLD = "Without power"
LAMP = "With power, a 24 V test lamp in place of the heater"
PROBES = "Probes"
HEAT = "With the heater, 1 kg of water in the bowl"

BEFORE = {
    COLD: "24 V plug out, USB out for what follows. The board comes out of its socket.",
    LAMP: "A 24 V filament lamp of 5 to 20 W in the heater's place: the test lamp. It blinks "
    "while the rig drives heat. Bowl on its contact, probes on the cold plate, lid shut. Board "
    "in, USB in, 24 V in.",
    PROBES: "Ice water, and a stirred bath with a clinical thermometer.",
    HEAT: "24 V out, test lamp out, heater in, cut-out and thermal link in its path. 1 kg of "
    "water in the bowl, film over it, the chocolate probe clipped in. 24 V in. You stay.",
}
"""What a person makes ready before the steps of a group."""

STEPS: tuple[Step, ...] = (
    _figure("pull_downs", COLD, "Board out of its socket: measure each output pin to ground; "
            "write the one farthest from 10 kΩ.", 3, 11, "kΩ"),
    _figure("loop_closed", COLD, "Measure from block P, behind the main fuse, to block S (and to "
            "block H where there is one), button free, lid closed.", 0, 1, "Ω", MONTHLY),
    _seen("loop_opens", COLD, "The same with the button pressed, then with the lid open.",
          "open, both times", MONTHLY),
    _seen("cut_out_opens", COLD, "Trip the cut-out with warm air; measure from heater fuse to "
          "enable relay; press its button and measure again.", "open, then closed", MONTHLY),
    Step("no_short", COLD, "figure", "Fuses out: measure supply + to supply −, then + to − behind "
         "each fuse; write the least.", "1 kΩ or more", 1, 1_000_000, "kΩ", ONCE),
    _seen("fuses", COLD, "Read the rating on each fuse in its holder.",
          "as in the table of parts"),
    _seen("dark_at_power", LAMP, "USB out. 24 V in while you hold the start button: no program "
          "runs.",
          "test lamp, motor and fan off"),
    _seen("dark_in_bootloader", LAMP, "USB out. 24 V in while you hold the board's boot button.",
          "test lamp and motor off"),
    _rig("stop_in_test", LAMP, "The rig drives heat and stirrer. Press the stop button.",
         "stopped by the stop loop, heat ends within 1.5 s", 0, 1.5, "s", MONTHLY),
    _rig("stop_when_off", LAMP, "Rig off. Press the stop button and leave it pressed: the rig is "
         "asked to start. Turn it free.", "it refuses, and names the stop button", 1, 1,
         "refusal"),
    _rig("stop_in_window", LAMP, "The rig waits for its start button. Press the stop button "
         "instead.", "stopped by the stop loop: a press of start does nothing", 7, 7, "stop code"),
    _rig("stop_in_batch", LAMP, "The rig runs a batch of its own, heat on. Press the stop button.",
         "stopped by the stop loop, heat ends within 1.5 s", 0, 1.5, "s"),
    _seen("stop_with_hang", LAMP, f"Board held in reset (RUN, pin {RUN_PIN}, to supply −), heater "
          "switch and enable relay bridged: the test lamp burns. Press the stop button. Take the "
          "bridges out.", "it goes out: the loop needs no program", MONTHLY),
    _seen("relay_falls", LAMP, "Rig off, heater switch bridged. Look at the test lamp. Then pull "
          f"ENABLE's wire from pin {ENABLE_PIN}, touch it to 3.3 V (pin {SUPPLY_PIN}) and stay "
          "there. Put the wire back and take the bridge out.",
          "dark; then lit for less than a second; then dark though you still touch", MONTHLY),
    _rig("host_silent", LAMP, "The rig drives heat, then nothing comes from this computer.",
         "all off 5 s after the last word from here", 0, 6.5, "s", MONTHLY),
    _rig("node_sense", LAMP, "The rig drives a little heat. Bridge the heater switch with a wire.",
         "stopped: its node has voltage while switched off", 12, 13, "stop code", MONTHLY),
    _rig("hang", LAMP, f"The rig drives heat. Touch RUN (pin {RUN_PIN}) to supply − for a "
         "moment; a hang ends in the same reset, by the watchdog within 2 s.",
         "starts anew, off, nothing driven", 1, 1, "new start", MONTHLY),
    _rig("cable_out", LAMP, "The rig drives heat. Pull the USB cable, wait 10 s, plug it in.",
         "heat ended within 6.5 s, the rig is off", 0, 6.5, "s"),
    _rig("probe_unplugged", LAMP, "The rig drives heat. Pull the chocolate probe's plug.",
         "stopped: the chocolate probe gives no reading, within 5 s", 0, 5, "s", MONTHLY),
    _rig("stirrer_held", LAMP, "The rig drives the stirrer. Hold it through a cloth, guard in "
         "place, 2 s; read the motor's current meanwhile.", "0 to 2 A", 0, 2, "A"),
    _rig("ice_point", PROBES, "Chocolate probe in crushed ice and water, stirred, 5 minutes.",
         "0.0 ± 0.5 °C", -0.5, 0.5, "°C", MONTHLY),
    _rig("warm_bath", PROBES, "Chocolate probe in stirred water of 35 to 40 °C beside a clinical "
         "thermometer.", "within 0.5 °C of it", -0.5, 0.5, "°C off"),
    _rig("probes_agree", PROBES, "Chocolate and plate probe side by side, cold rig.",
         "within 1 °C of each other", -1, 1, "°C apart", MONTHLY),
    _rig("probe_lifted", HEAT, "The rig drives heat. Lift the chocolate probe out into the air.",
         "heat ends within 60 s", 0, 60, "s", MONTHLY),
    _rig("stuck_on", HEAT, "The rig heats at 20 W for an hour, stirred: where does the plate "
         "level out?", "it levels, and a cut-out can be chosen", 20, 110, "°C"),
    _rig("heat_balance", HEAT, "The rig heats for 10 minutes, stirred: does it warm as its "
         "description says?", "0.5 to 1.5 times as described", 0.5, 1.5, "times"),
    _rig("stirrer_stalled", HEAT, "Water of 40 to 45 °C in the bowl. The rig runs a batch of its "
         "own and stirs. Hold the stirrer through a cloth, guard in place, until the rig pauses.",
         "paused, without heat, because the stirrer stands", BY_STIRRER, BY_STIRRER, "pause",
         MONTHLY),
    _figure("outside", HEAT, "At the end of that run, touch-thermometer on every outer part; "
            "write the hottest that has no guard.", 0, 48, "°C"),
    _seen("cut_out_fitted", HEAT, "The cut-out that was chosen from the stuck-on run, "
          "and its thermal link, are in place.", "ratings as chosen"),
)  # fmt: skip
KEYS = tuple(step.key for step in STEPS)
NEEDS_SENSE, NEEDS_TACHO = "node_sense", "stirrer_stalled"


def steps_of(has_sense: bool, has_tacho: bool) -> tuple[Step, ...]:
    """The steps of a rig: nobody is asked about a sense or a tachometer that is not fitted."""
    left_out = {NEEDS_SENSE: not has_sense, NEEDS_TACHO: not has_tacho}
    return tuple(step for step in STEPS if not left_out.get(step.key))


def step_of(key: str) -> Step:
    """The step of a key. Raises KeyError."""
    return STEPS[KEYS.index(key)] if key in KEYS else _unknown(key)


def _unknown(key: str) -> Step:
    raise KeyError(key)
