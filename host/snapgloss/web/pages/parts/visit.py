"""One visit to a page: what it does goes over the desk, and what comes of it is said."""

from collections.abc import Callable

from nicegui import ui

from snapgloss.base.errors import SnapglossError
from snapgloss.web.desk import Who
from snapgloss.web.site import Site


class Visit:
    """Made while a page is built; `page` is its name for the desk."""

    def __init__(self, site: Site, page: str) -> None:
        self.site, self.page = site, page
        self._client = ui.context.client

    def do(self, what: str, call: Callable[[], str], needs_lead: bool = False) -> str | None:
        """Carry out a command and return its sentence; None when it was refused, and that is
        said."""
        who = Who(self._client.ip or "", self.page)
        try:
            said = self.site.desk.do(who, what, call, needs_lead)
        except SnapglossError as fault:
            self.say(str(fault), is_bad=True)
            return None
        self.site.hub.wake_all()
        return said

    def say(self, words: str, is_bad: bool = False) -> None:
        """Say a sentence at the top of the page, where it hides no touch; it goes by itself."""
        with self._client:
            if is_bad:
                ui.notify(words, position="top", type="warning", timeout=8000, close_button="×")
            else:
                ui.notify(words, position="top")
