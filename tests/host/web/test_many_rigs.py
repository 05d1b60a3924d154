"""Several rigs on one page: an address means one of them, off without one means all, the wall."""

import asyncio
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from starlette.applications import Starlette
from starlette.routing import Mount
from tests.host.web.conftest import Asker, HandClock

from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.connect import introduce
from snapgloss.runs.live.session import Session
from snapgloss.store.store import Store
from snapgloss.web.api import wall
from snapgloss.web.api.routes import api
from snapgloss.web.desk import Desk
from snapgloss.web.gate.audit import Audit
from snapgloss.web.gate.gate import Gate, Rules
from snapgloss.web.hub import Hub
from snapgloss.web.pages.registry import routes
from snapgloss.web.site import Site
from snapgloss.web.sites import Fork, Sites
from snapgloss.web.static import ASSETS, PREFIX

NAMES = ("Oven side", "Window side")
KEYS = ("oven-side", "window-side")


@pytest.fixture
def rigs() -> list[ScriptedRig]:
    """Two rigs of our own."""
    return [ScriptedRig(), ScriptedRig()]


@pytest.fixture
def links(rigs: list[ScriptedRig]) -> Iterator[list[RigLink]]:
    """A link to each."""
    links = [introduce(rig, ScriptedClock(rig)) for rig in rigs]
    yield links
    for link in links:
        link.close()


@pytest.fixture
def sites(
    store: Store, tmp_path: Path, links: list[RigLink], audit: Audit, clock: HandClock
) -> Sites:
    """Two sites whose sessions do not run."""
    found = []
    for key, name, link in zip(KEYS, NAMES, links, strict=True):
        rig = BENCH_RIG.model_copy(update={"name": name})
        session = Session(store, tmp_path, rig, lambda: "", clock=clock, place=tmp_path / key)
        session.link = link
        session.feed.tell(replace(session.feed.moment, is_there=True, state="off"), (), True)
        desk, hub = Desk(audit, clock, name), Hub(session.feed)
        found.append(
            Site(session, store, tmp_path, desk, hub, key=key, name=name, has_others=True)
        )
    return Sites(found)


@pytest.fixture
def ask(sites: Sites, rules: Rules, audit: Audit, clock: HandClock) -> Asker:
    """Asks through fork and gate."""
    inner = Starlette(routes=[Mount("/api", api(sites)), Mount(PREFIX, ASSETS), *routes(sites)])
    return Asker(Fork(Gate(inner, rules, audit, clock), KEYS))


def off_at(ask: Asker, before: str) -> Any:
    """Say off below an address."""
    return ask("POST", f"{before}/api/off", b"{}", content_type="application/json")


def asked(rigs: list[ScriptedRig]) -> list[int]:
    """How often each rig was told off."""
    return [sum(message.name == "off" for message in rig.done) for rig in rigs]


def test_an_address_means_one_rig(ask: Asker, rigs: list[ScriptedRig], sites: Sites) -> None:
    """Its off reaches it and no other, and its state is its own."""
    sites.all[1].session.feed.tell(
        replace(sites.all[1].session.feed.moment, product_mc=31_400, state="working")
    )
    assert off_at(ask, "/at/window-side").status == 200
    assert asked(rigs) == [0, 1]
    states = [ask("GET", f"/at/{key}/api/state").data["state"]["state"] for key in KEYS]
    assert states == ["off", "working"]


def test_off_that_names_no_rig_is_off_for_all(ask: Asker, rigs: list[ScriptedRig]) -> None:
    """Each is told, and what came of each is said by its name."""
    got = off_at(ask, "")
    assert got.status == 200
    assert asked(rigs) == [1, 1]
    assert got.data["words"].startswith("Oven side: ") and "Window side: " in got.data["words"]


def test_off_for_all_says_which_was_not_reached(
    ask: Asker, rigs: list[ScriptedRig], sites: Sites
) -> None:
    """The other one is off all the same."""
    sites.all[0].session.link = None
    got = off_at(ask, "")
    assert got.status == 503
    assert "Oven side: The rig does not answer, so nothing reached it." in got.data["error"]
    assert "Window side: Everything was off already." in got.data["error"]
    assert asked(rigs) == [0, 1]


