"""The door of a page that is open to the local network: a link shows a button, its press lets in.

Looking at the link changes nothing, so that a preview of it lets nobody in. No script is needed.
"""

from html import escape
from urllib.parse import parse_qs, unquote

from snapgloss.web.gate.access import LEAST_CHARS
from snapgloss.web.words import ENTRANCE as WORDS

PATH = "/enter"
_KEY_MOST = 200

PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><title>{title}</title>
<link rel="stylesheet" href="/assets/entrance.css"></head>
<body><main><h1>{title}</h1><p>{words}</p>{form}</main></body></html>"""
FORM = """<form method="post" action="/enter"><input type="hidden" name="key" value="{key}">
<button>{button}</button></form>"""


def link_path(token: str) -> str:
    """The path to give to a tablet."""
    return f"{PATH}/{token}"


def key_in_path(path: str) -> str:
    """The key that a link carries, as sent; nobody has looked yet whether it is right."""
    return unquote(path.removeprefix(PATH).strip("/"))[:_KEY_MOST]


def key_in_form(body: bytes) -> str:
    """The key that the button posts; empty when there is none."""
    found = parse_qs(body.decode("ascii", "replace"))
    return found.get("key", [""])[0]


def page_of(path: str) -> str:
    """What the link shows: a button, whatever the key is; without one, where to find it."""
    key = key_in_path(path)
    if len(key) < LEAST_CHARS:
        return refused_page(WORDS["scan"])
    form = FORM.format(key=escape(key, quote=True), button=escape(WORDS["button"]))
    return PAGE.format(title=escape(WORDS["title"]), words=escape(WORDS["open"]), form=form)


def refused_page(words: str) -> str:
    """A page of one sentence."""
    return PAGE.format(title=escape(WORDS["title"]), words=escape(words), form="")
