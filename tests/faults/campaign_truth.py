"""The invariant of the campaign, read from the plant alone, never from a firmware flag.

Every simulated 100 ms from the boot on: before the press of start there is no power at the heater;
after it all is healthy, or within the bound of the fault, or there is no power; and the plate is
never more than 5 degC over its limit. Where nothing may begin, no output may be on at all.

The bound counts from the moment the fault does harm: where a probe slipped out, from where its
reading and the truth are 1 K apart, anew where they part again after they agreed and nothing was
heated between; where two are swapped, from where they differ by 1 K and half
of all heat is asked for in the mean, since with less the chocolate is only a little colder; for a
shorted switch, from where the heat was first told to be off; for chocolate that gets too hot, from
where its probe is 2 K over the step; for a hot plate, from where its probe is over the limit of
step or rig; for a test, from its last lease. For a dead heater it is the seconds in which a third
of its power is asked for, presses or not; under set chocolate as many as a hot plate can hide it,
see `cooling_s`. A shorted switch that only its heat tells of, and a probe out of the bowl where no
plate probe sees it, are bounded by the chocolate's true temperature; a probe out of a heavy bowl,
or while seed is due, by the heat of 1.5 K of the batch.
"""

from collections import deque

from campaign_cases import HEAVY_K, FaultCase
from campaign_table import BY_HEAT, NOTHING_BEGINS, OUT_BY_HEAT, OUT_BY_WARMTH

from snapgloss.virtual.plant import Drive, Plant

LOOK_MS = 100
LOOK_S = LOOK_MS / 1000
PLATE_OVER_K = 5.0
APART_K = 1.0
HOT_K, NOISE_K = 2.0, 0.25
LATER = (
    "switch_shorted", "chocolate_hot", "plate_hot", "probes_swapped", "probe_out", "probe_range",
    "relay_welded", "too_strong", "rig_not_proved", "check_bypassed",
)  # fmt: skip
"""Hazards whose harm begins some time after their cause."""
WITH_LITTLE = ("rig_not_proved", "check_bypassed")
TOO_MUCH = ("too_strong", *WITH_LITTLE)
WHILE_OVER = ("chocolate_hot", "plate_hot", "probes_swapped", *TOO_MUCH)
"""What is too hot, too strong or wrong does harm until it is not."""
ASKED_MEAN_S, ASKED_LEAST, ASKED_HALF = 60.0, 0.33, 0.5
PRESSED_S = 120.0
"""Of a probe that is out, from a press on that says that all is well: as hazards.toml has it."""
STUCK_OVER_K, SHORTED_OVER_K, OUT_OVER_K = 2.5, 1.5, 4.0
NO_TIME = (BY_HEAT, OUT_BY_WARMTH, OUT_BY_HEAT)
MEAN_S = 34
STRONG_K_PER_S, LITTLE_W, MORE = 0.148, 20.0, 1.2


