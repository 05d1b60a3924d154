"""Adding a chocolate: its name once, and its type."""

from collections.abc import Callable

from nicegui import ui

from snapgloss.base.names import NAME_MOST
from snapgloss.runs.shelf import Own, add_chocolate
from snapgloss.web.pages.parts.touches import Choice, touch
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_before import BEFORE, TYPES


class Adding:
    """A dialog; `on_added` is told of the chocolate."""

    def __init__(self, visit: Visit, on_added: Callable[[Own], None]) -> None:
        self._visit, self._on_added = visit, on_added
        self._new: Own | None = None
        with ui.dialog() as self._dialog, ui.card().classes("ask-card"):
            ui.label(BEFORE["add_title"]).classes("ask-title")
            self._name = ui.input(BEFORE["add_name"]).mark("add-name").classes("wide")
            self._name.props(f"outlined autofocus maxlength={NAME_MOST}")
            self._name.on("keydown.enter", self._add)
            self._kind = Choice(BEFORE["add_type"], TYPES, "dark", _nothing, "type")
            with ui.element("div").classes("pad-ends"):
                touch(BEFORE["cancel"], self._dialog.close, "add-cancel")
                touch(BEFORE["add"], self._add, "add", "main")

    def ask(self) -> None:
        """Ask for a name."""
        self._name.value = ""
        self._dialog.open()

    def _add(self) -> None:
        if self._visit.do("chocolate", self._added) is None or self._new is None:
            return
        self._dialog.close()
        self._visit.say(BEFORE["added"].format(name=self._new.chocolate.name))
        self._on_added(self._new)

    def _added(self) -> str:
        name = str(self._name.value or "")
        found = add_chocolate(self._visit.site.folder, name, self._kind.value)
        self._new = Own(found, None)
        return ""


def _nothing(_key: str) -> None:
    return None
