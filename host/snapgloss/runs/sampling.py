"""The rig's own sample probe: a cooling curve read live, beside a batch or by itself.

The curve is written down as a file that `snapgloss temper` reads again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from snapgloss.base.errors import LinkError, RigError
from snapgloss.base.records import Reading, Sample
from snapgloss.base.units import show_temperature
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot
from snapgloss.quality.temper_live import LiveCurve
from snapgloss.runs.connect import HOST_VERSION

if TYPE_CHECKING:
    from snapgloss.link.decode import Record

KEPT_S = 900  # of the samples that the rig still has: a tube may have gone in before
WAIT_S, SILENCE_S = 1.0, 15.0
PROBE_WITHIN = 10  # readings without a sample: there is no such probe, or it does not answer
OLD_FIRMWARE = (
    "The rig's firmware does not know of a sample probe.",
    "Update it with `snapgloss deploy`.",
)
NO_PROBE = (
    "The rig has no sample probe that answers.",
    "Plug it in and give it the role sample in the rig's list of probes.",
)
NO_SAMPLE = (
    "No sample went into the cold.",
    "Fill the tube with chocolate at working temperature, put it into the cold, and ask again.",
)


FILL = "Fill the tube with chocolate and put it into the cold."
QUARTER = "About a quarter of an hour."


class SampleCurve:
    """The sample probe of one rig, its holes filled from what the rig has kept."""

    def __init__(self, cold_c: float | None = None) -> None:
        self._cold_c = cold_c
        self.start_anew()

    def start_anew(self) -> None:
        """Forget all: the rig has started anew, and so has its clock."""
        self.curve = LiveCurve(self._cold_c)
        self._next_seq: int | None = None

    def take(self, sample: Sample, link: RigLink) -> bool:
        """Take a sample; True when the phase of `curve` has changed. Raises LinkError."""
        changed = False
        if self._next_seq is not None and sample.seq > self._next_seq:
            changed = self._fill(self._next_seq, sample.seq, link)
        return self._keep(sample) or changed

    def catch_up(self, from_seq: int, to_seq: int, link: RigLink) -> bool:
        """Take what the rig has kept from `from_seq` to before `to_seq`. Raises LinkError."""
        return self._fill(from_seq, to_seq, link)

    def _fill(self, seq: int, to_seq: int, link: RigLink) -> bool:
        changed = False
        while seq < to_seq:
            kept = [one for one in link.samples(seq) if one.seq < to_seq]
            if not kept:
                break
            for one in kept:
                changed = self._keep(one) or changed
            seq = kept[-1].seq + 1
        return changed

    def _keep(self, sample: Sample) -> bool:
        if self._next_seq is not None and sample.seq < self._next_seq:
            return False
        self._next_seq = sample.seq + 1
        mc = sample.sample_mc
        return self.curve.take(sample.at_ms / 1000, math.nan if mc is None else mc / 1000)


def read_live(
    link: RigLink, cold_c: float | None, say: Callable[[str], None], fahrenheit: bool = False
) -> LiveCurve:
    """Wait for a sample and follow it until its curve says enough, or is refused.

    Nothing is asked of the rig but to tell. Raises RigError without a sample probe, LinkError when
    the rig is gone. Ctrl-C ends the curve where it is.
    """
    if not link.knows_samples:
        raise RigError(*OLD_FIRMWARE)
    follower = _Follower(link, cold_c, say, fahrenheit)
    try:
        follower.run()
    except KeyboardInterrupt:
        follower.samples.curve.finish()
    return follower.samples.curve


class _Follower:
    def __init__(
        self, link: RigLink, cold_c: float | None, say: Callable[[str], None], fahrenheit: bool
    ) -> None:
        self._link, self._say, self._fahrenheit = link, say, fahrenheit
        self.samples = SampleCurve(cold_c)
        self._readings = self._heard = 0

    def run(self) -> None:
        """See read_live."""
        self._catch_up()
        self._told()
        heard_s = self._link.now_s()
        while self.samples.curve.phase in ("waiting", "cooling"):
            self._link.wait(WAIT_S)
            records = self._link.take()
            self._take(records)
            heard_s = self._link.now_s() if records else heard_s
            if self._link.now_s() - heard_s > SILENCE_S:
                raise LinkError("The rig tells nothing any more.", "Look at its cable.")

    def _catch_up(self) -> None:
        """Begin with what the rig has kept: the tube may be in the cold already."""
        there = self._link.hello(HOST_VERSION)
        self._link.take()
        self._link.follow_from(there.newest_reading + 1, there.newest_event + 1)
        first = max(there.oldest_reading, there.newest_reading - KEPT_S, 0)
        self.samples.catch_up(first, there.newest_reading + 1, self._link)
        if self.samples.curve.phase in ("done", "refused"):
            self.samples.start_anew()  # of another sample, before anybody asked

    def _take(self, records: Sequence[Record]) -> None:
        for record in records:
            if isinstance(record, Boot):
                self.samples.start_anew()
            elif isinstance(record, Reading):
                self._readings += 1
            elif isinstance(record, Sample):
                self._heard += 1
                if self.samples.take(record, self._link):
                    self._told()
        if self._readings >= PROBE_WITHIN and not self._heard:
            raise RigError(*NO_PROBE)

    def _told(self) -> None:
        curve = self.samples.curve
        if curve.phase == "waiting":
            self._say(FILL)
        elif curve.phase == "cooling":
            warm = show_temperature(round(max(curve.celsius) * 1000), self._fahrenheit)
            self._say(f"The sample went into the cold at {warm}. {QUARTER}")
