"""The built-in scenario: the workshop Quillby & Maar tempers 2 kg of Lantern 72, seeded.

People, workshop and chocolate are invented; the rig is simulated unless a real one is plugged in.
"""

from typing import TYPE_CHECKING

from snapgloss.runs.plan import BatchPlan, plan_of

if TYPE_CHECKING:
    from snapgloss.schedules.model import ScheduleFile
    from snapgloss.virtual.spawn import SpawnOptions

MASS_G, ROOM_MC, SEED = 2000, 21_000, 1
COLD_C = 12.0  # of the block in which the simulated rig's sample sets


def demo_schedule(mass_g: int = MASS_G) -> "ScheduleFile":
    """Return the demo's own schedule file, or the same one made for another mass.

    Raises InputError when the bench rig does not hold so much.
    """
    from snapgloss.rigs.description import BENCH_RIG
    from snapgloss.schedules.demo import demo
    from snapgloss.schedules.maker import make

    ours = demo()
    if mass_g == ours.mass_g:
        return ours
    kind = ours.chocolate_type
    return make(kind, BENCH_RIG, mass_g, ours.method, ours.start, ours.chocolate)


def demo_plan(mass_g: int, room_c: float, seed: int | None) -> BatchPlan:
    """Return the plan of the demo batch; `seed` is the virtual rig's, None for a real one.

    Raises InputError when the bowl or the room does not allow it.
    """
    from snapgloss.rigs.description import BENCH_RIG
    from snapgloss.schedules.demo import WORKSHOP

    return plan_of(demo_schedule(mass_g), BENCH_RIG, room_c, WORKSHOP, seed)


def demo_rig(mass_g: int, room_c: float, seed: int, speed: str) -> "SpawnOptions":
    """Return the options of the bench rig, simulated, loaded with mass_g grams."""
    from snapgloss.rigs.description import BENCH_RIG
    from snapgloss.virtual.plant import PlantSetup
    from snapgloss.virtual.spawn import SpawnOptions

    setup = PlantSetup(mass_g=float(mass_g), room_c=room_c, seed=seed, cold_c=COLD_C)
    return SpawnOptions(setup=setup, speed=speed, config_text=BENCH_RIG.to_config_text())