class Judge:
    """`look` every 100 ms; then `unsafe` is words or "", `off_s` the time heat went on for.

    Where a temperature is the bound, too (`bound_k`, else None), `worst_k` is the farthest that
    the true chocolate, still heated, was over what it is counted from. Once
    somebody pressed that all is well with a probe that is out, `pressed_s` counts in its stead,
    and may be PRESSED_S; else it is None. `began` says that the rig
    was at work before the fault; `looks` counts. A run must go on for its bound and more from
    `follow_s`, None before there is harm.
    """

    def __init__(self, case: FaultCase) -> None:
        self._case = case
        self.unsafe = ""
        self.off_s = self.worst_k = 0.0
        self.looks = 0
        self.is_met = self.began = False
        self.bound_k, self._from_c = _warmth(case)
        self.harm_s: float | None = None
        self.follow_s: float | None = None
        self.last_lease_s: float | None = None
        self._ceiling_c: float | None = None
        self._unasked_s = self._asked_mean = self._harm_from_j = 0.0
        self.pressed_s: float | None = None
        self._is_latched = False
        self._given_j: deque[float] = deque(maxlen=round(MEAN_S / LOOK_S) + 1)

    def look(self, at_s: float, since_s: float | None, plant: Plant, drive: Drive,
             is_pressed: bool, heat_j: float) -> None:  # fmt: skip
        """`at_s` since the rig has its power, `since_s` since the press of start, None before it;
        `heat_j` is what the heater gave until now. Whoever presses later says that all is well:
        the bound counts from there again."""
        self.looks += 1
        self._judge_plate(at_s, plant)
        watts = heater_w(plant, drive)
        self._given_j.append(heat_j)
        if self._case.hazard in NOTHING_BEGINS and self._case.is_boot:
            self._judge_nothing(at_s, drive, watts)
        elif since_s is None:
            if watts > 0:
                self._fail(at_s, "heat before the press")
        else:
            self._judge_batch(at_s, since_s, plant, drive, is_pressed, watts)

    def _judge_nothing(self, at_s: float, drive: Drive, watts: float) -> None:
        self.is_met = True
        if watts > 0 or drive.heat > 0 or drive.stir > 0 or drive.fan > 0:
            self.off_s += LOOK_S
            self._fail(at_s, "something began")

    def _judge_batch(self, at_s: float, since_s: float, plant: Plant, drive: Drive,
                     is_pressed: bool, watts: float) -> None:  # fmt: skip
        case = self._case
        if self._ceiling_c is None:
            target_c = case.schedule.steps[0].target_mc / 1000
            self._ceiling_c = max(target_c, plant.probe_c or target_c)
        if since_s <= case.onset_s:
            self.began = self.began or drive.stir > 0 or drive.heat > 0
            return
        self.is_met = True
        heat = drive.heat if drive.enable else 0.0
        self._asked_mean += (heat - self._asked_mean) * LOOK_S / ASKED_MEAN_S
        self._follow_harm(since_s, plant, drive, is_pressed)
        if self.follow_s is None:
            self.follow_s = self.harm_s
        if case.hazard == "no_rise":
            self._judge_dead(at_s, heat)
            return
        is_on = watts > 0
        if is_on and self.bound_k is not None and case.row != OUT_BY_HEAT:
            self._judge_chocolate(at_s, plant.product_c, self.bound_k)
        if not is_on or self.harm_s is None:
            return
        on_s = since_s - self.harm_s
        if self.pressed_s is None:
            self.off_s = max(self.off_s, on_s)
        else:
            self.pressed_s = max(self.pressed_s, on_s)
        if case.row == OUT_BY_HEAT:
            harm_j = self._given_j[-1] - self._harm_from_j
            self.worst_k = max(self.worst_k, harm_j / case.heat_j_per_k)
            if self.worst_k > HEAVY_K:
                self._fail(at_s, f"the heat of {self.worst_k:.2f} K after the fault")
        elif on_s > self._most_s() + LOOK_S / 2 and case.row not in NO_TIME:
            self._fail(at_s, f"heat on {on_s:.1f} s after the fault")

    def _most_s(self) -> float:
        return self._case.bound_s if self.pressed_s is None else PRESSED_S

    def _follow_harm(self, since_s: float, plant: Plant, drive: Drive, is_pressed: bool) -> None:
        self._unasked_s = 0.0 if drive.heat else self._unasked_s + LOOK_S
        hazard = self._case.hazard
        if self.last_lease_s is not None:
            self.harm_s = self.last_lease_s
            return
        is_harm = hazard not in LATER or self._does_harm(plant)
        if is_pressed and hazard == "probe_out":
            self.pressed_s = self.pressed_s or 0.0
        if is_pressed or (self.harm_s is None and is_harm):
            is_first = hazard not in LATER and not is_pressed
            self.follow_s = self.follow_s if self.harm_s is not None else None
            self.harm_s = self._case.onset_s if is_first else since_s - LOOK_S
            self._harm_from_j = self._given_j[-1]
        elif hazard in WHILE_OVER and not is_harm and not self._is_latched:
            self.harm_s = None
        elif hazard == "probe_out" and not is_harm and self._is_unheated():
            self.harm_s, self.follow_s = None, since_s

    def _is_unheated(self) -> bool:
        """Nothing was heated since there is harm."""
        return self.harm_s is not None and self._given_j[-1] == self._harm_from_j

    def _judge_dead(self, at_s: float, heat: float) -> None:
        """Heat that is asked for counts, though none comes of it, while it is a third of all in
        the mean; pauses and presses only interrupt the count."""
        if heat > 0 and self._asked_mean >= ASKED_LEAST:
            self.off_s += LOOK_S
        if self.off_s > self._case.bound_s + LOOK_S / 2:
            self._fail(at_s, f"heat asked for in {self.off_s:.1f} s, and no rise")

    def _does_harm(self, plant: Plant) -> bool:
        """Whether what is wrong can be told by now."""
        case, hazard = self._case, self._case.hazard
        if hazard == "switch_shorted":  # while heat is asked for, a shorted switch is none
            return self._unasked_s > 0.25
        if hazard == "relay_welded":
            return self._given_j[-1] > self._given_j[-2]
        if hazard in TOO_MUCH:
            mean_w = (self._given_j[-1] - self._given_j[0]) / MEAN_S
            return mean_w > MORE * _most_w(case)
        if hazard == "chocolate_hot":
            over_c = (self._ceiling_c or 0.0) + HOT_K + NOISE_K
            return plant.probe_c is not None and plant.probe_c > over_c
        if hazard == "probe_range":
            return plant.probe_c is not None and not 0.0 < plant.probe_c + NOISE_K < 65.0
        if hazard == "plate_hot":
            return self._is_plate_over(plant.plate_probe_c)
        if hazard == "probes_swapped":
            is_hotter = plant.plate_c - plant.product_c > APART_K
            return is_hotter and self._asked_mean >= ASKED_HALF
        reading_c = (plant.probe_c or 0.0) - case.setup.probe_offset_c
        return abs(reading_c - plant.product_c) > APART_K

    def _is_plate_over(self, probe_c: float | None) -> bool:
        """Over the step's limit, or, for good, over the rig's own."""
        if probe_c is None:
            return False
        ceiling_c = self._case.rig.plate_ceiling_c
        if probe_c > ceiling_c + NOISE_K:
            self._is_latched = True
        wall_c = self._case.schedule.steps[0].wall_mc / 1000
        return probe_c > min(wall_c, ceiling_c) + NOISE_K

    def _judge_plate(self, at_s: float, plant: Plant) -> None:
        if plant.plate_c > self._case.rig.plate_ceiling_c + PLATE_OVER_K:
            self._fail(at_s, f"plate at {plant.plate_c:.1f} C")

    def _judge_chocolate(self, at_s: float, product_c: float, bound_k: float) -> None:
        self.worst_k = max(self.worst_k, product_c - self._from_c)
        if product_c > self._from_c + bound_k:
            self._fail(at_s, f"chocolate at {product_c:.1f} C and heat on")

    def _fail(self, at_s: float, words: str) -> None:
        if not self.unsafe:
            self.unsafe = f"at {at_s:.1f} s: {words}"


def _warmth(case: FaultCase) -> tuple[float | None, float]:
    """The bound in K and the degC it counts from, of faults that time alone does not judge."""
    step = case.schedule.steps[0]
    if case.row == BY_HEAT:
        return SHORTED_OVER_K, step.target_mc / 1000 + abs(case.setup.probe_offset_c)
    if case.row == OUT_BY_WARMTH:
        return OUT_OVER_K, case.schedule.ceiling_mc / 1000
    if case.row == OUT_BY_HEAT:
        return HEAVY_K, 0.0
    if case.hazard == "stuck_reading":
        return STUCK_OVER_K, step.wall_mc / 1000
    return None, 0.0


def _most_w(case: FaultCase) -> float:
    """The mean power that this rig may have with so little in it, without proof or a check."""
    if case.hazard in WITH_LITTLE:
        return LITTLE_W
    j_per_k = 1.59 * case.setup.mass_g + case.rig.plate_j_per_k
    return j_per_k * STRONG_K_PER_S


def heater_w(plant: Plant, drive: Drive) -> float:
    """The true power at the heater."""
    return plant._heat_w(drive)
