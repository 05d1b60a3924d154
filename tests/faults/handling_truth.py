"""The witness of a handling sequence: what plant, script and display show, never a firmware flag.

A fault is missed when heat stays on past the bound that protocol/rigwire/hazards.toml states for
it. `HEAT_MOST_S` and `STOP_WITHIN_S` are those bounds and what the probes need on top: a
conversion begins every second, takes 750 ms and is read in the next pass.
"""

from collections import deque

from handling_cases import Case

from rigwire.states import STATES, STEP_STATE
from snapgloss.virtual.handling import Hands
from snapgloss.virtual.plant import Drive, Plant

STEPS = frozenset(STATES.index(state) for state in STEP_STATE.values())
HANDS_IN, STOPPED = STATES.index("hands_in"), STATES.index("stopped")
FINISHED = STATES.index("finished")
TICK_S = 0.25
CONVERSION_S = 2.0
ENABLE_FALLS_S = 1.25  # the edge train's hold, and the pass that ends it

HEAT_MOST_S = {  # hazard: seconds of heat from the fault on, in sum
    "probe_missing": 2.0 + CONVERSION_S,
    "probe_range": CONVERSION_S,
    "probe_jump": CONVERSION_S,
    "plate_missing": 2.0 + CONVERSION_S,
    "stop_loop": 2 * TICK_S,
}
STOP_WITHIN_S = {  # hazard: seconds from the fault on, in a batch
    "probe_missing": 4.0 + CONVERSION_S,
    "probe_range": 1.0 + CONVERSION_S,
    "plate_missing": 4.0 + CONVERSION_S,
    "stop_loop": 2 * TICK_S,
}
STATED = {  # hazard: the words of its bound that the figures above stand on
    "probe_missing": "heat off at 2 s, stopped at 4 s",
    "probe_range": "2 readings",
    "probe_jump": "2 readings",
    "plate_missing": "heat off at 2 s, stopped at 4 s",
    "stop_loop": "one pass of the loop, 250 ms",
    "no_rise": "the heat of 1.5 K and of melting without",
    "chocolate_hot": "at once at 4 K",
    "plate_hot": "stopped at 2 readings",
    "unattended": "3600 s",
    "probe_out": "60 s of heat from reading and truth 1 K apart, with a plate probe",
}
HOT_AT_ONCE_K, WIDER_K, WIDER_S = 4.0, 2.0, 180.0
PERSON_S = 120.0
PROBE_OUT_S = 60.0
PROBE_OUT_K = 1.5  # the heat of so much, where a heavy bowl takes longer for it
PROBE_PRESSED_S = 120.0  # after somebody pressed as if all were well
PROBE_OUT_OVER_K = 4.0
MELTING = (STATES.index("melting"), STATES.index("resting"))
LIMIT_S = 3.0  # two readings and a conversion
NOISE_K = 0.4
RECENT_S = 180.0
"""Hands dip a reading for less: a step's ceiling is the warmest of so long."""
LOSS_WIDER, COLD_ROOM_C = 1.5, 10.0
"""What the no-rise check takes off for the room."""


