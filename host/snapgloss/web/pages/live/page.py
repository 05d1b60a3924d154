"""The page while it runs.

What matters stands in the page itself and lives by the stream and by scripts of its own, so that
it works whatever else fails: temperature, sentence, curve, off. Notes and moments of one touch are
NiceGUI's, over the same desk.
"""

from collections.abc import Callable
from importlib.resources import files

from nicegui import ui
from nicegui.elements.dialog import Dialog
from nicegui.elements.input import Input

from snapgloss.base.errors import SnapglossError
from snapgloss.runs.touches import MOMENTS as KEYS
from snapgloss.web.desk import Who
from snapgloss.web.pages.frame import open_frame, render
from snapgloss.web.site import Site
from snapgloss.web.words import LIVE, MOMENTS

SHEETS = ("uplot.css", "live.css")
NOTE_MOST = 400
TOUCH = "flat no-caps no-wrap"


def build(site: Site) -> None:
    """Build the page for one visit."""
    page = open_frame(site, "live", SHEETS)
    body = files("snapgloss.web.pages.live").joinpath("live.html").read_text(encoding="utf-8")
    ui.add_body_html(render(body, live=LIVE, page=page, has_sample=site.sample is not None))
    touches = Touches(site, page)
    with ui.element("section").classes("touches").props(f'aria-label="{MOMENTS["title"]}"'):
        for key in KEYS:
            touch = ui.button(MOMENTS[key], color=None, on_click=_moment(touches, key))
            touch.props(TOUCH).mark(key)
        ui.button(MOMENTS["note"], color=None, on_click=touches.ask).props(TOUCH).mark("note")


def _moment(touches: "Touches", key: str) -> Callable[[], None]:
    return lambda: touches.moment(key)


class Touches:
    """What a touch does, for one visit."""

    def __init__(self, site: Site, page: str) -> None:
        self._site, self._page = site, page
        self._client = ui.context.client
        self._dialog, self._words = self._note_dialog()

    def moment(self, key: str) -> None:
        """Note a moment."""
        session = self._site.session
        self._do(f"moment {key}", lambda: session.moment(key))

    def ask(self) -> None:
        """Ask for the words of a note."""
        self._words.value = ""
        self._dialog.open()

    def save(self) -> None:
        """Write the note."""
        words = str(self._words.value or "").strip()
        if not words:
            ui.notify(MOMENTS["empty"])
            return
        if self._do("note", lambda: self._site.session.note(words)):
            self._dialog.close()

    def _do(self, what: str, call: Callable[[], str]) -> bool:
        who = Who(self._client.ip or "", self._page)
        try:
            said = self._site.desk.do(who, what, call, needs_lead=False)
        except SnapglossError as fault:
            ui.notify(str(fault), type="warning")
            return False
        ui.notify(MOMENTS["noted"].format(words=said))
        self._site.hub.wake_all()
        return True

    def _note_dialog(self) -> tuple[Dialog, Input]:
        with ui.dialog() as dialog, ui.card().classes("note-card"):
            ui.label(MOMENTS["note_title"]).classes("note-title")
            words = ui.input(MOMENTS["note_words"]).mark("words")
            words.props(f"autofocus outlined maxlength={NOTE_MOST}").classes("note-words")
            words.on("keydown.enter", self.save)
            with ui.row():
                ui.button(MOMENTS["save"], color=None, on_click=self.save).props(TOUCH).mark(
                    "save"
                )
                ui.button(MOMENTS["cancel"], color=None, on_click=dialog.close).props(TOUCH)
        return dialog, words
