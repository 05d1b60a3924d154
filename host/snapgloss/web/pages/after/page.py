"""The page after a batch, in the order of the hands: knife, curve, trays, turn out, grade.

Every part works by itself and none has to be used.
"""

from nicegui import ui

from snapgloss.base.errors import InputError
from snapgloss.base.units import show_mass
from snapgloss.runs import grading, lot_words, lots
from snapgloss.store.rows import RunRow
from snapgloss.web.pages.after.gloss import GlossView
from snapgloss.web.pages.after.grades import GradesView
from snapgloss.web.pages.after.knife import KnifeView
from snapgloss.web.pages.after.samples import SampleView
from snapgloss.web.pages.after.trays import TraysView
from snapgloss.web.pages.after.turning import TurningView
from snapgloss.web.pages.parts.form_page import form_page
from snapgloss.web.pages.parts.pad import Pad
from snapgloss.web.pages.parts.touches import heading, told
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.site import Site
from snapgloss.web.words_after import AFTER

TICK_S = 1.0
LISTED = 8


def build(site: Site) -> None:
    """Build the page for one visit; `?run=N` names another batch than the last one."""
    with form_page(site, "after", AFTER["title"]) as visit:
        run = _run(site)
        if run is None:
            ui.label(AFTER["none"]).classes("quiet")
            return
        _due(site, run)
        _batch(visit, run)
        _others(site, run)


def _run(site: Site) -> RunRow | None:
    """The batch that is asked for; else the one under way or the last one."""
    asked = ui.context.client.request.query_params.get("run", "")
    runs = site.store.runs()
    if asked.isascii() and asked.isdigit() and len(asked) < 10:
        try:
            return site.store.run(int(asked))
        except InputError:
            pass
    return runs[0] if runs else None


def _batch(visit: Visit, run: RunRow) -> None:
    """All parts, for one batch."""
    name, mass = run.chocolate, show_mass(run.mass_g)
    day = lots.show_day(lots.day_of(run))
    ui.label(AFTER["head"].format(run=run.id, name=name, mass=mass, day=day)).classes("head")
    pad = Pad()
    known = Known(visit.site, run.id)
    with ui.element("div").classes("halves"):
        with ui.element("div").classes("half"):
            knife = KnifeView(visit, run.id, pad, known.show)
            sample = SampleView(visit)
            trays = TraysView(visit, run.id)
        with ui.element("div").classes("half"):
            GradesView(visit, run.id, known.show)
            TurningView(visit, run, pad, known.show)
            GlossView(visit, run.id, known.show)
            known.place()
    for view in (knife, sample, trays):
        view.tick()

    def tick() -> None:
        for view in (knife, sample, trays):
            view.tick()

    ui.timer(TICK_S, tick)


class Known:
    """What the record says of a batch's bars, in sentences."""

    def __init__(self, site: Site, run_id: int) -> None:
        self._site, self._run_id = site, run_id

    def place(self) -> None:
        """Put it here."""
        heading(AFTER["known"])
        self._box = ui.element("ul").classes("known")
        self.show()

    def show(self) -> None:
        """Show it anew."""
        summary = grading.bars_summary(self._site.store, self._run_id)
        lines = [*lot_words.source_lines(self._site.store, self._run_id), *summary.lines]
        lines += [note.words for note in self._site.store.notes(self._run_id)]
        self._box.clear()
        with self._box:
            for words in lines:
                with ui.element("li"):
                    told(words)


def _due(site: Site, run: RunRow) -> None:
    """Bars to look at again, each one touch away."""
    found = grading.due_looks(site.store)
    if not found:
        return
    with ui.element("section").classes("due").props(f'aria-label="{AFTER["due"]}"'):
        heading(AFTER["due"])
        for look in found:
            here = ' aria-current="page"' if look.run == run.id else ""
            ui.link(look.words, f"after?run={look.run}").classes("batch-row").props(here)


def _others(site: Site, run: RunRow) -> None:
    """The batches of late."""
    found = [one for one in site.store.runs()[: LISTED + 1] if one.id != run.id][:LISTED]
    if not found:
        return
    heading(AFTER["others"])
    for one in found:
        words = AFTER["head"].format(
            run=one.id, name=one.chocolate, mass=show_mass(one.mass_g),
            day=lots.show_day(lots.day_of(one)),
        )  # fmt: skip
        ui.link(words, f"after?run={one.id}").classes("batch-row")
