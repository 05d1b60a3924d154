"""Random handling of random batches, each from one seed: bowl, rig, schedule, script, fault."""

import math
import random
from dataclasses import dataclass, replace

from rigwire.schedule import Schedule
from rigwire.tables import PROMPTS
from snapgloss.chocolate.types import TYPES, ChocolateType
from snapgloss.rigs.description import BENCH_RIG, RigDescription
from snapgloss.schedules.maker import make
from snapgloss.schedules.wire import to_wire
from snapgloss.virtual.faults import Fault, parse_fault
from snapgloss.virtual.handling import Act, parse_handling
from snapgloss.virtual.plant import PlantSetup

STARTS = ("liquid", "in_temper", "late_melt")
FAULTS = (
    # script of the fault after its second, hazard of hazards.toml that answers for it
    ("probe_missing", "probe_missing"),
    ("probe_forced_c=85", "probe_range"),
    ("probe_forced_c=0", "probe_range"),
    ("probe_shift_k=9", "probe_jump"),
    ("stop_open", "stop_loop"),
    ("plate_probe_missing", "plate_missing"),
    ("heater_dead", "no_rise"),
    ("heater_shorted", "chocolate_hot"),
    ("both_switches", "chocolate_hot"),
    ("dry_plate", "plate_hot"),
    ("nobody", "unattended"),
    ("probe_out", "probe_out"),
)
"""`nobody` is no hazard of the plant: the person goes away at that second. `both_switches` are
heater_shorted and enable_welded at once: full heat that only a stop can tell people of;
`dry_plate` is the same with the bowl hardly touching the plate."""


@dataclass(frozen=True)
class Case:
    """One sequence. `fault` None = handling alone; `span_s` is how long it runs at most."""

    seed: int
    setup: PlantSetup
    rig: RigDescription
    has_bowl_switch: bool
    schedule: Schedule
    acts: tuple[Act, ...]
    fault: Fault | None
    hazard: str
    span_s: float
    probe_kind: str = "ds18b20"
    spare_k: float = 0.0
    """How many K warmer than `setup` the room may become."""

    def words(self) -> str:
        """The whole case in a few lines, for a person who replays it."""
        setup, rig = self.setup, self.rig
        fitted = ["plate probe"] * rig.has_plate + ["room probe"] * rig.has_room
        fitted += ["bowl switch"] * self.has_bowl_switch
        steps = " ".join(
            f"{step.kind}@{step.target_mc / 1000:g}/{step.hold_s}s" for step in self.schedule.steps
        )
        fault = f"{self.fault.name}={self.fault.value}@{self.fault.begin_s}" if self.fault else "-"
        return (
            f"seed {self.seed}: {self.schedule.name}, from {setup.start_c:.1f} C, "
            f"{'set' if setup.solid else 'liquid'}, room {setup.room_c:.1f} C, "
            f"{', '.join(fitted)}\n"
            f"  {steps}\n  {'; '.join(act.text() for act in self.acts)}\n  fault {fault}"
        )


def case_of(seed: int, minutes: tuple[float, float] = (15.0, 40.0)) -> Case:
    """The case of a seed: always the same one."""
    chance = random.Random(seed)
    chocolate = TYPES[chance.choice(sorted(TYPES))]
    start = chance.choice(STARTS)
    mass_g = round(math.exp(chance.uniform(math.log(250), math.log(6000))))
    room_c = chance.uniform(17.0, 27.0)
    span_s = 60 * chance.uniform(*minutes)
    rig = _rig(chance)
    schedule = _schedule(chance, chocolate, rig, start, mass_g)
    setup = setup_of(chance, chocolate, start, mass_g, room_c, schedule)
    acts = parse_handling("; ".join(script_of(chance, start, span_s)))
    fault, hazard = _fault(chance, rig, span_s)
    rig = replace_attended(rig, chance, hazard)
    has_bowl_switch = chance.random() < 0.6
    return Case(seed, setup, rig, has_bowl_switch, schedule, acts, fault, hazard, span_s)


def _rig(chance: random.Random) -> RigDescription:
    """The bench rig, described as well as people identify: each figure within 15 %."""
    true_figures = BENCH_RIG.model_dump()
    for name in ("plate_j_per_k", "plate_w_per_k", "loss_w_per_k", "fan_loss_w_per_k"):
        true_figures[name] *= chance.uniform(0.85, 1.15)
    true_figures["has_plate"] = chance.random() < 0.7
    true_figures["has_room"] = chance.random() < 0.7
    return RigDescription(**true_figures)


def replace_attended(rig: RigDescription, chance: random.Random, hazard: str) -> RigDescription:
    """A rig that somebody leaves has its limit inside the sequence."""
    if hazard != "unattended":
        return rig
    return rig.model_copy(update={"attended_limit_s": chance.randrange(300, 600)})


