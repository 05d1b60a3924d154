"""The figures of the page before a batch: how each is typed and shown."""

from snapgloss.base.clock_times import show_time
from snapgloss.base.units import show_mass
from snapgloss.runs.preparing import AS_SOON_AS_READY
from snapgloss.web.pages.parts.pad import Kind, temperature, time_of_day, whole
from snapgloss.web.words_before import BEFORE

MASS = Kind(BEFORE["mass"], "g", whole(100, 50_000, "g"), show_mass)
BARS = Kind(
    BEFORE["bars"], "1, 2, ...", whole(1, 10_000, "bars"),
    lambda bars: str(bars) if bars else BEFORE["by_mass"], 0,
)  # fmt: skip
EACH = Kind(BEFORE["each"], "g", whole(1, 1000, "g"), show_mass)
CAVITIES = Kind(BEFORE["cavities"], "1, 2, ...", whole(1, 500, "bars in a mould"), str)
OF_MAKING = {MASS: "mass_g", BARS: "bars", EACH: "each_g", CAVITIES: "cavities"}
"""What a schedule is made from, and its name in what is remembered."""
ROOM = temperature(BEFORE["room"], 5_000, 40_000)
POUR = Kind(
    BEFORE["pour"], "930 = 9:30", time_of_day,
    lambda at: BEFORE["as_ready"] if at == AS_SOON_AS_READY else show_time(at),
    AS_SOON_AS_READY,
)  # fmt: skip
