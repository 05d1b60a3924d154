"""The invariant of the campaign, read from the plant alone, never from a firmware flag.

In every tick of 250 ms: healthy, or within the bound of the fault, or no power at the heater; and
the plate never more than 5 degC over its limit. The bound counts from the moment the fault does
harm: for a probe that slips out, from where its reading and the truth are 1 K apart; for a shorted
switch, from where the heat was first told to be off.
"""

from campaign_cases import FaultCase

from snapgloss.virtual.plant import Drive, Plant

TICK_S = 0.25
PLATE_OVER_K = 5.0
APART_K = 1.0
ASKED = ("no_rise",)
"""Heat that is asked for counts, though a dead heater gives none."""
ASKED_MEAN_S, ASKED_LEAST = 60.0, 0.33
TOO_WARM_K = 2.5
SHORTED_OVER_K = 1.5
BY_WARMTH = ("stuck_reading", "plate_hot")
"""Judged by the temperatures reached, not by a time: chocolate over its wall limit, or plate."""


class Judge:
    """`see` after every tick; then `unsafe` is words or "", `off_s` the time heat went on for."""

    def __init__(self, case: FaultCase) -> None:
        self._case = case
        self.unsafe = ""
        self.off_s = 0.0
        self.is_met = False
        self._harm_s: float | None = None
        self._unasked_s = self._asked_mean = 0.0

    def see(self, since_s: float, plant: Plant, drive: Drive, is_pressed: bool) -> None:
        """One tick, `since_s` after the press of start. Whoever presses says that all is well:
        the bound counts from there again."""
        self._judge_plate(since_s, plant)
        case = self._case
        if since_s < case.onset_s:
            return
        self.is_met = True
        self._unasked_s = 0.0 if drive.heat else self._unasked_s + TICK_S
        if is_pressed or (self._harm_s is None and self._does_harm(plant)):
            self._harm_s = since_s
        heats = heater_w(plant, drive) > 0
        if case.injection.hazard in ASKED:
            heats = drive.enable and drive.heat > 0
            self._count_asked(since_s, drive.heat if drive.enable else 0.0)
        if not heats or self._harm_s is None:
            return
        self.off_s = since_s - self._harm_s + TICK_S
        if case.injection.hazard in BY_WARMTH or case.is_shorted_unsensed:
            self._judge_chocolate(since_s, plant)
        elif self.off_s > case.bound_s:
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
        if hazard != "probe_out":
            return True
        reading_c = (plant.probe_c or 0.0) - self._case.setup.probe_offset_c
        return abs(reading_c - plant.product_c) > APART_K

    def _judge_plate(self, since_s: float, plant: Plant) -> None:
        limit_c = self._case.rig.plate_ceiling_c
        if plant.plate_c > limit_c + PLATE_OVER_K:
            self._fail(since_s, f"plate at {plant.plate_c:.1f} C")

    def _judge_chocolate(self, since_s: float, plant: Plant) -> None:
        """Heat, and the chocolate over what its plate may have in this step."""
        step = self._case.schedule.steps[0]
        most_c = step.wall_mc / 1000 + TOO_WARM_K
        if self._case.is_shorted_unsensed:
            offset_k = abs(self._case.setup.probe_offset_c)
            most_c = step.target_mc / 1000 + SHORTED_OVER_K + offset_k
        if plant.product_c > most_c:
            self._fail(since_s, f"chocolate at {plant.product_c:.1f} C and heat on")

    def _fail(self, since_s: float, words: str) -> None:
        if not self.unsafe:
            self.unsafe = f"at {since_s:.2f} s: {words}"


def heater_w(plant: Plant, drive: Drive) -> float:
    """The true power at the heater."""
    return plant._heat_w(drive)
