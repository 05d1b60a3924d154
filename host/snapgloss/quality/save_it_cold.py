"""When a bowl with crystals in it was colder than it may be worked, in whatever state."""

from collections.abc import Callable

from snapgloss.base.records import Reading
from snapgloss.quality.save_it_bowl import SEED, UNDER_WAY, Bowl

IN_TEMPER = ("rewarming", "working")


def crystals_ms(bowl: Bowl) -> int | None:
    """From when crystals are in the bowl, device ms: since it was last melted the first seed, or
    the low point; None before. Chocolate that was still in temper at the start is judged from
    where it was first warm enough: until then it is meant to be cold.
    """
    under_way = [r for r in bowl.readings if r.state in UNDER_WAY]
    if under_way and under_way[0].state in IN_TEMPER:
        warm = (r.at_ms for r in under_way if (r.product_mc or 0) >= bowl.kind.work_low_mc)
        return next(warm, None)
    melted_ms = max((r.at_ms for r in under_way if r.state == "melting"), default=-1)
    seeds = (e.at_ms for e in bowl.events if e.kind == "added" and e.a == SEED)
    tempered = (r.at_ms for r in under_way if r.state in IN_TEMPER)
    firsts = [next((ms for ms in times if ms > melted_ms), None) for times in (seeds, tempered)]
    return min((ms for ms in firsts if ms is not None), default=None)


def cold_in(bowl: Bowl, probe_s: float) -> Callable[[Reading], int | None]:
    """Return what gives a reading's chocolate where it counts as too cold, else None.

    A step whose own target lies lower means it. A pause behind which the chocolate is warm
    within `probe_s` shows a probe that was out of the bowl, not the bowl.
    """
    least_mc, warm = bowl.kind.work_low_mc, _pauses_of_the_probe(bowl, probe_s)

    def cold(reading: Reading) -> int | None:
        product_mc, target_mc = reading.product_mc, reading.target_mc
        is_meant = target_mc is not None and target_mc < least_mc
        if product_mc is None or product_mc >= least_mc or is_meant:
            return None
        return None if reading.at_ms in warm else product_mc

    return cold


def _pauses_of_the_probe(bowl: Bowl, probe_s: float) -> set[int]:
    """The times of the readings in pauses behind which the chocolate was warm at once."""
    found: set[int] = set()
    pause: list[int] = []
    back_ms: int | None = None
    for reading in bowl.readings:
        if reading.state == "hands_in":
            pause, back_ms = (pause if back_ms is None else []), None
            pause.append(reading.at_ms)
            continue
        back_ms = reading.at_ms if back_ms is None else back_ms
        is_soon = reading.at_ms - back_ms <= probe_s * 1000
        if is_soon and (reading.product_mc or 0) >= bowl.kind.work_low_mc:
            found.update(pause)
    return found
