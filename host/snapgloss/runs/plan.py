"""What a batch needs to know before it begins."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from rigwire.schedule import Schedule, Step, digest, to_body
from snapgloss.base.units import show_mass
from snapgloss.store import NewRun
from snapgloss.store.rows import ProbeRow

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.schedules.model import ScheduleFile


@dataclass(frozen=True)
class BatchPlan:
    """A schedule as it is sent, what it is for, and what it is forecast to take.

    Temperatures in milli-degC. `forecast_s` holds whole seconds for each step, in order; empty
    when there is no forecast. `seed` is the virtual rig's; None for a real one. `probes` are those
    of the rig it will run on, as far as they are known, `lots` the bags that are in the bowl.
    """

    schedule: Schedule
    schedule_toml: str
    chocolate: str
    type: str
    window_low_mc: int
    window_high_mc: int
    work_mc: int
    rig: str
    workshop: str = ""
    seed: int | None = None
    forecast_s: tuple[int, ...] = field(default=())
    probes: tuple[ProbeRow, ...] = ()
    lots: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """What is tempered, for a person: "Lantern 72, 2 kg, seeded"."""
        return f"{self.chocolate}, {show_mass(self.schedule.mass_g)}, {self.schedule.method}"

    @property
    def body(self) -> bytes:
        """The schedule as it travels."""
        return bytes(to_body(self.schedule))

    @property
    def digest(self) -> str:
        """The digest a start window must name."""
        return str(digest(self.body))

    @property
    def steps(self) -> list[Step]:
        """The steps, the first at index 0."""
        return list(self.schedule.steps)

    def new_run(self, simulated: bool) -> NewRun:
        """What the record keeps of this plan when a run of it begins."""
        return NewRun(
            schedule_toml=self.schedule_toml,
            digest=self.digest,
            chocolate=self.chocolate,
            type=self.type,
            method=self.schedule.method,
            mass_g=self.schedule.mass_g,
            window_low_mc=self.window_low_mc,
            window_high_mc=self.window_high_mc,
            work_mc=self.work_mc,
            rig=self.rig,
            simulated=simulated,
            seed=self.seed,
            workshop=self.workshop,
        )


def plan_of(
    schedule: "ScheduleFile",
    rig: "RigDescription",
    room_c: float,
    workshop: str = "",
    seed: int | None = None,
) -> BatchPlan:
    """Build the plan of a schedule file on a rig in a room of room_c degrees Celsius.

    Raises InputError when the schedule cannot travel to a rig, or the workshop's name is none.
    """
    from snapgloss.base.names import check_name
    from snapgloss.schedules import files, forecast, wire

    if workshop:
        check_name(workshop, "The workshop's name")
    steps = forecast.forecast(schedule, rig, room_c)
    return BatchPlan(
        schedule=wire.to_wire(schedule),
        schedule_toml=files.to_text(schedule),
        chocolate=schedule.chocolate,
        type=schedule.type,
        window_low_mc=schedule.window.low_mc,
        window_high_mc=schedule.window.high_mc,
        work_mc=schedule.work_mc,
        rig=rig.name,
        workshop=workshop,
        seed=seed,
        forecast_s=tuple(round(step.minutes * 60) for step in steps),
    )
