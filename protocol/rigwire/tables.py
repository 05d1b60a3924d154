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

EVENT_KINDS = (
    # name, meaning of a, meaning of b ("-" = always 0)
    ("boot", "reset cause as the board gives it", "-"),
    ("state", "new state", "old state"),
    ("step", "step number from 1", "step kind"),
    ("reached", "step number", "chocolate in mC"),
    ("prompt", "prompt", "a figure for it, such as grams of seed"),
    ("answered", "prompt", "answered by"),
    ("dip", "drop in mC", "chocolate in mC"),
    ("added", "addition", "grams"),
    ("stop", "stop code", "the value that caused it"),
    ("cleared", "stop code", "-"),
    ("withheld", "stop code that takes heat away", "the value that caused it"),
    ("given_back", "stop code", "-"),
    ("press", "how long the button was held, ms", "-"),
    ("window", "1 opened, 0 closed", "-"),
    ("loaded", "slot", "bytes"),
    ("done", "-", "-"),
    ("trimmed", "frames dropped since the last such event", "-"),
    ("offer", "step number that the rig offers to carry on with", "chocolate in mC"),
    ("carried_on", "step number", "chocolate in mC"),
    (
        "hands",
        "cause: 1 pedal, 2 bowl lifted, 3 noticed, 4 stirrer stands still, 5 reading in doubt",
        "-",
    ),
    ("proven", "1 stop loop, 2 relay and switch of the heater", "-"),
    ("warned", "stop code of what is wrong, which goes on all the same", "a figure for it"),
    ("checks_off", "bits: 1 stop loop, 2 probes agree cold, 4 heat against temperatures", "-"),
    ("stopped_before", "stop code of what had stopped or locked the rig when a reset came", "-"),
)
EVENT_NAMES = tuple([row[0] for row in EVENT_KINDS])

STOPS = (
    # code, key, words for a person
    (0, "none", "no stop"),
    (1, "probe_missing", "the chocolate probe gives no reading"),
    (2, "probe_range", "the chocolate probe reads what cannot be"),
    (3, "probe_jump", "the chocolate reading jumped"),
    (4, "chocolate_hot", "the chocolate is too hot for this step"),
    (5, "plate_hot", "the plate is too hot"),
    (6, "no_rise", "the heat is on and nothing gets warmer"),
    (7, "stop_loop", "the stop button is pressed or its wire is open"),
    (8, "unattended", "nobody pressed the button for too long"),
    (9, "program_fault", "the program met a fault of its own"),
    (10, "plate_missing", "the plate probe gives no reading"),
    (11, "unfit_configuration", "the rig's configuration is missing or damaged"),
    (12, "switch_shorted", "the heater is live while it is switched off"),
    (13, "heat_unasked", "it gets warmer than its heat explains"),
    (14, "relay_welded", "the heater's enable relay does not open"),
    (15, "fan_dead", "the fan is on and it does not cool"),
    (16, "clock_off", "the rig's clock runs wrong"),
    (17, "memory_low", "the program has too little memory left"),
    (18, "loop_slow", "the program runs too slowly"),
    (19, "button_stuck", "the start button is stuck"),
    (20, "probe_unknown", "a probe is connected that is not in the list"),
    (21, "wrong_board", "the program is not made for this board"),
)
STOP_KEYS = tuple([row[1] for row in STOPS])

FLAG_PRODUCT_MISSING = 1
FLAG_PLATE_MISSING = 2
FLAG_ROOM_MISSING = 4
FLAG_HEAT_WITHHELD = 8
FLAG_PROMPT_WAITING = 16
FLAG_ADDITION_DECLARED = 32
FLAG_STIRRER_HELD = 64
FLAG_HOLDING = 128
"""The target was reached and the step's own clock runs."""

FLAGS = (
    (FLAG_PRODUCT_MISSING, "product_missing"),
    (FLAG_PLATE_MISSING, "plate_missing"),
    (FLAG_ROOM_MISSING, "room_missing"),
    (FLAG_HEAT_WITHHELD, "heat_withheld"),
    (FLAG_PROMPT_WAITING, "prompt_waiting"),
    (FLAG_ADDITION_DECLARED, "addition_declared"),
    (FLAG_STIRRER_HELD, "stirrer_held"),
    (FLAG_HOLDING, "holding"),
)
