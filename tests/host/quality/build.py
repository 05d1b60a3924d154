"""Builds short runs by hand: one reading a second unless told otherwise."""

from snapgloss.base.records import Event, Reading
from snapgloss.quality.figures import RunFigures, figures_of

STEP_NO = {"melting": 1, "cooling": 2, "seeding": 3, "rewarming": 4, "working": 5, "hands_in": 5}
WINDOW_MC = (31_000, 32_000)
WORK_MC = 31_500


class Run:
    """Readings and events put one after another."""

    def __init__(self) -> None:
        self.readings: list[Reading] = []
        self.events: list[Event] = []
        self.at_ms = 0

    def stay(
        self,
        state: str,
        seconds: int,
        product_mc: int | None,
        *,
        plate_mc: int | None = None,
        target_mc: int | None = WORK_MC,
        heat: int = 0,
        flags: int = 0,
        step_no: int | None = None,
    ) -> "Run":
        """`seconds` readings of the same, one a second."""
        for _ in range(seconds):
            number = STEP_NO.get(state, 0) if step_no is None else step_no
            values = (target_mc, product_mc, plate_mc, None, heat, 0, 0, flags)
            self.readings.append(Reading(len(self.readings), self.at_ms, state, number, *values))
            self.at_ms += 1000
        return self

    def lose(self, seconds: int) -> "Run":
        """Nothing recorded for so long."""
        self.at_ms += seconds * 1000
        return self

    def tell(self, kind: str, a: int = 0, b: int = 0) -> "Run":
        """An event at the time of the next reading."""
        self.events.append(Event(len(self.events), self.at_ms, kind, a, b))
        return self

    def figures(self) -> RunFigures:
        """The figures in a window of 31 to 32 with a working target of 31.5."""
        return figures_of(self.readings, self.events, *WINDOW_MC, WORK_MC)
