"""What every page has round it: names of pages, settings of this device, and off."""

import secrets
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, Template

from snapgloss.web import words
from snapgloss.web.site import Site
from snapgloss.web.static import ASSETS

HEAD = """<link rel="stylesheet" href="{{ at('palette.css') }}">
<link rel="stylesheet" href="{{ at('frame.css') }}">
<script src="{{ at('theme.js') }}"></script>
{% for name in sheets %}<link rel="stylesheet" href="{{ at(name) }}">{% endfor %}"""
ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" '
    'rx="7" fill="#6b2f1a"/><path d="M6 21c5-13 8 6 20-10" fill="none" stroke="#fffdfa" '
    'stroke-width="4" stroke-linecap="round"/></svg>'
)
WHOLE = """<!doctype html>
<html lang="{{ language }}"><head><meta charset="utf-8"><title>snapgloss</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:image/svg+xml,{{ icon | urlencode }}">
{{ head | safe }}</head>
<body>
{{ frame | safe }}
{{ body | safe }}
</body></html>
"""


@cache
def _environment() -> Environment:
    return Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)


@cache
def _template(text: str) -> Template:
    """Read once: to make a template anew for each visit took as long as all the rest of it."""
    return _environment().from_string(text)


def render(text: str, **values: Any) -> str:
    """Fill a template; every value is escaped as text of HTML."""
    return _template(text).render(at=ASSETS.url, **values)


def open_frame(site: Site, key: str, sheets: tuple[str, ...] = ()) -> str:
    """Put the frame round the page of forms that is being built; return the name it has for the
    API. `sheets` are assets of its own."""
    from nicegui import ui

    page = ui.context.client.id.replace("-", "")[:6]
    ui.page_title("snapgloss")
    ui.add_head_html(render(HEAD, sheets=sheets))
    ui.add_body_html(_frame(site, key, page))
    return page


def new_name() -> str:
    """A name for the API, for one visit to a page without forms."""
    return secrets.token_hex(3)


def whole(site: Site | None, key: str, page: str, sheets: tuple[str, ...], body: str) -> str:
    """Return a page without forms: the frame round a body that is HTML already. `site` None: the
    page of all rigs, whose off is for all of them."""
    head = render(HEAD, sheets=sheets)
    return render(
        WHOLE,
        language=words.LANGUAGE,
        head=head,
        icon=ICON,
        frame=_frame(site, key, page),
        body=body,
    )


def _frame(site: Site | None, key: str, page: str) -> str:
    from snapgloss.web.pages.registry import PAGES

    frame = files("snapgloss.web.pages").joinpath("frame.html").read_text(encoding="utf-8")
    live = words.LIVE if site is not None else {**words.LIVE, **words.ALL_OFF}
    return render(
        frame, key=key, page=page, pages=PAGES if site is not None else (), site=site,
        names=words.PAGE_NAMES, frame=words.FRAME, live=live, all={**words.LIVE, **words.FRAME},
    )  # fmt: skip
