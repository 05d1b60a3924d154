"""May the bars be turned out now: by their temperature, the room and its damp."""

from collections.abc import Callable

from nicegui import ui

from snapgloss.chocolate.types import type_of
from snapgloss.runs import grading, turning_out
from snapgloss.store.rows import RunRow
from snapgloss.web.pages.after.knife import room_of
from snapgloss.web.pages.parts.pad import Figure, Kind, Pad, temperature, whole
from snapgloss.web.pages.parts.touches import Told, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_after import AFTER

USUAL_BAR_MC = 12_000
UNKNOWN = 0
BAR = temperature(AFTER["bars_at"], 0, 40_000)
ROOM = temperature(AFTER["room"], 5_000, 40_000)
HUMIDITY = Kind(
    AFTER["humidity"], "%", whole(1, 100, "%"),
    lambda percent: f"{percent} %" if percent else AFTER["no_value"],
)  # fmt: skip


class TurningView:
    """Three figures and the answer; room and damp are kept with the batch."""

    def __init__(self, visit: Visit, run: RunRow, pad: Pad, on_kept: Callable[[], None]) -> None:
        self._visit, self._run, self._on_kept = visit, run, on_kept
        heading(AFTER["turn"])
        with ui.element("div").classes("figures"):
            self._bar = Figure(pad, BAR, USUAL_BAR_MC, self._changed, "bars-at")
            self._room = Figure(pad, ROOM, room_of(visit), self._changed, "turn-room")
            self._damp = Figure(pad, HUMIDITY, UNKNOWN, self._changed, "humidity")
        touch(AFTER["ask"], self._ask, "turn-out", "main")
        self._answer = Told(classes="answer", is_status=True)

    def _changed(self, _value: int) -> None:
        self._answer.set("")
        if self._damp.value != UNKNOWN:
            self._ask()

    def _ask(self) -> None:
        if self._damp.value == UNKNOWN:
            self._damp.open()
            return
        said = self._visit.do("turn out", self._answered)
        if said is not None:
            self._answer.set(said)
            self._on_kept()

    def _answered(self) -> str:
        room_mc, permille = self._room.value, self._damp.value * 10
        kind = type_of(self._run.type)
        found = turning_out.ask(self._bar.value, room_mc, permille, kind.depression_k)
        held = self._visit.site.store.bars(self._run.id).conditions
        if not held or (held[-1].room_mc, held[-1].humidity_permille) != (room_mc, permille):
            grading.note(self._visit.site.store, self._run.id, "", room_mc, permille)
        return found.words()