class Witness:
    """Call `see` after every tick, then read `failures`: words, each begins with its kind."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self.failures: list[str] = []
        self.stopped_s: float | None = None
        self.worst_over_k = -100.0  # of the true chocolate over its schedule's ceiling
        self.heat_s = 0.0  # of heat since the fault
        self._state_no = self._step_state_no = -1
        self._limit_c = 100.0
        self._contact_s = self._over_s = self._plate_s = self._off_s = 0.0
        self._energy_j = self._fallen_k = self._apart_heat_s = self._apart_heat_j = 0.0
        self._recent: deque[tuple[float, float]] = deque()
        self._is_apart = self._was_pressed_apart = False
        self._from_c: float | None = None
        self._alone_since_s = 2.0  # the press of start itself, and the pass that sees it end
        self._fault_in_batch: bool | None = None
        self._began_in_hands = False

    @property
    def is_fault_on(self) -> bool:
        """True once the fault has begun in a batch."""
        return bool(self._fault_in_batch)

    def see(
        self, since_s: float, state_no: int, plant: Plant, drive: Drive, hands: Hands, press: bool
    ) -> None:
        """One tick, `since_s` after the press of start."""
        fault = self._case.fault
        if fault and self._fault_in_batch is None and since_s >= (fault.begin_s or 0.0):
            self._fault_in_batch = state_no in STEPS or state_no == HANDS_IN
            self._began_in_hands = state_no == HANDS_IN
        self._follow(since_s, state_no, plant)
        is_heating = drive.enable and (drive.heat > 0 or plant.faults.heater_shorted)
        self._judge_state(since_s, state_no, is_heating)
        self._judge_hands(since_s, drive, hands)
        self._judge_limits(since_s, state_no, plant, is_heating)
        self._judge_presence(since_s, is_heating, press or hands.pedal_down)
        apart_k = (plant.probe_c or plant.product_c) - plant.product_c
        self._is_apart = abs(apart_k) > 1.0
        if press or not self._is_apart:
            self._apart_heat_s = self._apart_heat_j = 0.0
            self._was_pressed_apart = self._is_apart
        if self._fault_in_batch:
            self._count_heat(since_s, plant, drive, hands)
            self._judge_fault(since_s, state_no, drive, is_heating)

    def end(self, since_s: float, state_no: int, plant: Plant) -> None:
        """The sequence is over."""
        if plant.stirrer.jams:
            self._fail("jam", since_s, f"{plant.stirrer.jams} times")
        # A pause that has just begun waits for the person, who is given two minutes.
        waits = state_no == HANDS_IN and self._off_s < PERSON_S
        goes_on = state_no in STEPS or state_no == FINISHED or waits
        if self._case.fault is None and not goes_on:
            self._fail("batch_lost", since_s, f"ends in {STATES[state_no]}")

    def _fail(self, kind: str, since_s: float, words: str) -> None:
        if not any(failure.startswith(kind + " ") for failure in self.failures):
            self.failures.append(f"{kind} at {since_s:.0f} s: {words}")

    def _follow(self, since_s: float, state_no: int, plant: Plant) -> None:
        """What the chocolate may have in this step: its targets, or what it had at its begin."""
        self._recent.append((since_s, plant.probe_c or plant.product_c))
        while self._recent[0][0] < since_s - RECENT_S:
            self._recent.popleft()
        if state_no == self._state_no:
            return
        if state_no in STEPS and state_no != self._step_state_no:
            self._step_state_no = state_no
            of_state = [
                step.target_mc / 1000
                for step in self._case.schedule.steps
                if STATES.index(STEP_STATE[step.kind]) == state_no
            ]
            recent_c = max(probe_c for _, probe_c in self._recent)
            self._limit_c = max([*of_state, recent_c, plant.product_c])
        self._state_no = state_no

    def _judge_state(self, since_s: float, state_no: int, is_heating: bool) -> None:
        if state_no == STOPPED and self.stopped_s is None:
            self.stopped_s = since_s
            if not self._fault_in_batch:
                self._fail("stop_without_fault", since_s, "the display says stopped")
        self._off_s = 0.0 if state_no in STEPS else self._off_s + TICK_S
        if is_heating and self._off_s > ENABLE_FALLS_S:
            self._fail("heat_in_the_wrong_state", since_s, STATES[state_no])

    def _judge_hands(self, since_s: float, drive: Drive, hands: Hands) -> None:
        in_reach = hands.pedal_down or hands.bowl_off
        self._contact_s = self._contact_s + TICK_S if in_reach else 0.0
        if self._contact_s > 2 * TICK_S and (drive.stir > 0 or drive.heat > 0):
            self._fail("power_in_hands", since_s, f"heat {drive.heat:g}, stirrer {drive.stir:g}")

    def _judge_limits(self, since_s: float, state_no: int, plant: Plant, is_heating: bool) -> None:
        """Chocolate and plate as their probes have them, against what must stop the rig."""
        allowed_c = self._limit_c + HOT_AT_ONCE_K + NOISE_K
        if self._is_widened(since_s):
            allowed_c += WIDER_K
        probe_c, plate_c = plant.probe_c, plant.plate_probe_c
        runs = state_no in STEPS
        over = runs and probe_c is not None and probe_c > allowed_c
        self._over_s = self._over_s + TICK_S if over else 0.0
        if self._over_s > LIMIT_S and probe_c is not None:
            self._fail("fault_missed", since_s, f"chocolate probe {probe_c:.1f} C goes on")
        ceiling_c = self._case.rig.plate_ceiling_c + NOISE_K
        hot = self._case.rig.has_plate and plate_c is not None and plate_c > ceiling_c
        self._plate_s = self._plate_s + TICK_S if hot and (runs or is_heating) else 0.0
        if self._plate_s > LIMIT_S and plate_c is not None:
            self._fail("fault_missed", since_s, f"plate probe {plate_c:.1f} C goes on")
        over_k = plant.product_c - self._case.schedule.ceiling_mc / 1000
        self.worst_over_k = max(self.worst_over_k, over_k)

    def _is_widened(self, since_s: float) -> bool:
        return any(
            "declared" in act.words and 0.0 <= since_s - act.begin_s < WIDER_S + 2.0
            for act in self._case.acts
        )

    def _judge_presence(self, since_s: float, is_heating: bool, is_here: bool) -> None:
        if is_here:
            self._alone_since_s = since_s
        alone_s = since_s - self._alone_since_s
        if is_heating and alone_s > self._case.rig.attended_limit_s + ENABLE_FALLS_S:
            self._fail("fault_missed", since_s, f"heat with nobody there for {alone_s:.0f} s")

    def _judge_fault(self, since_s: float, state_no: int, drive: Drive, is_heating: bool) -> None:
        fault, hazard = self._case.fault, self._case.hazard
        assert fault is not None and fault.begin_s is not None
        age_s = since_s - fault.begin_s
        if is_heating:
            self.heat_s += TICK_S
        most_s = HEAT_MOST_S.get(hazard)
        if hazard == "probe_jump" and self._began_in_hands:
            most_s = None  # a jump while the probe is handled is none; what follows is judged
        if most_s is not None and self.heat_s > most_s:
            self._fail("fault_missed", since_s, f"{hazard}: heat on for {self.heat_s:g} s")
        within_s = STOP_WITHIN_S.get(hazard)
        runs = state_no in STEPS or state_no == HANDS_IN
        if within_s is not None and age_s > within_s and runs:
            self._fail("fault_missed", since_s, f"{hazard}: not stopped after {age_s:g} s")
        if hazard == "stop_loop" and age_s > 2 * TICK_S and (drive.stir > 0 or drive.fan > 0):
            self._fail("fault_missed", since_s, "stop_loop: something still turns")
        if hazard == "probe_out":
            self._judge_probe_out(since_s, is_heating, drive.heat)
        if hazard == "no_rise" and self._energy_j > self._most_energy_j():
            self._fail("fault_missed", since_s, f"no_rise: {self._energy_j / 1000:.0f} kJ asked")

    def _judge_probe_out(self, since_s: float, is_heating: bool, heat: float) -> None:
        """Once molten, with a plate probe: at most 60 s of heat since reading and truth parted,
        or 120 s since a person pressed as if all were well, or the heat of 1.5 K where that takes
        longer; what a declared addition widens is not counted. While melting, and without a plate
        probe, what counts is that the chocolate never has what stops a rig at once."""
        rig, mass_g = self._case.rig, self._case.setup.mass_g
        if self._is_apart and is_heating and not self._is_widened(since_s):
            self._apart_heat_s += TICK_S
            self._apart_heat_j += TICK_S * heat * rig.heater_w
        is_bounded = self._case.rig.has_plate and self._step_state_no not in MELTING
        most_s = PROBE_PRESSED_S if self._was_pressed_apart else PROBE_OUT_S
        most_j = PROBE_OUT_K * (2.0 * mass_g + rig.plate_j_per_k)
        is_over = self._apart_heat_s > most_s and self._apart_heat_j > most_j
        if is_bounded and is_over:
            self._fail("fault_missed", since_s, f"probe_out: heat on for {self._apart_heat_s:g} s")
        if is_heating and self.worst_over_k > PROBE_OUT_OVER_K:
            self._fail("fault_missed", since_s, f"probe_out: {self.worst_over_k:.1f} K too hot")

    def _count_heat(self, since_s: float, plant: Plant, drive: Drive, hands: Hands) -> None:
        """Heat asked for since fault or hands, less the loss that the check takes off."""
        declared = any(
            "declared" in act.words and act.begin_s <= since_s < act.begin_s + 2.0
            for act in self._case.acts
        )
        probe_c = plant.probe_c
        if hands.pedal_down or hands.bowl_off or declared or probe_c is None:
            self._energy_j, self._from_c = 0.0, None
            return
        self._from_c = max(probe_c, self._from_c or probe_c)
        self._fallen_k = self._from_c - probe_c
        rig = self._case.rig
        room_c = plant.room_c if rig.has_room else COLD_ROOM_C
        lost_w = LOSS_WIDER * rig.loss_w_per_k * max(0.0, probe_c - room_c)
        asked_w = drive.heat * rig.heater_w - lost_w
        self._energy_j = max(0.0, self._energy_j + TICK_S * asked_w)

    def _most_energy_j(self) -> float:
        """The heat of 1.5 K, of what fell, of melting and of the plate; half as much again."""
        rig, mass_g = self._case.rig, self._case.setup.mass_g
        energy_j = (mass_g * 2.0 + rig.plate_j_per_k) * (1.5 + self._fallen_k) + mass_g * 63.0
        return 1.5 * (energy_j + rig.plate_j_per_k * rig.heater_w / rig.plate_w_per_k)
