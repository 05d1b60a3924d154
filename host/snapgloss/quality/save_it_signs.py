"""What went wrong with a bowl, as figures, from readings and events alone.

Each sign is a function of a Bowl and its rule's own figures; it returns figures, or None when the
sign is not there. Names of figures end in their unit: _mc, _s, _g, _k.
"""

from collections.abc import Callable, Mapping

from rigwire.tables import ANSWERED_BY, PROMPTS
from snapgloss.base.records import Reading
from snapgloss.quality.save_it_bowl import (
    SEED,
    STOOD_STILL,
    UNDER_WAY,
    Bowl,
    Gap,
    Stretch,
    last_stretch,
)
from snapgloss.quality.save_it_cold import IN_TEMPER, cold_in, crystals_ms

Figures = dict[str, int | float]
Rule = Mapping[str, float]

SEED_IN = PROMPTS.index("seed_in")
UNANSWERED = tuple(ANSWERED_BY.index(name) for name in ("nobody", "safe_default"))


def _product(reading: Reading) -> int | None:
    return reading.product_mc


def _plate(reading: Reading) -> int | None:
    return reading.plate_mc


def _judged_from_ms(bowl: Bowl) -> int | None:
    """From when the cap is judged: in temper and once at or under it, and after the last seed.

    Chocolate that was still in temper at the start is judged from there.
    """
    first = next((r for r in bowl.readings if r.state in UNDER_WAY), None)
    if first is not None and first.state in IN_TEMPER:
        return max(first.at_ms, bowl.seeded_ms or 0)
    for reading in bowl.readings:
        known = reading.product_mc is not None and reading.product_mc <= bowl.kind.cap_mc
        if reading.state in IN_TEMPER and known:
            return max(reading.at_ms, bowl.seeded_ms or 0)
    return None


def _over(bowl: Bowl, rule: Rule, more_k: float) -> Figures | None:
    """The chocolate was more_k over its cap for the rule's time."""
    since_ms = _judged_from_ms(bowl)
    if since_ms is None:
        return None
    cap_mc = bowl.kind.cap_mc
    over = last_stretch(bowl, IN_TEMPER, _product, lambda mc: mc > cap_mc, since_ms)
    far_mc = cap_mc + round(more_k * 1000)
    far = last_stretch(bowl, IN_TEMPER, _product, lambda mc: mc > far_mc, since_ms)
    if over is None or far is None or far.spent_s < rule["for_s"]:
        return None
    told = over if over.from_ms <= far.from_ms else far
    return {"peak_mc": told.highest_mc, "over_s": told.spent_s}


def over_cap_far(bowl: Bowl, rule: Rule) -> Figures | None:
    """Far above the cap, however short."""
    return _over(bowl, rule, rule["far_k"])


def over_cap_long(bowl: Bowl, rule: Rule) -> Figures | None:
    """Well above the cap, for long."""
    return _over(bowl, rule, rule["over_k"])


def over_cap_short(bowl: Bowl, rule: Rule) -> Figures | None:
    """Above the cap at all."""
    return _over(bowl, rule, 0.0)


def carry_on(bowl: Bowl, rule: Rule) -> Figures | None:
    """The rig's offer stands; never so for a batch that is over."""
    if bowl.fades_s is None:
        return None
    offer = next((e for e in reversed(bowl.events) if e.kind in STOOD_STILL), None)
    if offer is None or offer.kind != "offer":
        return None
    left_s = rule["offer_s"] - (bowl.now_ms - offer.at_ms) / 1000
    return {"left_s": left_s, "product_mc": offer.b} if left_s > 0 else None


def seed_forgotten(bowl: Bowl, _rule: Rule) -> Figures | None:
    """Seed was asked for, the wait ran out, and none came: nothing added, no dip noticed."""
    asked = next((e for e in reversed(bowl.events) if e.kind == "prompt" and e.a == SEED_IN), None)
    if asked is None or asked.b <= 0:
        return None
    after = [e for e in bowl.events if e.at_ms >= asked.at_ms]
    came = any(e.kind == "dip" or (e.kind == "added" and e.a == SEED) for e in after)
    given_up = any(e.kind == "answered" and e.a == SEED_IN and e.b in UNANSWERED for e in after)
    return {"seed_g": asked.b} if given_up and not came else None


def _still(bowl: Bowl) -> tuple[Gap, Figures] | None:
    """Return the last time the rig stood still, with the temperatures around it."""
    if not bowl.gaps or (bowl.gaps[-1].over and bowl.faded(bowl.gaps[-1].to_ms)):
        return None
    gap = bowl.gaps[-1]
    known = [r for r in bowl.readings if r.product_mc is not None]
    before = [r.product_mc for r in known if r.at_ms <= gap.from_ms]
    after = [r.product_mc for r in known if r.at_ms >= gap.to_ms]
    if not before or before[-1] is None:
        return None
    after_mc = after[0] if after and after[0] is not None else bowl.product_mc
    figures: Figures = {"before_mc": before[-1]}
    booted = any(e.kind == "boot" and gap.from_ms <= e.at_ms <= gap.to_ms for e in bowl.events)
    if not (bowl.simulated and booted):
        figures["still_s"] = (gap.to_ms - gap.from_ms) / 1000
    return gap, {**figures, "after_mc": before[-1] if after_mc is None else after_mc}


def _may_yet_offer(bowl: Bowl, rule: Rule) -> bool:
    """The rig has just come back, and has not yet said whether it can carry on."""
    told = next((e for e in reversed(bowl.events) if e.kind in STOOD_STILL), None)
    if bowl.fades_s is None or told is None or told.kind != "boot":
        return False
    return bowl.now_ms - told.at_ms <= rule["offer_wait_s"] * 1000


