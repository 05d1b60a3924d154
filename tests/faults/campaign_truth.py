"""The invariant of the campaign, read from the plant alone, never from a firmware flag.

In every tick of 250 ms: healthy, or within the bound of the fault, or no power at the heater; and
the plate never more than 5 degC over its limit. The bound counts from the moment the fault does
harm: where a probe slipped out, or was swapped for another, from where its reading and the truth
are 1 K apart; for a shorted switch, from where the heat was first told to be off; for chocolate
that gets too hot, from where its probe is 2 K over the step; for a hot plate, from where its probe
is over the limit. A shorted switch that only its heat tells of is bounded by the chocolate, not by
a time: the enable relay, which opens when no heat is asked for, may go on holding the target in
the switch's stead.
"""

from campaign_cases import FaultCase

from snapgloss.virtual.plant import Drive, Plant

TICK_S = 0.25
PLATE_OVER_K = 5.0
APART_K = 1.0
HOT_K, NOISE_K = 2.0, 0.25
ASKED = ("no_rise",)
"""Heat that is asked for counts, though a dead heater gives none."""
WHILE_OVER = ("chocolate_hot", "plate_hot", "probes_swapped")
"""What is too hot, or wrong, does harm until it is not."""
ASKED_MEAN_S, ASKED_LEAST = 60.0, 0.33
STUCK_OVER_K, SHORTED_OVER_K = 2.5, 1.5


class Judge:
    """`see` after every tick; then `unsafe` is words or "", `off_s` the time heat went on for.

    Where a temperature is the bound, too (`bound_k`, else None), `worst_k` is the farthest that
    the true chocolate, still heated, was over what it is counted from.
    """

    def __init__(self, case: FaultCase) -> None:
        self._case = case
        self.unsafe = ""
        self.off_s = 0.0
        self.is_met = False
        self.bound_k, self._from_c = _warmth(case)
        self.worst_k = 0.0
        self._ceiling_c: float | None = None
        self._harm_s: float | None = None
        self._unasked_s = self._asked_mean = 0.0

    def see(self, since_s: float, plant: Plant, drive: Drive, is_pressed: bool) -> None:
        """One tick, `since_s` after the press of start. Whoever presses says that all is well:
        the bound counts from there again."""
        self._judge_plate(since_s, plant)
        if self._ceiling_c is None:
            target_c = self._case.schedule.steps[0].target_mc / 1000
            self._ceiling_c = max(target_c, plant.probe_c or target_c)
        case = self._case
        if since_s < case.onset_s:
            return
        self.is_met = True
        self._unasked_s = 0.0 if drive.heat else self._unasked_s + TICK_S
        if is_pressed or (self._harm_s is None and self._does_harm(plant)):
            self._harm_s = since_s
        elif case.injection.hazard in WHILE_OVER and not self._does_harm(plant):
            self._harm_s = None
        heats = heater_w(plant, drive) > 0
        if case.injection.hazard in ASKED:
            heats = drive.enable and drive.heat > 0
            self._count_asked(since_s, drive.heat if drive.enable else 0.0)
        if heats and self.bound_k is not None:
            self._judge_chocolate(since_s, plant.product_c, self.bound_k)
        if not heats or self._harm_s is None:
            return
        self.off_s = max(self.off_s, since_s - self._harm_s + TICK_S)
        if self.off_s > case.bound_s and not case.is_shorted_unsensed:
            self._fail(since_s, f"heat on {self.off_s:g} s after the fault")

    def _count_asked(self, since_s: float, heat: float) -> None:
        """A dead heater is judged while a third of its power is asked for in the mean."""
        self._asked_mean += (heat - self._asked_mean) * TICK_S / ASKED_MEAN_S
        if self._asked_mean < ASKED_LEAST:
            self._harm_s = since_s

    def _does_harm(self, plant: Plant) -> bool:
        hazard = self._case.injection.hazard
        if hazard == "switch_shorted":  # while heat is asked for, a shorted switch is none
            return self._unasked_s > TICK_S
        if hazard == "chocolate_hot":
            over_c = (self._ceiling_c or 0.0) + HOT_K + NOISE_K
            return plant.probe_c is not None and plant.probe_c > over_c
        if hazard == "plate_hot":
            probe_c = plant.plate_probe_c
            return probe_c is not None and probe_c > self._case.rig.plate_ceiling_c
        if hazard == "probes_swapped":
            return plant.plate_c - plant.product_c > APART_K
        if hazard != "probe_out":
            return True
        reading_c = (plant.probe_c or 0.0) - self._case.setup.probe_offset_c
        return abs(reading_c - plant.product_c) > APART_K

    def _judge_plate(self, since_s: float, plant: Plant) -> None:
        limit_c = self._case.rig.plate_ceiling_c
        if plant.plate_c > limit_c + PLATE_OVER_K:
            self._fail(since_s, f"plate at {plant.plate_c:.1f} C")

    def _judge_chocolate(self, since_s: float, product_c: float, bound_k: float) -> None:
        self.worst_k = max(self.worst_k, product_c - self._from_c)
        if product_c > self._from_c + bound_k:
            self._fail(since_s, f"chocolate at {product_c:.1f} C and heat on")

    def _fail(self, since_s: float, words: str) -> None:
        if not self.unsafe:
            self.unsafe = f"at {since_s:.2f} s: {words}"


def _warmth(case: FaultCase) -> tuple[float | None, float]:
    """The bound in K and the degC it counts from, of faults that time alone does not judge."""
    step = case.schedule.steps[0]
    if case.is_shorted_unsensed:
        return SHORTED_OVER_K, step.target_mc / 1000 + abs(case.setup.probe_offset_c)
    if case.injection.hazard == "stuck_reading":
        return STUCK_OVER_K, step.wall_mc / 1000
    return None, 0.0


def heater_w(plant: Plant, drive: Drive) -> float:
    """The true power at the heater."""
    return plant._heat_w(drive)
