"""The touches of a batch: how it is, how much, and what goes in."""

from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.element import Element

from snapgloss.base.units import show_mass
from snapgloss.runs import sources
from snapgloss.web.pages.before import kinds
from snapgloss.web.pages.before.bagging import Bagging
from snapgloss.web.pages.before.draft import Draft
from snapgloss.web.pages.parts.pad import Figure, Kind, Pad
from snapgloss.web.pages.parts.touches import Choice, Several, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_before import BEFORE, METHODS, STARTS

OLD = "old"


class Form:
    """`on_change`: what is worked out has changed. `on_sources`: only what goes in."""

    def __init__(
        self, visit: Visit, draft: Draft, pad: Pad, on_change: Callable[[], None]
    ) -> None:
        self._visit, self._draft, self._pad = visit, draft, pad
        self._on_change = on_change
        self.on_sources: Callable[[], None] = lambda: None
        self._bagging = Bagging(visit, draft, self._bagged)
        self._made: list[Element] = []
        self._as_file()
        self._amount()
        self._going_in()
        self._how()

    def _as_file(self) -> None:
        """Steps made here, or those of a file of the maker's own, where there is one."""
        own = self._draft.schedules()
        if not own:
            return
        heading(BEFORE["schedule"])
        named = {key: f"{one.name}, {show_mass(one.mass_g)}" for key, one in own.items()}
        words = {"": BEFORE["made_here"], **named}
        Choice(BEFORE["schedule"], words, self._draft.as_file, self._take_file, "schedule")

    def _take_file(self, key: str) -> None:
        self._draft.as_file, self._draft.found = key, None
        for one in self._made:
            one.set_visibility(not key)
        self._on_change()

    def _amount(self) -> None:
        chosen = self._draft.chosen
        self._made.append(heading(BEFORE["amount"]))
        with ui.element("div").classes("figures"):
            for kind, name in kinds.OF_MAKING.items():
                figure = self._figure(kind, getattr(chosen, name), name)
                self._made.append(figure.button)
            Figure(self._pad, kinds.ROOM, self._draft.room_mc, self._room, "room")
            Figure(self._pad, kinds.POUR, self._draft.pour_at_min, self._pour, "pour")

    def _figure(self, kind: Kind, value: int, name: str) -> Figure:
        return Figure(self._pad, kind, value, lambda new: self._set(**{name: new}), name)

    def _how(self) -> None:
        chosen = self._draft.chosen
        method = self._draft.choice.method or ("kept" if chosen.start == "in_temper" else "seeded")
        with ui.element("div") as how:
            heading(BEFORE["start"])
            Choice(BEFORE["start"], STARTS, chosen.start, self._start, "start")
            self._old = Several(BEFORE["old"], {OLD: BEFORE["old"]}, self._is_old, "start")
            heading(BEFORE["method"])
            self._method = Choice(BEFORE["method"], METHODS, method, self._set_method, "method")
        self._made.append(how)

    def _going_in(self) -> None:
        heading(BEFORE["in"])
        self._in = ui.element("div").classes("going-in")
        self._show_sources()

    def _show_sources(self) -> None:
        store, own = self._visit.site.store, self._draft.own
        assert own is not None
        bags = sources.bags_for(store, own.chocolate.name)
        old = sources.remelts(store, self._draft.is_simulated)
        self._in.clear()
        with self._in:
            for words in sources.out_of_date([b for b in bags if b.lot in self._draft.lots]):
                ui.label(words).classes("warning")
            lots = {bag.lot: f"{bag.lot} · {bag.name}" for bag in bags}
            if lots:
                chosen = tuple(self._draft.lots)
                self._lots = Several(BEFORE["in"], lots, self._set_lots, "bag", chosen)
            else:
                ui.label(BEFORE["no_bags"]).classes("quiet")
            named = {str(r.id): BEFORE["remelt"].format(run=r.id, name=r.chocolate) for r in old}
            if named:
                self._bars = Several(BEFORE["in"], named, self._set_remelts, "remelt")
            touch(BEFORE["bag"], self._bagging.ask, "enter-bag", "plain")

    def _set_lots(self) -> None:
        self._draft.lots = set(self._lots.value)
        self.on_sources()

    def _set_remelts(self) -> None:
        self._draft.remelts = {int(run) for run in self._bars.value}
        self.on_sources()

    def _bagged(self, lot: str) -> None:
        self._draft.lots.add(lot)
        self._show_sources()
        self.on_sources()

    def _set(self, **figures: Any) -> None:
        self._draft.change(**figures)
        self._on_change()

    def _start(self, start: str) -> None:
        method = "kept" if start == "in_temper" else "seeded"
        self._method.set(method)
        self._set(start=start, method=method)

    def _set_method(self, method: str) -> None:
        """Kept is for chocolate in temper, and for no other."""
        start = self._draft.chosen.start
        if (method == "kept") != (start == "in_temper"):
            self._method.set("kept" if start == "in_temper" else "seeded")
            return
        self._set(method=method)

    def _is_old(self) -> None:
        self._draft.old = OLD in self._old.value
        self._set()

    def _room(self, room_mc: int) -> None:
        self._draft.room_mc = room_mc
        self._set()

    def _pour(self, at_min: int) -> None:
        self._draft.pour_at_min = at_min
        self._set()