def _schedule(
    chance: random.Random, chocolate: ChocolateType, rig: RigDescription, start: str, mass_g: int
) -> Schedule:
    """The usual schedule of the type, its holds cut so that a sequence meets every step."""
    if start == "in_temper":
        file = make(chocolate, rig, mass_g, "kept", "in_temper")
    else:
        method = chance.choice(("seeded", "cooled"))
        file = make(chocolate, rig, mass_g, method, "liquid" if start == "liquid" else "solid")
    wired = to_wire(file)
    wired.steps = wired.steps[2:] if start == "liquid" else wired.steps
    return shorten(chance, wired, mass_g)


def shorten(chance: random.Random, wired: Schedule, mass_g: int) -> Schedule:
    """The schedule with its holds cut and its seed drawn anew."""
    for step in wired.steps:
        if step.kind in ("melt", "rest"):
            step.hold_s = chance.randrange(30, 120)
        elif step.kind == "work":
            step.hold_s = chance.randrange(900, 2400)
        elif step.hold_s:
            step.hold_s = chance.randrange(60, step.hold_s)
        if step.prompt == PROMPTS.index("seed_in"):
            step.grams = round(mass_g * chance.uniform(0.05, 0.25))
    return wired


def setup_of(
    chance: random.Random,
    chocolate: ChocolateType,
    start: str,
    mass_g: int,
    room_c: float,
    schedule: Schedule,
) -> PlantSetup:
    """What lies in the bowl as such a batch starts."""
    first_c = schedule.steps[0].target_mc / 1000
    start_c = {
        "liquid": first_c + chance.uniform(0.5, 5.0),
        "in_temper": first_c - chance.uniform(0.5, 3.0),
        "late_melt": chance.uniform(26.0, 33.0),
    }[start]
    return PlantSetup(
        mass_g=float(mass_g),
        fat_share=chocolate.fat_share,
        milk_fat_share=chocolate.milk_fat_share,
        room_c=room_c,
        start_c=start_c,
        solid=start == "late_melt",
        start_v=0.01 if start == "in_temper" else 0.0,
        seed=chance.randrange(1, 1_000_000),
    )


def script_of(chance: random.Random, start: str, span_s: float) -> list[str]:
    """3 to 8 acts, one pair of hands: what needs hands waits until they are free."""
    texts = []
    if start == "late_melt" and chance.random() < 0.6:
        texts.append(f"lumps={chance.uniform(2, 6):.1f}x@0")
    count = chance.randrange(3, 9) - len(texts)
    begins = sorted(chance.uniform(40, span_s - 150) for _ in range(count))
    free_s = 0.0
    for wanted_s in begins:
        name = chance.choice(
            ("lift", "lift", "scrape", "scrape", "ladle", "pedal", "seed", "topup", "crust")
        )
        begin_s = wanted_s if name == "crust" else max(wanted_s, free_s)
        text, took_s = _act(chance, name, round(begin_s))
        texts.append(text)
        if name != "crust":
            free_s = begin_s + took_s + chance.uniform(2, 60)
    return texts


def _act(chance: random.Random, name: str, begin_s: int) -> tuple[str, int]:
    """One act as the script says it, and how long it takes."""
    declared = " declared" if chance.random() < 0.5 else ""
    span_s = chance.randrange(5, 60)
    until = f"@{begin_s}-{begin_s + span_s}"
    if name == "lift":
        return f"lift{until}" + (" probe_out" if chance.random() < 0.5 else ""), span_s
    if name == "scrape":
        return f"scrape={chance.randrange(10, 80)}%{until}", span_s
    if name == "ladle":
        return f"ladle={chance.randrange(5, 30)}%{until}{declared}", span_s
    if name == "seed":
        handfuls = chance.randrange(1, 5)
        return f"seed={chance.uniform(1, 25):.1f}%*{handfuls}{until}{declared}", span_s
    if name == "topup":
        return f"topup={chance.uniform(5, 10):.1f}%/40C{until}{declared}", span_s
    if name == "crust":
        span_s = chance.randrange(60, 600)
        return f"crust@{begin_s}-{begin_s + span_s}", span_s
    return f"pedal{until}", span_s


def _fault(chance: random.Random, rig: RigDescription, span_s: float) -> tuple[Fault | None, str]:
    """Half of the sequences have one true fault, from a random moment on for good."""
    if chance.random() < 0.5:
        return None, ""
    fitted = [row for row in FAULTS if rig.has_plate or not row[1].startswith("plate_")]
    text, hazard = chance.choice(fitted)
    begin_s = round(chance.uniform(30, span_s - 240) * 4) / 4
    if text in ("nobody", "both_switches", "dry_plate"):
        return Fault(text, True, begin_s, None), hazard
    return parse_fault(f"{text}@{begin_s}"), hazard


def without_fault(case: Case) -> Case:
    """The same handling with a healthy rig."""
    return replace(case, fault=None, hazard="")
