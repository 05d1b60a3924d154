"""What every page has round it: names of pages, settings of this device, and off."""

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment

from snapgloss.web import words
from snapgloss.web.static import ASSETS

HEAD = """<link rel="stylesheet" href="{{ at('palette.css') }}">
<link rel="stylesheet" href="{{ at('frame.css') }}">
<script src="{{ at('theme.js') }}"></script>
{% for name in sheets %}<link rel="stylesheet" href="{{ at(name) }}">{% endfor %}"""


@cache
def _environment() -> Environment:
    return Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)


def render(text: str, **values: Any) -> str:
    """Fill a template; every value is escaped as text of HTML."""
    return _environment().from_string(text).render(at=ASSETS.url, **values)


def open_frame(key: str, sheets: tuple[str, ...] = ()) -> str:
    """Put the frame round the page that is being built; return the name it has for the API.

    `sheets` are assets of its own.
    """
    from nicegui import ui

    from snapgloss.web.pages.registry import PAGES

    page = ui.context.client.id.replace("-", "")[:6]
    head = files("snapgloss.web.pages").joinpath("frame.html").read_text(encoding="utf-8")
    ui.page_title("snapgloss")
    ui.add_head_html(render(HEAD, sheets=sheets))
    ui.add_body_html(
        render(
            head, key=key, page=page, pages=PAGES, names=words.PAGE_NAMES, frame=words.FRAME,
            live=words.LIVE, all={**words.LIVE, **words.FRAME},
        )
    )  # fmt: skip
    return page
