"""What is being chosen on one page; no picture of it."""

import time
from dataclasses import dataclass, field, replace
from typing import Any, cast

from snapgloss.runs import beforehand, shelf, sources
from snapgloss.runs.beforehand import Check
from snapgloss.runs.choices import Remembered, remember, remembered
from snapgloss.runs.live.staged import Staged
from snapgloss.runs.own_schedules import own_schedules, prepare_own
from snapgloss.runs.preparing import AS_SOON_AS_READY, Choice, Prepared, prepare
from snapgloss.runs.shelf import Own
from snapgloss.runs.sources import Contents, Sources
from snapgloss.schedules.model import ScheduleFile
from snapgloss.web.site import Site

ROOM_MC = 21_000


@dataclass
class Draft:
    """`own` None until a chocolate is chosen. `pour_at_min` as in Choice. `as_file` is the name
    of the file of the maker's own whose steps are taken, empty for those made here."""

    site: Site
    own: Own | None = None
    chosen: Remembered = field(default_factory=Remembered)
    old: bool = False
    pour_at_min: int = AS_SOON_AS_READY
    room_mc: int = ROOM_MC
    lots: set[str] = field(default_factory=set)
    remelts: set[int] = field(default_factory=set)
    checked: set[str] = field(default_factory=set)
    found: Prepared | None = None
    as_file: str = ""

    def __post_init__(self) -> None:
        room_mc = self.site.session.feed.moment.room_mc
        self.room_mc = ROOM_MC if room_mc is None else round(room_mc, -2)

    @property
    def is_simulated(self) -> bool:
        """True on a simulated rig, whose batches are kept apart."""
        return self.site.session.feed.moment.simulated

    def choose(self, own: Own) -> None:
        """Take a chocolate, with what was chosen for it last."""
        self.own, self.found, self.as_file = own, None, ""
        self.chosen = remembered(self.site.folder, own)
        self.old, self.pour_at_min = False, AS_SOON_AS_READY
        self.lots, self.remelts, self.checked = set(), set(), set()
        bags = sources.bags_for(self.site.store, own.chocolate.name)
        if len(bags) == 1 and bags[0].name.casefold() == own.key:
            self.lots = {bags[0].lot}

    def change(self, **figures: Any) -> None:
        """Choose something else for this chocolate."""
        self.chosen = replace(self.chosen, **figures)
        self.found = None

    @property
    def choice(self) -> Choice:
        """All of it, as it is worked out. Only with a chocolate."""
        assert self.own is not None
        chosen = self.chosen
        start: Any = chosen.start
        method: Any = chosen.method or None
        if (method == "kept") != (start == "in_temper"):
            method = None  # the start decides
        return Choice(
            self.own.chocolate, chosen.mass_g, method, start, self.old, chosen.bars,
            chosen.each_g, chosen.cavities, pour_at_min=self.pour_at_min,
        )  # fmt: skip

    def schedules(self) -> dict[str, ScheduleFile]:
        """The maker's own schedules for this chocolate, by their files' names."""
        name = self.own.chocolate.name if self.own else ""
        return {one.key: one.schedule for one in own_schedules(self.site.folder, name)}

    def prepared(self) -> Prepared:
        """Work it out, in the planner's process. Raises InputError where it cannot be done."""
        site, room_c = self.site, self.room_mc / 1000
        rig, at_min, workshop = site.session.rig, now_min(), self.workshop()
        schedule = self.schedules().get(self.as_file) if self.as_file else None
        if schedule is None:
            return site.planned(prepare, self.choice, rig, room_c, at_min, workshop)
        return site.planned(prepare_own, schedule, rig, room_c, at_min, workshop, self.pour_at_min)

    @property
    def sources(self) -> Sources:
        """What goes in, and what was checked."""
        done = [check for check in self.checks() if check.key in self.checked]
        lots, remelts = tuple(sorted(self.lots)), tuple(sorted(self.remelts))
        return Sources(lots, remelts, beforehand.kept_words(done))

    def contents(self) -> Contents:
        """What the batch contains."""
        assert self.own is not None
        chocolate = self.own.chocolate
        given = Sources(tuple(sorted(self.lots)), tuple(sorted(self.remelts)))
        return sources.contents(self.site.store, chocolate, chocolate.type, given)

    def checks(self) -> list[Check]:
        """What has to be looked at before the start."""
        shelved = shelf.own_chocolates(self.site.folder, self.site.store)
        known = {own.key: own.chocolate for own in shelved}
        before = sources.last_contents(self.site.store, known, self.is_simulated)
        return beforehand.checks(self.contents(), before)

    def unchecked(self) -> list[Check]:
        """What was not confirmed yet."""
        return [check for check in self.checks() if check.key not in self.checked]

    def workshop(self) -> str:
        """Whose batch it is: as the last one."""
        runs = (run for run in self.site.store.runs() if run.simulated == self.is_simulated)
        last = next(runs, None)
        return last.workshop if last else ""

    def staged(self) -> Staged:
        """The batch as it is sent; what was chosen is remembered. Only when it is worked out."""
        assert self.own is not None
        found = cast("Prepared", self.found)
        given = sources.check(self.site.store, self.sources)
        if not self.as_file:
            remember(self.site.folder, self.own, self.chosen)
        return replace(found.staged, sources=given)


def now_min() -> int:
    """The minute of this day, by this computer's clock."""
    now = time.localtime()
    return now.tm_hour * 60 + now.tm_min
