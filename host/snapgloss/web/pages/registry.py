"""All pages of the site, in the order of the batch. A new one is a folder here and a row there."""

import importlib
from collections.abc import Callable
from typing import NamedTuple

from snapgloss.web.site import Site


class Page(NamedTuple):
    """`key` names it in words.PAGE_NAMES; `module` has `build(site)`, called for each visit."""

    key: str
    path: str
    module: str


PAGES: tuple[Page, ...] = (
    Page("live", "/", "snapgloss.web.pages.live.page"),
    Page("before", "/before", "snapgloss.web.pages.before.page"),
    Page("after", "/after", "snapgloss.web.pages.after.page"),
    Page("history", "/history", "snapgloss.web.pages.history.page"),
    Page("rig", "/rig", "snapgloss.web.pages.rig.page"),
)


def register(site: Site) -> None:
    """Make NiceGUI answer each path with its page."""
    from nicegui import ui

    for page in PAGES:
        ui.page(page.path, response_timeout=10.0)(_builder(page, site))


def _builder(page: Page, site: Site) -> Callable[[], None]:
    build = importlib.import_module(page.module).build

    def show() -> None:
        build(site)

    return show
