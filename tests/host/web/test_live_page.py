"""The page while it runs, built by NiceGUI in this process: what a touch does."""

import re
from dataclasses import replace

import pytest
from nicegui.testing import User
from tests.host.synthetic import keep, synthetic
from tests.host.web.conftest import visit

from snapgloss.runs.touches import MOMENTS as KEYS
from snapgloss.store.store import Store
from snapgloss.web import words
from snapgloss.web.desk import Who
from snapgloss.web.nonce import SCRIPT
from snapgloss.web.pages.registry import PAGES
from snapgloss.web.site import Site

NAME = '<script>alert("1")</script>'


@pytest.fixture
def run_id(store: Store) -> int:
    """A batch to write notes to."""
    return keep(store, synthetic(), boot_nonce=len(store.runs()) + 50)


def test_a_touch_notes_a_moment(site: Site, store: Store, run_id: int) -> None:
    """Each of them, on the newest batch, with a sentence that it is done."""

    async def steps(user: User) -> None:
        for key in KEYS:
            user.find(marker=key).click()
        await user.should_see(words.MOMENTS["noted"].format(words=KEYS["thick"]))

    visit(site, steps)
    assert [note.words for note in store.notes(run_id)] == list(KEYS.values())
    assert site.desk.last is not None
    assert site.desk.last.what.startswith("moment ")


def test_a_note_is_written_and_an_empty_one_is_not(site: Site, store: Store, run_id: int) -> None:
    """Markup in it stays text."""

    async def steps(user: User) -> None:
        user.find(marker="note").click()
        await user.should_see(words.MOMENTS["note_title"])
        user.find(marker="save").click()
        await user.should_see(words.MOMENTS["empty"])
        user.find(marker="words").type(NAME)
        user.find(marker="save").click()
        await user.should_see(words.MOMENTS["noted"].format(words=NAME))

    visit(site, steps)
    assert [note.words for note in store.notes(run_id)] == [NAME]


def test_a_moment_from_a_device_that_does_not_lead(site: Site, store: Store, run_id: int) -> None:
    """Notes are everybody's."""
    site.desk.take_lead(Who("10.0.0.1", "other"))

    async def steps(user: User) -> None:
        user.find(marker="tray").click()

    visit(site, steps)
    assert [note.words for note in store.notes(run_id)] == [KEYS["tray"]]


def test_what_matters_stands_in_the_page_itself(site: Site) -> None:
    """Off, figure and sentence are there without a script; names in it are escaped."""
    site.session.feed.tell(replace(site.session.feed.moment, title=NAME))
    found: list[str] = []

    async def steps(user: User) -> None:
        found.append((await user.http_client.get("/")).text)

    visit(site, steps)
    html = found[0]
    assert '<form class="snap-off" id="snap-off" method="post" action="api/off"' in html
    for name in ("snap-degrees", "snap-now", "snap-curve", "snap-stale", "snap-said"):
        assert f'id="{name}"' in html
    assert NAME not in html
    assert not re.search(r'(?:src|href)="(?:https?:)?//', html)
    assert len(SCRIPT.findall(html.encode())) == html.count("<script")


def test_every_page_has_a_name_and_can_be_built() -> None:
    """The list of pages, their names, and their modules belong together."""
    assert {page.key for page in PAGES} <= set(words.PAGE_NAMES)
    assert len({page.path for page in PAGES}) == len(PAGES)


def test_all_sentences_are_in_one_place() -> None:
    """Scripts and templates name sentences of the list; none is missing there."""
    from snapgloss.web.static import ASSETS

    known = {**words.LIVE, **words.FRAME, **words.WALL}
    named = set()
    for name, body in ASSETS.all.items():
        if name.endswith(".js") and name != "uplot.js":
            named |= set(re.findall(r"\bwords\.([a-z_]+)", body.decode()))
    assert named - set(known) == set()
    assert len(named) > 30
