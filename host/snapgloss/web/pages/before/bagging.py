"""Entering a bag: its lot from the label, its allergens by touch."""

from collections.abc import Callable

from nicegui import ui

from snapgloss.quality.traces import NONE
from snapgloss.runs import lots
from snapgloss.web.pages.before.draft import Draft
from snapgloss.web.pages.parts.touches import Several, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_before import ALLERGENS, BEFORE

WORDS = {NONE: BEFORE["bag_none"], **{word: word for word in ALLERGENS}}


class Bagging:
    """A dialog; `on_bag` is told the lot of a bag that was entered."""

    def __init__(self, visit: Visit, draft: Draft, on_bag: Callable[[str], None]) -> None:
        self._visit, self._draft, self._on_bag = visit, draft, on_bag
        with ui.dialog() as self._dialog, ui.card().classes("ask-card"):
            self._title = ui.label().classes("ask-title")
            self._lot = ui.input(BEFORE["bag_lot"]).mark("bag-lot").classes("wide")
            self._lot.props(f"outlined autofocus maxlength={lots.LOT_MOST}")
            self._lot.on("keydown.enter", self._keep)
            ui.label(BEFORE["bag_contains"])
            self._contains = Several(BEFORE["bag_contains"], WORDS, _nothing, "contains")
            ui.label(BEFORE["bag_may"])
            self._may = Several(BEFORE["bag_may"], WORDS, _nothing, "may")
            with ui.element("div").classes("pad-ends"):
                touch(BEFORE["cancel"], self._dialog.close, "bag-cancel")
                touch(BEFORE["bag_save"], self._keep, "bag-keep", "main")

    def ask(self) -> None:
        """Ask for a bag of the chocolate that is chosen."""
        self._lot.value = ""
        self._contains.set()
        self._may.set()
        self._title.set_text(BEFORE["bag_title"].format(name=self._name))
        self._dialog.open()

    @property
    def _name(self) -> str:
        own = self._draft.own
        return own.chocolate.name if own else ""

    def _keep(self) -> None:
        lot = str(self._lot.value or "")
        kept = self._visit.do(f"bag {lot[: lots.LOT_MOST]}", lambda: self._entered(lot))
        if kept is not None:
            self._dialog.close()
            self._visit.say(BEFORE["bag_kept"].format(lot=kept))
            self._on_bag(kept)

    def _entered(self, lot: str) -> str:
        contains, may = sorted(self._contains.value), sorted(self._may.value)
        store = self._visit.site.store
        return lots.enter_bag(store, lot, self._name, contains=contains, may_contain=may)


def _nothing() -> None:
    return None
