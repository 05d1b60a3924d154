"""A bowl as recorded: where it was too long, where the rig stood still, what is left in it."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from rigwire.states import STEP_STATE
from rigwire.tables import ADDITIONS
from snapgloss.base.records import Event, Reading
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.spans import GAP_OVER_MS, Span, spans

UNDER_WAY = (*STEP_STATE.values(), "hands_in")
STOOD_STILL = ("boot", "offer", "carried_on", "stop")
SEED, TOP_UP, POUR = (ADDITIONS.index(name) for name in ("seed", "top_up", "pour"))


class Gap(NamedTuple):
    """A stretch in which the rig stood still, device ms of the run; `over`: it goes on again."""

    from_ms: int
    to_ms: int
    over: bool


class Bowl(NamedTuple):
    """A bowl as recorded so far. Readings and events in order, times in device ms of the run.

    `mass_g` is what the bowl began with; `work_mc` the schedule's working target. `gaps` are
    those of `gaps_of`. `thick` is what a person says. `fades_s` None looks back without end, as
    at a batch that is over; `merge_s` joins stretches that lie no further apart. Between two boots
    of a `simulated` rig the host's clock, which times them, says nothing of the rig's time.
    """

    readings: Sequence[Reading]
    events: Sequence[Event]
    gaps: Sequence[Gap]
    kind: ChocolateType
    mass_g: int
    work_mc: int
    thick: bool
    fades_s: float | None
    merge_s: float
    simulated: bool = False

    @property
    def now_ms(self) -> int:
        """The time of the newest reading or event; 0 without any."""
        return max((records[-1].at_ms for records in (self.readings, self.events) if records),
                   default=0)  # fmt: skip

    @property
    def product_mc(self) -> int | None:
        """The newest reading of the chocolate that there is."""
        known = (r.product_mc for r in reversed(self.readings) if r.product_mc is not None)
        return next(known, None)

    @property
    def left_g(self) -> int:
        """What is in the bowl now: seed and top-ups added, pours taken away."""
        sign = {SEED: 1, TOP_UP: 1, POUR: -1}
        added = sum(sign.get(e.a, 0) * e.b for e in self.events if e.kind == "added")
        return max(0, self.mass_g + added)

    @property
    def seeded_ms(self) -> int | None:
        """When seed went in last; None when none did."""
        seeds = (e.at_ms for e in reversed(self.events) if e.kind == "added" and e.a == SEED)
        return next(seeds, None)

    def faded(self, ended_ms: int) -> bool:
        """True for what ended so long ago that nothing is said of it any more."""
        return self.fades_s is not None and self.now_ms - ended_ms > self.fades_s * 1000


class Stretch(NamedTuple):
    """Time spent somewhere, ms; gaps are left out of `spent_s`. `highest`, `lowest` in mC."""

    from_ms: int
    to_ms: int
    spent_s: float
    highest_mc: int
    lowest_mc: int


def gaps_of(
    readings: Sequence[Reading], events: Sequence[Event], unheard_ms: Sequence[int] = ()
) -> list[Gap]:
    """Find where the rig stood still in mid-batch: it started anew, or stopped.

    Readings that are only missing in the record are none: the rig went on meanwhile. So are those
    before a new start in `unheard_ms`, where it had gone on unheard: nobody knows for how long.
    """
    moments = [e.at_ms for e in events if e.kind in STOOD_STILL]
    found: list[Gap] = []
    last_ms: int | None = None
    for reading in readings:
        if reading.state not in UNDER_WAY:
            continue
        since_ms = reading.at_ms if last_ms is None else last_ms
        told = any(since_ms <= at_ms <= reading.at_ms for at_ms in moments)
        unheard = any(since_ms <= at_ms <= reading.at_ms for at_ms in unheard_ms)
        if told and not unheard and reading.at_ms - since_ms > GAP_OVER_MS:
            found.append(Gap(since_ms, reading.at_ms, True))
        last_ms = reading.at_ms
    is_unheard = last_ms is not None and any(at_ms >= last_ms for at_ms in unheard_ms)
    if last_ms is not None and not is_unheard and any(at_ms >= last_ms for at_ms in moments):
        ends = [records[-1].at_ms for records in (readings, events) if records]
        found.append(Gap(last_ms, max(ends), False))
    return found


def last_stretch(
    bowl: Bowl, states: Sequence[str], value_of: Callable[[Reading], int | None],
    outside: Callable[[int], bool], since_ms: int = 0,
) -> Stretch | None:  # fmt: skip
    """Return the last stretch in the states with the value outside, unless it has faded."""
    found: Stretch | None = None
    for span in spans(bowl.readings):
        value_mc = value_of(span.reading)
        out = value_mc is not None and outside(value_mc) and span.reading.state in states
        if not out or value_mc is None or span.reading.at_ms < since_ms or span.gap:
            continue
        found = _longer(found, span, value_mc, bowl.merge_s)
    return None if found is None or bowl.faded(found.to_ms) else found


def _longer(found: Stretch | None, span: Span, value_mc: int, merge_s: float) -> Stretch:
    at_ms, spent_s = span.reading.at_ms, span.span_ms / 1000
    to_ms = at_ms + span.span_ms
    if found is None or at_ms - found.to_ms > merge_s * 1000:
        return Stretch(at_ms, to_ms, spent_s, value_mc, value_mc)
    highest_mc, lowest_mc = max(found.highest_mc, value_mc), min(found.lowest_mc, value_mc)
    return Stretch(found.from_ms, to_ms, found.spent_s + spent_s, highest_mc, lowest_mc)
