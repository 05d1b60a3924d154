"""What a batch says of the rig's sample probe: one sentence when a curve is done, no tap."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError, LinkError, StoreError
from snapgloss.base.units import show_span, show_temperature

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from snapgloss.base.records import Sample
    from snapgloss.link.client import RigLink
    from snapgloss.quality.kept_curves import About
    from snapgloss.quality.temper_bands import GradedBar
    from snapgloss.quality.temper_live import LiveCurve
    from snapgloss.quality.temper_verdict import TemperVerdict
    from snapgloss.runs.plan import BatchPlan
    from snapgloss.runs.sampling import SampleCurve
    from snapgloss.store.rows import RunRow
    from snapgloss.store.store import Store


CURVES = "curves"
"""Folder of kept curves inside the data folder."""
NEW_BOOT_MS = 5000  # the rig's clock runs backwards only over a reset


def name_by_clock() -> str:
    """Return a name for a curve of now: `2026-11-30-1405`."""
    return time.strftime("%Y-%m-%d-%H%M")


def about_of(plan: BatchPlan, simulated: bool) -> About:
    """Return what a cooling curve of this batch is kept under."""
    from snapgloss.quality.kept_curves import About
    from snapgloss.quality.temper_bands import method_key

    schedule = plan.schedule
    seed_g = sum(step.grams for step in schedule.steps)
    method = method_key(schedule.method, seed_g, schedule.mass_g)
    return About(plan.chocolate, method, plan.rig, simulated)


def about_of_run(run: RunRow) -> About:
    """Return the same for a batch of the record. Raises InputError when its schedule is lost."""
    from snapgloss.quality.kept_curves import About
    from snapgloss.quality.temper_bands import method_key
    from snapgloss.schedules import files

    seed_g = files.from_text(run.schedule_toml).seed_g
    method = method_key(run.method, seed_g, run.mass_g)
    return About(run.chocolate, method, run.rig, run.simulated)


class SampleNow(NamedTuple):
    """How far a sample is: "" for none heard, or the phase of `quality.temper_live`.

    `words` guide a person through it; `since_s` how long it has been in the cold, `sample_mc` its
    newest temperature.
    """

    phase: str
    words: str
    since_s: int = 0
    sample_mc: int | None = None


NO_PROBE_HEARD = "No sample probe is heard. The knife alone is a test, too."
LEAVE_IT = "In the cold for {span}, now {at}. Leave it alone. {quarter}"
ANOTHER = "{said} Fill another tube."


class SampleWords:
    """Follows the sample probe beside a batch; a curve that is done is kept in `data_folder`, and
    with its run in the record, whose graded bars move the bands.

    Costs nothing on a rig without such a probe: all that reads curves is imported with the first
    sample.
    """

    def __init__(
        self, data_folder: Path, about: About, store: Store,
        name: Callable[[], str] = name_by_clock,
    ) -> None:  # fmt: skip
        self._data_folder, self._about, self._name = data_folder, about, name
        self._store = store
        self._samples: SampleCurve | None = None
        self._at_ms = 0
        self._newest_mc: int | None = None
        self._told = ""

    @property
    def now(self) -> SampleNow:
        """How far the sample is; from any thread."""
        samples = self._samples
        if samples is None:
            return SampleNow("", NO_PROBE_HEARD)
        curve = samples.curve
        if curve.phase == "cooling" and curve.seconds:
            from snapgloss.runs.sampling import QUARTER

            since_s = round(curve.seconds[-1] - curve.seconds[0])
            at = show_temperature(self._newest_mc)
            words = LEAVE_IT.format(span=show_span(since_s), at=at, quarter=QUARTER)
            return SampleNow("cooling", words, since_s, self._newest_mc)
        return SampleNow(curve.phase, self._words(curve), 0, self._newest_mc)

    def _words(self, curve: LiveCurve) -> str:
        from snapgloss.runs.sampling import FILL

        if curve.phase == "done":
            return self._told
        if curve.phase == "refused" and curve.was_cold:
            return ANOTHER.format(said=self._told)
        return FILL

    def take(self, sample: Sample, link: RigLink, run_id: int | None) -> str:
        """Take a sample of a run, None before it began; return a sentence when its curve is done,
        else nothing.

        A curve that cannot be used is told only of a sample that has been in the cold; a cable
        that comes out is the batch's to notice. After a reset of the rig all begins anew.
        """
        is_new_boot = sample.at_ms < self._at_ms - NEW_BOOT_MS
        self._at_ms, self._newest_mc = sample.at_ms, sample.sample_mc
        if self._samples is None or is_new_boot:
            from snapgloss.runs.sampling import SampleCurve

            self._samples = SampleCurve()
        try:
            if not self._samples.take(sample, link):
                return ""
        except LinkError:
            return ""
        curve = self._samples.curve
        if curve.phase == "done" or (curve.phase == "refused" and curve.was_cold):
            self._told = self._said(curve, run_id)
            return self._told
        return ""

    def _said(self, curve: LiveCurve, run_id: int | None) -> str:
        from snapgloss.quality.kept_curves import write_curve
        from snapgloss.quality.temper_bands import bands_of
        from snapgloss.quality.temper_verdict import sentence_of, verdict_of

        said = f"{curve.refusal}"
        try:
            if curve.features is not None:
                verdict = verdict_of(curve.features, bands_of(self._bars(), self._about.method))
                said = sentence_of(verdict)
                self._keep(run_id, verdict, curve)
            path = write_curve(
                curve.seconds, curve.celsius, self._data_folder / CURVES, self._name(), self._about
            )
        except StoreError as fault:
            return f"{said} {fault}"
        return f"{said} ({path.name})"

    def _keep(self, run_id: int | None, verdict: TemperVerdict, curve: LiveCurve) -> None:
        if run_id is not None:
            points = points_text(curve.seconds, curve.celsius)
            ratio = verdict.features.set_ratio
            self._store.add_curve(run_id, ratio, verdict.place, None, points)

    def _bars(self) -> list[GradedBar]:
        """The maker's own; a file that cannot be read must not end a batch."""
        from snapgloss.quality.temper_file import own_bars
        from snapgloss.runs.grading import graded_bars

        graded = graded_bars(self._store)
        try:
            return own_bars(self._data_folder) + graded
        except InputError:
            return graded


def points_text(seconds: Sequence[float], celsius: Sequence[float]) -> str:
    """A cooling curve as the record keeps it: a line for each reading, seconds and degC."""
    pairs = zip(seconds, celsius, strict=True)
    return "".join(f"{at_s:g},{at_c:g}\n" for at_s, at_c in pairs)
