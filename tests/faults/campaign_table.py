"""Every way in which the campaign makes a hazard of hazards.toml happen, and what it cannot."""

from dataclasses import dataclass

STEPS = ("melt", "rest", "cool", "seed", "rewarm", "work")
HELD = ("rewarm", "work")
LIQUID = ("melt", "rest")

BY_HEAT = "switch_shorted (by heat)"
OUT_BY_WARMTH = "probe_out (by warmth)"
OUT_BY_HEAT = "probe_out (by heat)"
"""Rows that a temperature bounds, not a time."""
OUT_PRESSED = "probe_out (pressed)"
"""The same runs from where somebody said that all is well: another bound."""
DEAD_UNDER_SET = "no_rise (set chocolate)"
"""A row whose bound is worked out for each run."""


@dataclass(frozen=True)
class Injection:
    """One way to meet a hazard.

    `faults` are those of plant and panel, `acts` those of program, host and person, by the names
    that campaign_world knows; `needs` are fittings, `no_plate` among them. `begin` "settled" is
    a minute and more after the start, "boot" before the rig has its power. `alone` names the
    one check of campaign_checks without which nothing else keeps this injection safe in time.
    """

    hazard: str
    faults: tuple[tuple[str, float | bool], ...] = ()
    acts: tuple[str, ...] = ()
    steps: tuple[str, ...] = STEPS
    needs: tuple[str, ...] = ()
    begin: str = "settled"
    alone: str = ""
    row: str = ""

    @property
    def name(self) -> str:
        """The row of the campaign's table."""
        return self.row or self.hazard


# "wild": from the onset on the regulator demands everything; the checks must hold without it.
INJECTIONS = (
    Injection("probe_missing", (("probe_missing", True),)),
    Injection("probe_missing", (("probe_missing", True),), ("wild",), alone="product_age"),
    Injection("probe_range", (("probe_forced_c", 85.0),), ("wild",)),
    Injection("probe_range", (("probe_forced_c", 0.0),), ("wild",)),
    Injection("probe_range", (), ("creep", "wild", "weak"), ("cool",), alone="range"),
    Injection("probe_jump", (("probe_shift_k", 9.0),), ("wild",)),
    Injection("probe_jump", (("probe_shift_k", -9.0),), ("wild",)),
    Injection("probe_jump", (("probe_shift_k", 9.0),), ("wild", "cold"), ("melt",), alone="jump"),
    Injection("plate_missing", (("plate_probe_missing", True),), needs=("has_plate",)),
    Injection(
        "plate_missing", (("plate_probe_missing", True),), ("wild",), LIQUID, ("has_plate",),
        alone="plate_age",
    ),
    Injection(
        "plate_hot", (("coupling_factor", 0.03),), ("wild",), needs=("has_plate",), alone="wall"
    ),
    Injection(
        "plate_hot", (("coupling_factor", 0.03),), ("wild", "high_wall"), ("melt",),
        ("has_plate",), alone="plate",
    ),
    Injection("no_rise", (("heater_dead", True),), (), ("melt",), ("has_plate",)),
    Injection(
        "no_rise", (("heater_dead", True),), ("cold",), ("melt",), ("has_plate",), alone="rise",
        row=DEAD_UNDER_SET,
    ),
    Injection(
        "chocolate_hot", (), ("wild",), ("rest", "rewarm", "work"), alone="hot"
    ),
    Injection("probes_swapped", (("probes_swapped", True),), (), ("melt",), ("has_plate",)),
    Injection(
        "probes_swapped", (("probes_swapped", True),), ("bare",), ("melt",), ("has_plate",),
        "boot", alone="rise",
    ),
    Injection("stop_loop", (("stop_open", True),), alone="stop_loop"),
    Injection("unattended", (), ("nobody",), alone="presence"),
    Injection(
        "switch_shorted", (("heater_shorted", True),), needs=("has_sense",), alone="switch"
    ),
    Injection(
        "switch_shorted", (("heater_shorted", True),), (), HELD, ("has_plate", "no_sense"),
        alone="witness", row=BY_HEAT,
    ),
    Injection(
        "relay_welded", (("enable_welded", True),), needs=("has_sense",), begin="boot",
        alone="welded",
    ),
    Injection(
        "probe_out", (("probe_out", True),), (), ("seed", *HELD), ("has_plate",)
    ),
    Injection(
        "probe_out", (("probe_out", True),), ("warm_room",), HELD, ("has_plate",), alone="witness"
    ),
    Injection(
        "probe_out", (("probe_out", True),), (), ("melt", "rest", "cool"), row=OUT_BY_WARMTH
    ),
    Injection(
        "probe_out", (("probe_out", True),), (), ("seed", *HELD), ("no_plate",), row=OUT_BY_WARMTH
    ),
    Injection(
        "stuck_reading", (("reading_stuck", True),), ("wild", "climbing"), ("rewarm",),
        ("has_plate",),
    ),
    Injection(
        "stuck_reading", (("reading_stuck", True),), ("wild", "near_wall"), ("work",),
        ("has_plate",), alone="witness",
    ),
    Injection("stirrer_jam", (("stirrer_stalled", True),), needs=("has_tacho",), alone="stall"),
    Injection("frozen_program", (), ("frozen",), ("melt", "rewarm"), alone="edge_train"),
    Injection("frozen_program", (), ("hung",), ("melt", "rewarm"), alone="watchdog"),
    Injection("program_fault", (), ("raises",), ("melt", "rewarm"), alone="all_off"),
    Injection("memory_low", (), ("memory",), alone="memory"),
    Injection("loop_slow", (), ("late",), alone="late_passes"),
    Injection("test_runs_on", (), ("leases",), alone="lease"),
    Injection(
        "too_strong", (), ("wild", "strong"), ("melt",), ("has_sense", "has_plate"),
        alone="strongest",
    ),
    Injection("rig_not_proved", (), ("unproved", "wild"), ("melt",), alone="cap"),
    Injection("check_bypassed", (), ("bypassed", "wild"), ("melt",), alone="little_heat"),
    # What must not begin at all.
    Injection("remote_start", (), ("nobody_presses",), begin="boot"),
    Injection("remote_start", (), ("taps",), begin="boot", alone="long_press"),
    Injection("remote_start", (), ("presses_early",), begin="boot", alone="fresh_press"),
    Injection("remote_start", (("stop_open", True),), ("asks_again",)),
    Injection("button_stuck", (), ("chatters",), begin="boot", alone="stuck_button"),
    Injection("reset_in_batch", (), ("resets",)),
    Injection("reset_in_batch", (), ("resets", "leans"), alone="long_press"),
    Injection("unfit_configuration", (), ("bit_flipped",), begin="boot", alone="description"),
    Injection("fed_hot", (), ("fed_hot",), ("melt",), begin="boot", alone="too_hot_to_start"),
    Injection("stop_untested", (), ("stop_not_tried",), begin="boot", alone="stop_proof"),
    Injection(
        "probes_disagree", (("probe_shift_k", 6.5),), ("bare",), ("melt",), ("has_plate",),
        "boot", alone="agreement",
    ),
    Injection("clock_off", (), ("clock_runs",), begin="boot", alone="clock"),
    Injection("damaged_frame", (), ("garbled",), begin="boot", alone="frame_crc"),
    Injection("torn_upload", (), ("torn",), begin="boot", alone="digest"),
    Injection("absurd_schedule", (), ("absurd",), ("melt",), begin="boot", alone="ceiling"),
)  # fmt: skip