@pytest.mark.parametrize("name", ["stage", "note", "learn"])
def test_no_other_command_is_guessed_at(ask: Asker, name: str, rigs: list[ScriptedRig]) -> None:
    """Without a rig in its address it is refused, and nothing is sent."""
    before = [len(rig.done) for rig in rigs]
    got = ask("POST", f"/api/{name}", b'{"words":"x"}' if name == "note" else b"{}",
              content_type="application/json")  # fmt: skip
    assert (got.status, got.data["error"]) == (
        400, "There are several rigs here, and this does not say which.",
    )  # fmt: skip
    assert [len(rig.done) for rig in rigs] == before


def test_a_key_that_is_not_there_means_no_rig(ask: Asker, rigs: list[ScriptedRig]) -> None:
    """Neither a made-up one, nor one that only begins like a rig's."""
    for path in ("/at/attic/api/off", "/at/oven-side-2/api/off", "/at//api/off", "/at/oven-side"):
        assert ask("POST", path, b"{}", content_type="application/json").status == 404
    assert asked(rigs) == [0, 0]


def test_the_gate_judges_what_is_behind_the_key(ask: Asker) -> None:
    """Another site's off is refused below an address, too."""
    got = ask("POST", "/at/oven-side/api/off", b"{}", {"host": "127.0.0.1:8750",
              "origin": "http://evil.example", "content-type": "application/json"})  # fmt: skip
    assert got.status == 403


def test_pages_lead_from_the_wall_to_a_rig_and_back(ask: Asker) -> None:
    """The wall at the top; a rig's pages link within its own folder; one without a rig leads to
    the wall."""
    top = ask("GET", "/").body.decode()
    for key, name in zip(KEYS, NAMES, strict=True):
        assert f'href="at/{key}/"' in top and name in top
    assert "All off" in top
    rig = ask("GET", "/at/oven-side/rig").body.decode()
    assert 'href="/">All rigs' in rig and "Oven side</b>" in rig
    assert 'href="history"' in rig and 'href="./"' in rig and 'action="api/off"' in rig
    got = ask("GET", "/history")
    assert (got.status, got.headers["location"]) == (303, "/")


def test_each_command_is_written_down_with_its_rig(
    ask: Asker, lines: Callable[[], list[str]], sites: Sites
) -> None:
    """In the audit by name; on the rig's own page without."""
    off_at(ask, "/at/oven-side")
    assert lines()[-1].split("  ")[2] == "Oven side: off"
    assert sites.all[0].desk.last is not None and sites.all[0].desk.last.what == "off"
    assert sites.all[1].desk.last is None


def test_the_wall_says_where_each_is(ask: Asker, sites: Sites, clock: HandClock) -> None:
    """Temperature, sentences in both scales, age by its own reading, and who waits."""
    feed = sites.all[1].session.feed
    feed.tell(
        replace(feed.moment, product_mc=31_400, state="working", step_words="Working at 31.5 °C",
                step_no=6, now="Pour, tap, scrape.", is_waiting=True), (), True,
    )  # fmt: skip
    clock.at_s += 7.5
    oven, window = ask("GET", "/api/wall").data["rigs"]
    assert (oven["name"], oven["calls"], oven["product_mc"]) == ("Oven side", False, None)
    assert window["path"] == "/at/window-side/"
    assert (window["product_mc"], window["calls"], window["age_s"]) == (31_400, True, 7.5)
    assert window["fahrenheit"]["step_words"] == "Working at 88.7 °F"


def test_a_rig_that_is_away_calls_nobody(sites: Sites) -> None:
    """What it last waited for is not asked for any more; a stop is."""
    moment = sites.all[0].session.feed.moment
    assert not wall.calls(replace(moment, is_there=False, is_waiting=True))
    assert wall.calls(replace(moment, state="stopped"))
    assert not wall.calls(moment)


def test_the_stream_of_the_wall_ends_with_the_server(sites: Sites) -> None:
    """It gives all rigs at once, hears each of them, and lets go."""

    async def watched() -> list[bytes]:
        sites.wall.attach(asyncio.get_running_loop())
        found = []
        async for event in wall.events(sites):
            found.append(event)
            if len(found) == 1:
                feed = sites.all[1].session.feed
                feed.tell(replace(feed.moment, product_mc=30_000))
            else:
                sites.end()
        return found

    first, second = asyncio.run(watched())
    rigs = [json.loads(event.removeprefix(b"data: "))["rigs"] for event in (first, second)]
    assert [each[1]["product_mc"] for each in rigs] == [None, 30_000]
