"""Checks, and the send: after it the page says to press start at the rig, and for how long."""

from nicegui import ui

from snapgloss.base.units import show_span
from snapgloss.runs import beforehand, words
from snapgloss.runs.live.moment import Moment
from snapgloss.runs.progress import UNDER_WAY
from snapgloss.web.pages.before.draft import Draft
from snapgloss.web.pages.parts.touches import Several, heading, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_before import BEFORE

LOOK_S = 1.0
IN_VIEW = "document.querySelector('.press').scrollIntoView({block: 'center'})"


class Sending:
    """The foot of the page."""

    def __init__(self, visit: Visit, draft: Draft) -> None:
        self._visit, self._draft = visit, draft
        heading(BEFORE["checks"])
        self._contains = ui.label().classes("contains").mark("contains")
        self._box = ui.element("div").classes("checks")
        self._now = ui.label().classes("press").props('role="status"').mark("press")
        self._link = ui.link(BEFORE["watch"], "./").classes("watch")
        self._touch = touch(BEFORE["send"], self._send, "send", "main send")
        ui.label(BEFORE["never_starts"]).classes("quiet")
        self._shown: list[str] = []
        self.show_checks()
        self._look()
        ui.timer(LOOK_S, self._look)

    def show_checks(self) -> None:
        """Show what has to be looked at, by what goes in."""
        self._contains.set_text(beforehand.contents_words(self._draft.contents()))
        named = {check.key: check.words for check in self._draft.checks()}
        if list(named.values()) == self._shown:
            return
        self._shown = list(named.values())
        self._draft.checked &= {"dry"}
        self._box.clear()
        with self._box:
            chosen = tuple(self._draft.checked)
            self._checks = Several(BEFORE["checks"], named, self._checked, "check", chosen)

    def _checked(self) -> None:
        self._draft.checked = set(self._checks.value)

    def _send(self) -> None:
        missing = self._draft.unchecked()
        if missing:
            what = ", ".join(BEFORE[check.key] for check in missing)
            self._visit.say(BEFORE["unchecked"].format(what=what), is_bad=True)
            return
        if self._draft.found is None:
            self._visit.say(BEFORE["working"], is_bad=True)
            return
        session = self._visit.site.session
        said = self._visit.do("stage", lambda: session.stage(self._draft.staged()), True)
        if said is not None:
            self._visit.say(BEFORE["sent"].format(words=said))
            self._look()
            ui.run_javascript(IN_VIEW)

    def _look(self) -> None:
        session = self._visit.site.session
        moment = session.feed.moment
        is_waiting = session.has_staged or session.watch is not None
        is_on = moment.state == "ready" or moment.state in UNDER_WAY
        said = _said(moment, is_waiting)
        if self._now.text != said:
            self._now.set_text(said)
        self._link.set_visibility(is_on)
        self._touch.set_visibility(not (is_on or is_waiting))


def _said(moment: Moment, is_waiting: bool) -> str:
    """What became of what was sent, and what to do."""
    if moment.state == "ready":
        left_s = moment.window_left_s
        window = "" if left_s is None else BEFORE["window"].format(span=show_span(left_s))
        return f"{moment.now} {window}".strip()
    if moment.state in UNDER_WAY:
        return BEFORE["under_way"]
    if not moment.is_there:
        return moment.trouble or words.NO_RIG
    return BEFORE["waits"] if is_waiting else moment.ended
