"""Why a schedule is as it is: one sentence for each step and each limit, with its figure."""

from snapgloss.base.units import show_mass, show_span, show_temperature
from snapgloss.chocolate.types import MELT_LEAST_MC
from snapgloss.schedules.model import ScheduleFile, Step
from snapgloss.schedules.planning import Plan

METHOD = {
    "seeded": "Seeded: seed brings the stable crystals, so the bowl need not go down to a low "
    "point, which a fan reaches slowly and in a warm room never.",
    "cooled": "Cooling alone: stirring makes the crystals at the low point, and the rewarm melts "
    "the unstable ones away.",
    "kept": "Still in temper: its crystals are only kept, so it is warmed and never over the cap.",
}


def reasons(plan: Plan, fahrenheit: bool = False) -> list[str]:
    """Return a sentence on the method, then one for each step of the schedule, in its order."""
    teller = _Teller(plan, fahrenheit)
    return [METHOD[plan.schedule.method], *map(teller.tell, plan.schedule.steps)]


def limits(plan: Plan, fahrenheit: bool = False) -> list[str]:
    """Return a sentence for each limit that protects this chocolate, and one on its milk fat."""
    kind, schedule = plan.wish.chocolate, plan.schedule

    def shown(mc: int) -> str:
        return show_temperature(mc, fahrenheit)

    found = [
        f"Work at most at {shown(kind.cap_mc)}: above, {kind.key} loses its temper.",
        f"Wall and plate at most at {shown(kind.wall_mc)} once crystals are in: a hot wall kills "
        "them while the bowl looks right.",
        f"Never above {shown(schedule.ceiling_mc)}, plate never above "
        f"{shown(max(step.wall_mc for step in schedule.steps))}.",
        f"Below {shown(kind.work_low_mc)} it thickens and unstable crystals grow.",
    ]
    if kind.milk_fat_share > 0:
        found.append(
            f"{kind.milk_fat_share * 100:.0f} % of its fat is milk fat, which lowers where it "
            "melts; these limits count that in."
        )
    return found


DIP_KNIFE = "Dip a knife: it sets without streaks in 3 to 5 min? Then pour."
SEED_IN = "{mass} of seed in."


def aside(plan: Plan, fahrenheit: bool = False) -> list[tuple[float, str]]:
    """Return (minutes from the start, what to do beside the bowl), in order of time."""
    best = " to ".join(show_temperature(mc, fahrenheit) for mc in (22_000, 26_000))
    cold = show_temperature(12_000, fahrenheit)
    seed = f" Weigh {show_mass(plan.seeding.seed_g)} of seed." if plan.seeding else ""
    found = [
        (plan.aside_min, f"Moulds out and polished, to {best}.{seed} Refrigerator to {cold}."),
        (plan.pour_at_min, DIP_KNIFE),
    ]
    if plan.seed_at_min is not None and plan.seeding is not None:
        found.append((plan.seed_at_min, SEED_IN.format(mass=show_mass(plan.seeding.seed_g))))
    return sorted(found)


class _Teller:
    """One method for each kind of step, by its name."""

    def __init__(self, plan: Plan, fahrenheit: bool) -> None:
        self._plan, self._fahrenheit = plan, fahrenheit

    def tell(self, step: Step) -> str:
        words: str = getattr(self, f"_{step.kind}")(step, self._shown(step.target_mc))
        return words

    def _shown(self, mc: int) -> str:
        return show_temperature(mc, self._fahrenheit)

    def _melt(self, step: Step, target: str) -> str:
        lumps = " Look for lumps then." if step.prompt == "lumps_gone" else ""
        least = self._shown(MELT_LEAST_MC)
        return f"Melt at {target}: old crystals are only gone well above {least}.{lumps}"

    def _rest(self, step: Step, target: str) -> str:
        held = f"Rest {show_span(step.hold_s)} at {target} until the last old crystal is gone"
        if self._plan.wish.old:
            return f"{held}; old or bloomed blocks keep theirs longer."
        return f"{held}, or streaks come back."

    def _cool(self, step: Step, target: str) -> str:
        kind, schedule = self._plan.wish.chocolate, self._plan.schedule
        if step.target_mc >= kind.melt.low_mc:
            return f"Cool to {target} at once: the bowl was fed hotter than is good for long."
        if step.target_mc == kind.seed_at_mc:
            return f"Cool to {target}: seed survives there, and nothing else sets yet."
        if _is_low(schedule, step):
            held = f"held {show_span(step.hold_s)} stirred"
            return f"Cool slowly to the low point of {target}, {held}: crystals form there."
        if schedule.method == "cooled":
            return f"Cool to {target} as fast as the fan can: nothing forms so warm."
        return f"Cool gently to {target}, the working temperature; the wall must not set."

    def _seed(self, step: Step, target: str) -> str:
        seeding = self._plan.seeding
        if seeding is None:
            return f"Seed at {target}."
        crystals = self._plan.wish.seed_kind == "crystals"
        kind = "stable crystals" if crystals else "grated or chopped seed"
        return (
            f"{show_mass(step.seed_g)} of {kind} at {target}, {seeding.share * 100:.1f} % of the "
            "bowl: with its melting it brings the bowl to about "
            f"{self._shown(round(seeding.landing_c * 1000))}."
        )

    def _rewarm(self, step: Step, target: str) -> str:
        wall = self._shown(step.wall_mc)
        return f"Warm gently to {target}, wall at most {wall}: only unstable crystals melt."

    def _work(self, step: Step, target: str) -> str:
        if step.creep_to_mc is not None:
            rises = f"rising slowly to {self._shown(step.creep_to_mc)} so that it stays thin"
            return f"Work at {target}, {rises}, for {show_span(step.hold_s)}. Dip a knife first."
        return f"Work at {target}: {show_span(step.hold_s)}, then it thickens. Dip a knife first."


def _is_low(schedule: ScheduleFile, step: Step) -> bool:
    cools = [s.target_mc for s in schedule.steps if s.kind == "cool"]
    return schedule.method == "cooled" and step.target_mc == min(cools)
