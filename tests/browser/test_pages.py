"""Every page of the registry in a real browser: rules for all, so a new page has them too."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tests.browser.axe import serious
from tests.browser.conftest import SIZES, Served, Window
from tests.host.synthetic import SEEDED, keep, synthetic

from snapgloss.runs.outcome import keep_figures
from snapgloss.store import open_store
from snapgloss.web.pages.registry import FORMS, PAGES

ASKED_FOR_CURVE = (
    "performance.getEntriesByType('resource').filter(one => one.name.includes('/curve?')).length"
)
pytestmark = [pytest.mark.browser, pytest.mark.enable_socket, pytest.mark.timeout(480)]

NAME = "<img src=x onerror=alert(1)> 72"
DEEPER = ("/history?batch=2", "/history?beside=1,2,3", "/history?batch=99")
PATHS = [*(page.path for page in PAGES), *DEEPER]
SEEN = {"/": "#snap-degrees:not(:text('–'))", "/history": "#rec-batches[data-shown] li",
        "/history?batch=2": "#rec-curve[data-drawn] canvas",
        "/history?beside=1,2,3": "#rec-strips[data-shown] svg"}  # fmt: skip
"""What is waited for, where a script has to draw first; `main` elsewhere."""


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A page with three batches in its record, one of them with markup for a name."""
    folder = tmp_path_factory.mktemp("kitchen")
    with open_store(folder) as store:
        for nonce, name in enumerate(("Lantern 72", NAME, "Lantern 72")):
            run = keep(store, synthetic(SEEDED, nonce), boot_nonce=nonce, chocolate=name)
            keep_figures(store, run)
        store.add_grade(1, "sell", (), None, "")
        store.add_grade(3, "remelt", ("streaks",), None, "")
        store.add_note(2, NAME)
    served = Served(folder, "--virtual", "--speed", "20")
    yield served
    served.end()


@pytest.fixture
def tablet(chromium: Browser, kitchen: Served) -> Iterator[Window]:
    """A tablet before the list."""
    found = Window(chromium, f"{kitchen.url}/history")
    yield found
    found.close()


@pytest.mark.parametrize("path", PATHS)
def test_rules_for_every_page(chromium: Browser, kitchen: Served, path: str) -> None:
    """At three sizes, light and dark: no serious finding of WCAG, nothing wider than its window,
    off in view; markup in names runs nothing."""
    window = Window(chromium, kitchen.url + path)
    page = window.page
    page.wait_for_selector(SEEN.get(path, "main"))
    if page.url.partition("?")[0].removeprefix(kitchen.url) in FORMS:
        page.wait_for_function("window.Quasar !== undefined")
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        for _ in range(2):
            page.click("#snap-dark")
            assert serious(page) == [], f"{path} on a {name}"
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
            expect(page.locator("#snap-off button")).to_be_in_viewport(ratio=1)
    assert page.locator("img").count() == 0
    window.close()


def test_from_a_search_to_the_strips(tablet: Window) -> None:
    """Words, a result and marks by keyboard and touch; what was sought stands in the address."""
    page = tablet.page
    expect(page.locator("#rec-batches li")).to_have_count(3)
    page.get_by_label("Search").fill("lantern")
    expect(page.locator("#rec-batches li")).to_have_count(2)
    page.get_by_label("Result").select_option("remelt")
    expect(page.locator("#rec-total")).to_have_text("1 batch")
    assert "result=remelt" in page.url
    page.reload()
    expect(page.locator("#rec-batches li")).to_have_count(1)
    page.get_by_role("button", name="Show all").click()
    for run in (1, 2):
        page.get_by_label(f"Put batch {run} side by side").check()
    page.get_by_role("button", name="Side by side").click()
    expect(page.locator("#rec-strips svg")).to_have_count(2)
    expect(page.locator("#rec-lines")).to_contain_text("Run 2 stays with run 1")
    page.get_by_label("aligned at").select_option("work")
    page.wait_for_url("**at=work*")
    expect(page.locator(".axis p")).to_have_text("minutes since work began")


def test_one_batch_in_both_scales(tablet: Window) -> None:
    """Its sentences follow the scale of the device, and its name is text."""
    page = tablet.page
    page.get_by_role("link", name=NAME).click()
    expect(page.locator("h1")).to_contain_text(NAME)
    page.wait_for_selector("#rec-curve[data-drawn] canvas")
    assert page.evaluate(ASKED_FOR_CURVE) == 1  # ahead of the scripts, and not again by them
    window = page.get_by_text("working at")
    expect(window).to_have_text("Window 31.0 °C to 32.0 °C, working at 31.5 °C")
    page.click("#snap-unit")
    expect(window).to_have_text("Window 87.8 °F to 89.6 °F, working at 88.7 °F")
    page.click("#snap-unit")


def test_a_report_by_one_touch(tablet: Window) -> None:
    """Made and shown; a file for a program comes with its name."""
    page = tablet.page
    page.get_by_role("link", name="Lantern 72").first.click()
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV").click()
    assert download.value.suggested_filename == "run-3.csv"
    page.get_by_role("button", name="Report").click()
    page.wait_for_url("**/report.html", timeout=120_000)
    assert "Lantern 72" in page.inner_text("body")


def test_a_long_list_comes_as_it_is_scrolled(chromium: Browser, tmp_path: Path) -> None:
    """70 batches: 60 at once, the rest as its end comes near."""
    short = synthetic((("working", 1, 31.5, 31.5, 31.5, 0.7, 70, 0),))
    with open_store(tmp_path) as store:
        for nonce in range(70):
            keep(store, short, boot_nonce=nonce)
    with closing(Served(tmp_path, "--virtual")) as served:
        window = Window(chromium, f"{served.url}/history")
        rows = window.page.locator("#rec-batches li")
        expect(rows).to_have_count(60)
        rows.last.scroll_into_view_if_needed()
        expect(rows).to_have_count(70)
        expect(window.page.locator("#rec-more")).to_be_hidden()
        window.close()


def test_what_a_page_asks_elsewhere_and_complains_of_is_seen(chromium: Browser) -> None:
    """The check after every test can fail: a request elsewhere, an error, one that is excused."""
    window = Window(chromium, "about:blank", excused=("as said",), ours="http://127.0.0.1:1")
    page = window.page
    page.route(
        "**/*", lambda route: route.fulfill(body="", headers={"access-control-allow-origin": "*"})
    )
    page.evaluate(
        "fetch('http://elsewhere.example/font.woff2').then(() => fetch('http://127.0.0.1:1/x'))"
    )
    page.evaluate("() => { console.error('broken'); console.error('as said'); }")
    page.evaluate("setTimeout(() => { throw new Error('thrown'); })")
    page.wait_for_timeout(200)
    assert window.outside == ["http://elsewhere.example/font.woff2"]
    assert [one.partition(" (")[0] for one in window.complaints] == ["broken", "thrown"]
    window.outside.clear()
    window.complaints.clear()
    window.close()
