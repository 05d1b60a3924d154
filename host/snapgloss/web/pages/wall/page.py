"""All rigs at once: a card for each, large enough to be read from the other end of the kitchen.

A touch leads to that rig. Nothing is commanded from here but off, and that is off for all.
"""

from importlib.resources import files

from snapgloss.web.pages.frame import new_name, render, whole
from snapgloss.web.sites import AT, Sites
from snapgloss.web.words import WALL

SHEETS = ("wall.css",)


def html(sites: Sites) -> str:
    """Return the page for one visit."""
    page = new_name()
    body = files("snapgloss.web.pages.wall").joinpath("wall.html").read_text(encoding="utf-8")
    rigs = [(site.key, site.name, f"{AT[1:]}{site.key}/") for site in sites.all]
    return whole(None, "wall", page, SHEETS, render(body, wall=WALL, rigs=rigs, page=page))
