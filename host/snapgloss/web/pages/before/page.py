"""The page before a batch: the maker's own chocolates first, then all that is worth a touch.

Nothing here can start heat: it sends a schedule, and a person presses start at the rig.
"""

from nicegui import ui

from snapgloss.base.units import show_mass
from snapgloss.runs import shelf
from snapgloss.runs.shelf import Own
from snapgloss.web.pages.before.adding import Adding
from snapgloss.web.pages.before.ahead import AheadView
from snapgloss.web.pages.before.draft import Draft
from snapgloss.web.pages.before.form import Form
from snapgloss.web.pages.before.sending import Sending
from snapgloss.web.pages.parts.form_page import form_page
from snapgloss.web.pages.parts.pad import Pad
from snapgloss.web.pages.parts.touches import TOUCH, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.site import Site
from snapgloss.web.words_before import BEFORE, METHODS


def build(site: Site) -> None:
    """Build the page for one visit."""
    with form_page(site, "before", BEFORE["title"]) as visit:
        View(visit)


class View:
    """The parts of the page, and what one of them means for the others."""

    def __init__(self, visit: Visit) -> None:
        self._visit = visit
        self.draft = Draft(visit.site)
        self._pad, self._adding = Pad(), Adding(visit, self._added)
        with ui.element("section").classes("own").props(f'aria-label="{BEFORE["own"]}"'):
            heading(BEFORE["own"])
            self._shelf = ui.element("div").classes("shelf")
        self._rest = ui.element("div").classes("halves")
        self._show_shelf()

    def _show_shelf(self) -> None:
        site = self._visit.site
        owned = shelf.own_chocolates(site.folder, site.store)
        self._shelf.clear()
        with self._shelf:
            if not owned:
                ui.label(BEFORE["none"]).classes("quiet")
            for own in owned:
                self._chocolate(own)
            touch(BEFORE["another"], self._adding.ask, "another", "plain")

    def _chocolate(self, own: Own) -> None:
        last = BEFORE["never"]
        if own.last is not None:
            mass, method = show_mass(own.last.mass_g), METHODS[own.last.method].lower()
            last = BEFORE["last"].format(mass=mass, method=method)
        is_on = self.draft.own is not None and self.draft.own.key == own.key
        button = ui.button(color=None, on_click=lambda: self._choose(own)).props(TOUCH)
        button.props(f"aria-pressed={'true' if is_on else 'false'}").mark(f"own {own.key}")
        with button.classes(f"touch chocolate{' on' if is_on else ''}"):
            ui.label(own.chocolate.name).classes("name")
            ui.label(last).classes("quiet")

    def _added(self, own: Own) -> None:
        self._choose(own)

    def _choose(self, own: Own) -> None:
        self.draft.choose(own)
        self._show_shelf()
        self._rest.clear()
        with self._rest:
            with ui.element("div").classes("half"):
                form = Form(self._visit, self.draft, self._pad, self._changed)
            with ui.element("div").classes("half"):
                self._ahead = AheadView(self._visit, self.draft)
                self._sending = Sending(self._visit, self.draft)
                form.on_sources = self._sending.show_checks
        self._changed()

    def _changed(self) -> None:
        self._ahead.work_out()
