"""Trays in the refrigerator: in and out by one touch, and how long each is in."""

import time

from nicegui import ui

from snapgloss.base.units import show_span
from snapgloss.quality.trays import LOOK_AFTER_MIN, Tray, trays_of
from snapgloss.runs import trays
from snapgloss.web.pages.parts.touches import heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_after import AFTER


class TraysView:
    """The trays of one batch."""

    def __init__(self, visit: Visit, run_id: int) -> None:
        self._visit, self._run_id = visit, run_id
        heading(AFTER["trays"])
        self._box = ui.element("ul").classes("trays")
        touch(AFTER["tray_in"], lambda: self._move("in", None), "tray-in", "main")
        self._trays: list[Tray] = []
        self._labels: dict[int, ui.label] = {}
        self._show()

    def tick(self) -> None:
        """Show how long they are in; another device may have moved one."""
        if trays_of(self._visit.site.store.trays(self._run_id)) != self._trays:
            self._show()
        for tray in self._trays:
            label = self._labels.get(tray.tray_no)
            if label is not None and label.text != (words := _words(tray)):
                label.set_text(words)

    def _show(self) -> None:
        self._trays = trays_of(self._visit.site.store.trays(self._run_id))
        self._labels = {}
        self._box.clear()
        with self._box:
            for tray in self._trays:
                with ui.element("li"):
                    self._tray(tray)

    def _tray(self, tray: Tray) -> None:
        if tray.out_utc_ms is not None:
            ui.label(trays.words_of(tray)).classes("quiet")
            return
        with ui.element("div"):
            self._labels[tray.tray_no] = ui.label(_words(tray)).classes("tray-for")
            ui.label(trays.look_words(tray)).classes("quiet")
        words = AFTER["tray_out"].format(tray=tray.tray_no)
        touch(words, lambda: self._move("out", tray.tray_no), f"tray-out-{tray.tray_no}")

    def _move(self, place: str, tray_no: int | None) -> None:
        store = self._visit.site.store

        def moved() -> str:
            return trays.words_of(trays.move(store, self._run_id, place, tray_no))

        if self._visit.do(f"tray {place}", moved) is not None:
            self._show()


def _words(tray: Tray) -> str:
    """How long a tray is in, and when it is time to look."""
    in_s = max(0, time.time_ns() // 1_000_000 - tray.in_utc_ms) // 1000
    span = show_span(in_s) if in_s < 60 else f"{in_s // 60} min"
    said = AFTER["tray_for"].format(tray=tray.tray_no, span=span)
    return f"{said} {AFTER['tray_look']}" if in_s >= LOOK_AFTER_MIN * 60 else said
