"""The page of all rigs in a real browser: two simulated rigs, one card each."""

import os
import signal
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests.browser.axe import serious
from tests.browser.conftest import MASS_G, SIZES, Served, Window

from snapgloss.runs.demo import demo_rig
from snapgloss.virtual.spawn import VirtualRigProcess

pytestmark = [pytest.mark.browser, pytest.mark.enable_socket, pytest.mark.timeout(480)]

UPRIGHT = {"upright": (800, 1280)}
FIRST, SECOND = "bench rig 1", "bench rig 2"


@pytest.fixture
def virtuals() -> Iterator[list[VirtualRigProcess]]:
    """Two simulated rigs whose processes can be frozen."""
    with (
        VirtualRigProcess(demo_rig(MASS_G, 21.0, 1, "60")) as one,
        VirtualRigProcess(demo_rig(MASS_G, 21.0, 2, "60")) as other,
    ):
        yield [one, other]
        os.kill(other.pid, signal.SIGCONT)


@pytest.fixture
def both(tmp_path: Path, virtuals: list[VirtualRigProcess]) -> Iterator[Served]:
    """The page of both."""
    ports = [part for one in virtuals for part in ("--port", one.port)]
    with closing(Served(tmp_path, *ports)) as served:
        yield served


@pytest.fixture
def wall(chromium: Browser, both: Served) -> Iterator[Window]:
    """A tablet before the wall, both rigs heard."""
    window = Window(chromium, both.url)
    expect(window.page.locator('.rig[data-stale=""]')).to_have_count(2)
    yield window
    window.close()


def test_a_touch_leads_to_that_rig_and_back(wall: Window, both: Served) -> None:
    """A batch on the second is its own: on the wall, on its page and in its nav; off there leaves
    the first alone."""
    page = wall.page
    cards = page.locator(".rig")
    expect(cards.nth(0)).to_contain_text(FIRST)
    cards.nth(1).click()
    expect(page.locator(".snap-rig")).to_have_text(SECOND)
    page.wait_for_selector("#snap-degrees:not(:text('–'))")
    assert page.url == f"{both.url}/at/bench-rig-2/"
    for name in ("Before", "After", "History", "Rig", "Now"):
        page.get_by_role("link", name=name, exact=True).click()
        expect(page.locator(".snap-rig")).to_have_text(SECOND)
        expect(page.locator('nav a[aria-current="page"]')).to_have_text(name)
    page.wait_for_selector(".touches .q-btn")
    page.get_by_role("button", name="Off", exact=False).first.click()
    expect(page.locator("#snap-off-said")).to_contain_text("Everything was off already.")
    page.click("text=All rigs")
    expect(page.locator('.rig[data-stale=""]')).to_have_count(2)


def test_a_frozen_rig_is_seen_on_its_card_alone(
    wall: Window, virtuals: list[VirtualRigProcess]
) -> None:
    """Grey, struck through and said to be old; the other card is fresh."""
    os.kill(virtuals[1].pid, signal.SIGSTOP)
    frozen = wall.page.locator('.rig[data-stale="1"]')
    expect(frozen).to_have_count(1)
    expect(frozen).to_contain_text(SECOND)
    expect(frozen).to_contain_text("nothing heard for")
    line = "getComputedStyle(document.querySelector('.rig[data-stale=\"1\"] .rig-degrees'))"
    assert wall.page.evaluate(f"{line}.textDecorationLine") == "line-through"
    os.kill(virtuals[1].pid, signal.SIGCONT)
    expect(wall.page.locator('.rig[data-stale=""]')).to_have_count(2)


@pytest.mark.parametrize("size", [*SIZES, *UPRIGHT])
def test_rules_for_the_wall(wall: Window, size: str) -> None:
    """Light and dark: no serious finding of WCAG, nothing wider than the window, off in view."""
    page = wall.page
    width, height = {**SIZES, **UPRIGHT}[size]
    page.set_viewport_size({"width": width, "height": height})
    for _ in range(2):
        assert serious(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        box = page.locator("#snap-off button").bounding_box()
        assert box is not None and box["y"] + box["height"] <= height
        page.click("#snap-dark")
    expect(page.locator("#snap-off button")).to_have_accessible_name(
        "All off: Turn every rig off: heat, fan and stirrer"
    )


def test_off_on_the_wall_is_for_all_by_name(wall: Window) -> None:
    """One touch, and what came of each."""
    wall.page.locator("#snap-off button").click()
    said = wall.page.locator("#snap-off-said")
    expect(said).to_contain_text(f"{FIRST}: Everything was off already.")
    expect(said).to_contain_text(f"{SECOND}: Everything was off already.")
