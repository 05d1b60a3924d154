"""How the batch will go: worked out elsewhere after each change, shown here."""

import asyncio

from nicegui import background_tasks, ui

from snapgloss.base.errors import InputError, SnapglossError
from snapgloss.base.units import show_mass, show_span
from snapgloss.runs.preparing import Prepared
from snapgloss.web.pages.before.draft import Draft
from snapgloss.web.pages.parts.touches import heading, told
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words import PROBLEMS
from snapgloss.web.words_before import BEFORE

SETTLES_S = 0.25
"""Touches that follow each other so quickly are worked out once."""
SAY_AFTER_S = 1.0
"""What takes longer says so."""


class AheadView:
    """Forecast, steps, clock and warnings of what is chosen."""

    def __init__(self, visit: Visit, draft: Draft) -> None:
        self._visit, self._draft, self._turn = visit, draft, 0
        with ui.element("section").classes("ahead").props('aria-live="polite"'):
            heading(BEFORE["forecast"])
            self._busy = ui.label().classes("busy").mark("busy")
            self._box = ui.element("div")

    def work_out(self) -> None:
        """Begin to work out what is chosen now; what was begun before counts no more."""
        self._turn += 1
        background_tasks.create(self._work_out(self._turn), name="work out")

    async def _work_out(self, turn: int) -> None:
        await asyncio.sleep(SETTLES_S)
        if not self._is_newest(turn):
            return
        task = asyncio.create_task(asyncio.to_thread(self._prepared))
        done, _ = await asyncio.wait({task}, timeout=SAY_AFTER_S)
        if not done and self._is_newest(turn):
            self._busy.set_text(BEFORE["working"])
        found = await task
        if self._is_newest(turn):
            self._busy.set_text("")
            self._show(found)

    def _is_newest(self, turn: int) -> bool:
        """Nothing was changed since, and the page is still there."""
        return turn == self._turn and not self._box.is_deleted

    def _prepared(self) -> Prepared | SnapglossError:
        try:
            return self._draft.prepared()
        except SnapglossError as no:
            return no
        except Exception:
            return InputError(PROBLEMS["fault"], "")

    def _show(self, found: Prepared | SnapglossError) -> None:
        self._draft.found = found if isinstance(found, Prepared) else None
        self._box.clear()
        with self._box:
            if isinstance(found, Prepared):
                _show_ahead(found)
            else:
                told(found.message, "warning refused")
                told(found.remedy, "remedy")


def _show_ahead(found: Prepared) -> None:
    for words in found.warnings:
        told(words, "warning")
    span, mass = show_span(found.total_min * 60), show_mass(found.mass_g)
    ui.label(BEFORE["whole"].format(span=span, mass=mass)).classes("whole")
    rest = [BEFORE["seed"].format(mass=show_mass(found.seed_g))] if found.seed_g else []
    rest += [BEFORE["moulds"].format(moulds=found.moulds)] if found.moulds else []
    ui.label(" ".join([*rest, BEFORE["good"].format(minutes=found.good_min)])).classes("more")
    heading(BEFORE["clock"])
    with ui.element("ol").classes("clock"):
        for at, words in found.moments:
            with ui.element("li"):
                ui.label(at).classes("at")
                with ui.element("div"):
                    told(words)
    with ui.element("details").classes("why"):
        with ui.element("summary"):
            ui.label(BEFORE["steps"]).classes("inline")
        _show_steps(found)


def _show_steps(found: Prepared) -> None:
    with ui.element("ol").classes("steps"):
        for step in found.steps:
            with ui.element("li"):
                with ui.element("div").classes("step-head"):
                    with ui.element("div"):
                        told(step.words, "step-words")
                    ui.label(step.spent).classes("spent")
                if step.why:
                    told(step.why, "quiet")
    for words in found.limits:
        told(words, "quiet limit")