NOTHING_BEGINS = frozenset(
    {
        "remote_start", "button_stuck", "unfit_configuration", "fed_hot", "stop_untested",
        "probes_disagree", "clock_off", "damaged_frame", "torn_upload", "absurd_schedule",
    }
)  # fmt: skip
"""Hazards of which no output may be on at all."""

NOT_RUN = {
    "fan_dead": "told only: nothing heats while the fan is on, and the batch goes on",
    "update_mid_batch": "an update turns all off first; what can go wrong is files, not heat",
    "probe_unknown": "the simulated board reads its probes by name, not from a bus with a list",
    "wrong_board": "the simulated board is none of those that the program tells apart",
    "host_returns": "the host of reset_in_batch returns and asks for the start of what it knows",
    "two_hosts": "each frame is judged by itself: what one host cannot begin, two cannot",
    "host_not_reading": "the simulated port holds no pass up; passes that come late are loop_slow",
    "clock_wraps": "no fault: the same batch on both sides of the wrap is a shared test",
    "room_too_warm": "refused by the forecast; heat that goes too far is chocolate_hot",
    "record_full": "told only: no check reads what was written, and the batch goes on",
    "fan_stuck_on": "hardware only",
    "both_switches": "hardware only",
    "burn": "hardware only",
    "pinch": "hardware only",
    "wiring_short": "hardware only",
    "shock": "hardware only",
    "spill": "hardware only",
    "supply_sag": "hardware only",
    "food": "hardware only",
    "board_at_prompt": "hardware only",
}
"""Hazards of hazards.toml that the campaign does not meet, and why not."""