def _had_crystals(bowl: Bowl, at_ms: int) -> bool:
    if bowl.seeded_ms is not None and bowl.seeded_ms <= at_ms:
        return True
    return any(r.state in IN_TEMPER for r in bowl.readings if r.at_ms <= at_ms)


def power_melting(bowl: Bowl, rule: Rule) -> Figures | None:
    """Stands still for good, and no crystals were in the bowl yet."""
    found = None if _may_yet_offer(bowl, rule) else _still(bowl)
    if found is None or found[0].over or _had_crystals(bowl, found[0].from_ms):
        return None
    return found[1]


def power_stop(bowl: Bowl, rule: Rule) -> Figures | None:
    """Stands still with crystals in the bowl, and so shortly that they cannot have cooled."""
    found = power_off(bowl, rule)
    return found if found and 0 <= found.get("still_s", -1) < rule["short_s"] else None


def power_off(bowl: Bowl, rule: Rule) -> Figures | None:
    """Stands still for good, with crystals in the bowl."""
    found = None if _may_yet_offer(bowl, rule) else _still(bowl)
    if found is None or found[0].over or not _had_crystals(bowl, found[0].from_ms):
        return None
    return found[1]


def _back(bowl: Bowl, cold: bool) -> Figures | None:
    """Stood still with crystals in the bowl and goes on again, below the least or not."""
    found = _still(bowl)
    if found is None or not found[0].over or not _had_crystals(bowl, found[0].from_ms):
        return None
    return found[1] if (found[1]["after_mc"] < bowl.kind.work_low_mc) == cold else None


def power_cold(bowl: Bowl, _rule: Rule) -> Figures | None:
    """Goes on again, and the chocolate is colder than it may be worked."""
    return _back(bowl, cold=True)


def power_warm(bowl: Bowl, _rule: Rule) -> Figures | None:
    """Goes on again, and the chocolate is where crystals live."""
    return _back(bowl, cold=False)


def too_cold_long(bowl: Bowl, rule: Rule) -> Figures | None:
    """Below the least working temperature with crystals in the bowl, whatever went on; a rewarm
    from a low point has longer."""
    since_ms = crystals_ms(bowl)
    if since_ms is None:
        return None
    others = tuple(state for state in UNDER_WAY if state != "rewarming")
    for states, for_s in ((UNDER_WAY, rule["rewarm_s"]), (others, rule["for_s"])):
        under = _cold(bowl, rule, states, since_ms)
        if under is not None and under.spent_s >= for_s:
            return {"lowest_mc": under.lowest_mc, "under_s": under.spent_s}
    return None


def _cold(bowl: Bowl, rule: Rule, states: tuple[str, ...], since_ms: int) -> Stretch | None:
    value_of = cold_in(bowl, rule["probe_s"])
    return last_stretch(bowl, states, value_of, lambda _mc: True, since_ms)


def set_cold(bowl: Bowl, rule: Rule) -> Figures | None:
    """Called thick, and so cold that it sets: nothing that is stirred in thins it."""
    if not bowl.thick or bowl.product_mc is None:
        return None
    return {} if bowl.product_mc < bowl.kind.work_low_mc - round(rule["cold_k"] * 1000) else None


def thick_at_cap(bowl: Bowl, rule: Rule) -> Figures | None:
    """Called thick, and so warm that nothing warm may go in."""
    if not bowl.thick or bowl.product_mc is None:
        return None
    if bowl.product_mc < bowl.kind.cap_mc - round(rule["near_k"] * 1000):
        return None
    return {"top_up_g": _top_up_g(bowl, rule, bowl.work_mc)}


def too_thick(bowl: Bowl, rule: Rule) -> Figures | None:
    """Called thick; warm chocolate thins it, as much as keeps the bowl under its cap."""
    at_mc = bowl.product_mc
    if not bowl.thick or at_mc is None:
        return None
    top_up_g = _top_up_g(bowl, rule, at_mc)
    rise_k = (rule["top_up_mc"] - at_mc) / 1000 * top_up_g / (bowl.left_g + top_up_g)
    raised_mc = min(bowl.kind.cap_mc, bowl.work_mc + round(rule["raise_k"] * 1000))
    return {"top_up_g": top_up_g, "rise_k": rise_k, "raised_mc": raised_mc}


def _top_up_g(bowl: Bowl, rule: Rule, at_mc: int) -> int:
    """Return the usual share, or what lands at the cap: m1 (cap - at) = m2 (warm - cap)."""
    cap_mc = bowl.kind.cap_mc
    to_cap_g = bowl.left_g * max(0, cap_mc - at_mc) / (rule["top_up_mc"] - cap_mc)
    return max(1, int(min(bowl.left_g * rule["top_up_share"], to_cap_g)))


def wall_hot(bowl: Bowl, rule: Rule) -> Figures | None:
    """The plate was over what the seed at the wall bears."""
    since_ms = _judged_from_ms(bowl)
    limit_mc = bowl.kind.wall_mc + round(rule["over_k"] * 1000)
    if since_ms is None:
        return None
    hot = last_stretch(bowl, IN_TEMPER, _plate, lambda mc: mc > limit_mc, since_ms)
    if hot is None or hot.spent_s < rule["for_s"]:
        return None
    return {"peak_mc": hot.highest_mc, "over_s": hot.spent_s}


SIGNS: dict[str, Callable[[Bowl, Rule], Figures | None]] = {
    sign.__name__: sign
    for sign in (
        carry_on, over_cap_far, over_cap_long, seed_forgotten, over_cap_short, power_melting,
        power_stop, power_off, power_cold, power_warm, too_cold_long, set_cold, thick_at_cap,
        too_thick, wall_hot,
    )
}  # fmt: skip
"""By the key of the rule in save_it.toml."""
