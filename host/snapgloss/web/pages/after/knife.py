"""The smear test: the knife is out, the clock runs, three answers."""

from collections.abc import Callable

from nicegui import ui

from snapgloss.base.units import show_span
from snapgloss.quality.temper_smear import (
    GIVE_UP_S,
    ROOM_LEAST_MC,
    ROOM_MOST_MC,
    SET_LEAST_S,
    guide_lines,
)
from snapgloss.web.pages.parts.pad import Figure, Pad, temperature
from snapgloss.web.pages.parts.touches import Told, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_after import AFTER

USUAL_ROOM_MC = 21_000
ROOM = temperature(AFTER["room"], ROOM_LEAST_MC, ROOM_MOST_MC)
ANSWERS = {
    "good": (AFTER["knife_good"], True, False),
    "streaks": (AFTER["knife_streaks"], True, True),
    "not": (AFTER["knife_not"], False, False),
}


def room_of(visit: Visit) -> int:
    """The room as the rig reads it, to a tenth; else the usual one."""
    room_mc = visit.site.session.feed.moment.room_mc
    known = room_mc is not None and ROOM_LEAST_MC <= room_mc <= ROOM_MOST_MC
    return round(room_mc, -2) if known and room_mc is not None else USUAL_ROOM_MC


class KnifeView:
    """One knife at a time; every device sees the same one."""

    def __init__(self, visit: Visit, run_id: int, pad: Pad, on_kept: Callable[[], None]) -> None:
        self._visit, self._run_id, self._on_kept = visit, run_id, on_kept
        heading(AFTER["knife"])
        self._guide = Told(classes="guide")
        self._clock = ui.label().classes("clock-big").props('role="timer"').mark("knife-clock")
        with ui.element("div").classes("ends"):
            self._dip = touch(AFTER["knife_dip"], self._out, "knife-out", "main")
            self._answers = [self._answer(key) for key in ANSWERS]
            self._away = touch(AFTER["knife_away"], self._put_away, "knife-away", "plain")
        self._room = Figure(pad, ROOM, room_of(visit), lambda _mc: self.tick(), "knife-room")
        self._said = Told(classes="answer", is_status=True)

    def _answer(self, key: str) -> ui.button:
        words, is_set, streaks = ANSWERS[key]
        return touch(words, lambda: self._keep(is_set, streaks), f"knife-{key}", key)

    def tick(self) -> None:
        """Show how long it is out."""
        out_s = self._visit.site.knives.out_s(self._run_id)
        is_out = out_s is not None
        words = "" if out_s is None else AFTER["knife_clock"].format(span=show_span(out_s))
        if self._clock.text != words:
            self._clock.set_text(words)
        self._dip.set_visibility(not is_out)
        for button in (*self._answers, self._away):
            button.set_visibility(is_out)
        self._guide.set(self._guidance(out_s))

    def _guidance(self, out_s: int | None) -> str:
        if out_s is None:
            return " ".join(guide_lines(self._room.value))
        if out_s > GIVE_UP_S:
            return AFTER["knife_over"]
        return AFTER["knife_look"] if out_s >= SET_LEAST_S - 60 else ""

    def _out(self) -> None:
        self._said.set("")
        self._visit.do("knife out", self._is_out)
        self.tick()

    def _is_out(self) -> str:
        self._visit.site.knives.out(self._run_id)
        return ""

    def _put_away(self) -> None:
        self._visit.site.knives.away(self._run_id)
        self.tick()

    def _keep(self, is_set: bool, streaks: bool) -> None:
        site, room_mc = self._visit.site, self._room.value
        said = self._visit.do(
            "knife",
            lambda: site.knives.answer(site.store, self._run_id, room_mc, is_set, streaks),
        )
        if said is not None:
            self._said.set(said)
            self._on_kept()
        self.tick()
