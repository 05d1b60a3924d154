"""What every page of forms begins with."""

from collections.abc import Iterator
from contextlib import contextmanager

from nicegui import ui

from snapgloss.web.pages.frame import open_frame, render
from snapgloss.web.pages.parts.touches import heading
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.site import Site

SCRIPT = '<script type="module" src="{{ at(\'unit.js\') }}"></script>'


@contextmanager
def form_page(site: Site, key: str, title: str) -> Iterator[Visit]:
    """The frame round the page `key` of registry.PAGES, with the sheet of its name, and its
    heading; what is built inside stands under that."""
    visit = Visit(site, open_frame(site, key, ("forms.css", f"{key}.css")))
    ui.add_body_html(render(SCRIPT))
    with ui.element("main").classes(f"forms {key}"):
        ui.html('<span id="snap-main" tabindex="-1"></span>', sanitize=False)
        heading(title, 1)
        yield visit
