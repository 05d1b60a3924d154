"""The words both sides share; on the wire each is its index. Append only: old numbers stay."""

STEP_KINDS = ("melt", "rest", "cool", "seed", "rewarm", "work")

METHODS = ("cooled", "seeded", "kept")
"""Cooling alone; seeded; kept = the chocolate is still in temper and is only warmed."""

START_STATES = ("solid", "liquid", "in_temper", "hot")
"""Hot = a bowl fed above the ceiling of its chocolate, which only cools: an explicit choice."""

PROMPTS = ("none", "lumps_gone", "seed_in", "dip_knife", "pour", "press_stop")
STEP_PROMPTS = PROMPTS[:5]
"""Those that a step of a schedule may ask; the rest is the rig's own."""

ANSWERED_BY = ("nobody", "press", "host", "noticed", "safe_default")

ADDITIONS = ("none", "seed", "top_up", "pour")

EVENT_NAMES = (
    "boot",
    "state",
    "step",
    "reached",
    "prompt",
    "answered",
    "dip",
    "added",
    "stop",
    "cleared",
    "withheld",
    "given_back",
    "press",
    "window",
    "loaded",
    "done",
    "trimmed",
    "offer",
    "carried_on",
    "hands",
    "proven",
    "warned",
    "checks_off",
    "stopped_before",
)
"""What `a` and `b` of each mean: `rigwire.views.EVENT_KINDS`."""

STOP_LINES = (
    "none: no stop\n"
    "probe_missing: the chocolate probe gives no reading\n"
    "probe_range: the chocolate probe reads what cannot be\n"
    "probe_jump: the chocolate reading jumped\n"
    "chocolate_hot: the chocolate is too hot for this step\n"
    "plate_hot: the plate is too hot\n"
    "no_rise: the heat is on and nothing gets warmer\n"
    "stop_loop: the stop button is pressed or its wire is open\n"
    "unattended: nobody pressed the button for too long\n"
    "program_fault: the program met a fault of its own\n"
    "plate_missing: the plate probe gives no reading\n"
    "unfit_configuration: the rig's configuration is missing or damaged\n"
    "switch_shorted: the heater is live while it is switched off\n"
    "heat_unasked: it gets warmer than its heat explains\n"
    "relay_welded: the heater's enable relay does not open\n"
    "fan_dead: the fan is on and it does not cool\n"
    "clock_off: the rig's clock runs wrong\n"
    "memory_low: the program has too little memory left\n"
    "loop_slow: the program runs too slowly\n"
    "button_stuck: the start button is stuck\n"
    "probe_unknown: a probe is connected that is not in the list\n"
    "wrong_board: the program is not made for this board"
)
"""Key and words for a person of each stop, in the order of their codes: one text, which a board
has memory for. `rigwire.views.STOPS` is the same as tuples."""

STOP_COUNT = STOP_LINES.count("\n") + 1


def stop_words(code: int) -> str:
    """The words for a person of a stop code of the table."""
    return STOP_LINES.split("\n")[code].split(": ", 1)[1]


FLAG_PRODUCT_MISSING = 1
FLAG_PLATE_MISSING = 2
FLAG_ROOM_MISSING = 4
FLAG_HEAT_WITHHELD = 8
FLAG_PROMPT_WAITING = 16
FLAG_ADDITION_DECLARED = 32
FLAG_STIRRER_HELD = 64
FLAG_HOLDING = 128
"""The target was reached and the step's own clock runs."""
