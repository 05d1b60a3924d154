"""The page while it runs, in a real browser, on a simulated rig."""

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.axe import serious
from tests.browser.conftest import MASS_G, SIZES, Served, Window

from snapgloss.runs.demo import demo_schedule
from snapgloss.schedules.files import to_text
from snapgloss.virtual.spawn import VirtualRigProcess

pytestmark = [pytest.mark.browser, pytest.mark.enable_socket, pytest.mark.timeout(480)]

STALE, FRESH = 'body[data-stale="1"]', 'body[data-stale=""]'
WITHIN_MS = 3500
FAILED = ("net::ERR_FAILED",)  # what a test cuts itself
GONE = ("net::ERR_", "WebSocket connection to")  # what a browser says of a server that is gone
BATCH_MS = 120_000
NAME = "<img src=x onerror=alert(1)> 72"


def schedule(name: str = "Lantern 72") -> str:
    """The text of a small batch under another name."""
    return to_text(demo_schedule(MASS_G)).replace("Lantern 72", name)


def begin(served: Served, name: str = "Lantern 72") -> None:
    """Send the batch, once the rig is free for one, and wait until it is under way."""
    wanted, deadline_s = {"schedule": schedule(name), "moulds": 16}, time.monotonic() + 90
    while (code := served.command("stage", wanted)) != 200:
        assert code in (409, 503) and time.monotonic() < deadline_s, f"answered {code}"
        time.sleep(0.2)
    until(served, "melting")


def until(served: Served, state: str) -> None:
    """Look until the rig is in that state."""
    deadline_s = time.monotonic() + 180
    while (found := served.state()["state"]) != state:
        assert time.monotonic() < deadline_s, f"{found}, not {state}"
        time.sleep(0.1)


def grey_after_ms(page: Page, freeze: Callable[[], None]) -> float:
    """How long after `freeze` the figure turned grey, by the page's own look at itself."""
    page.evaluate("""() => new MutationObserver(() => { globalThis.changedMs = Date.now(); })
        .observe(document.body, { attributes: true, attributeFilter: ["data-stale"] })""")
    frozen_ms = time.time() * 1000
    freeze()
    page.wait_for_selector(STALE)
    return float(page.evaluate("globalThis.changedMs")) - frozen_ms


def test_a_frozen_rig_is_unmistakable(window: Window, virtual: VirtualRigProcess) -> None:
    """The rig freezes, not the cable nor the server: the figure is grey and said to be old within
    3.5 s, and well again when the rig is."""
    page = window.page
    page.wait_for_selector(FRESH)
    assert grey_after_ms(page, lambda: os.kill(virtual.pid, signal.SIGSTOP)) <= WITHIN_MS
    assert "nothing heard for" in window.text("stale")
    decoration = "getComputedStyle(document.querySelector('.degrees')).textDecorationLine"
    assert page.evaluate(decoration) == "line-through"
    assert float(page.evaluate("getComputedStyle(document.querySelector('.degrees')).opacity")) < 1
    assert "°C" not in page.title()
    os.kill(virtual.pid, signal.SIGCONT)
    page.wait_for_selector(FRESH)


def test_a_frozen_server_is_unmistakable(window: Window, served: Served) -> None:
    """The page judges by its own clock, so a server that says nothing deceives nobody."""
    window.page.wait_for_selector(FRESH)
    assert grey_after_ms(window.page, lambda: served.signal(signal.SIGSTOP)) <= WITHIN_MS
    served.signal(signal.SIGCONT)
    window.page.wait_for_selector(FRESH)


def test_a_tablet_that_slept_shows_nothing_old(window: Window) -> None:
    """Its clock says a minute more, as after a sleep: old at once, then a new stream and fresh."""
    page = window.page
    page.wait_for_selector(FRESH)
    page.evaluate("""() => {
        const now = Date.now.bind(Date), seen = [];
        Date.now = () => now() + 60000;
        new MutationObserver(() => seen.push(document.body.dataset.stale))
            .observe(document.body, { attributes: true, attributeFilter: ["data-stale"] });
        globalThis.seen = seen;
    }""")
    page.wait_for_function("seen.includes('1') && document.body.dataset.stale === ''")


def test_the_server_is_started_anew(
    window: Window, served: Served, virtual: VirtualRigProcess
) -> None:
    """The same tab goes on by itself, with the whole curve, and nobody reloads it."""
    begin(served)
    page, window.excused = window.page, GONE
    page.wait_for_selector("#snap-curve canvas")
    page.evaluate("globalThis.same = true")
    port = served.port
    served.end()
    page.wait_for_selector(STALE)
    again = Served(served.folder, "--port", virtual.port, page_port=port)
    try:
        page.wait_for_selector(FRESH)
        expect(page.locator("#snap-moulds")).to_have_text("16 to fill")
        assert again.state()["run"] == 1
        assert again.command("off") == 200
    finally:
        again.end()


@pytest.mark.parametrize("broken", ["stream", "scripts"])
def test_off_works_whatever_else_fails(chromium: Browser, served: Served, broken: str) -> None:
    """Without the stream, and without any script but its own: neither ours nor NiceGUI's."""
    begin(served)
    window = Window(chromium, "about:blank", excused=FAILED, ours=served.url)
    lost = "**/api/live*" if broken == "stream" else "**/*.js"
    window.page.route(lost, lambda route: route.abort())
    window.page.route("**/off.js", lambda route: route.continue_())
    window.page.goto(served.url)
    window.page.click("#snap-off button")
    expect(window.page.locator("#snap-off-said")).to_contain_text("Everything is off. It was:")
    until(served, "off")
    window.close()


def test_off_that_does_not_arrive_says_so(window: Window, served: Served) -> None:
    """Never a silence, never a wrong "off"."""
    window.excused = FAILED
    window.page.route("**/api/off", lambda route: route.abort())
    window.page.click("#snap-off button")
    expect(window.page.locator("#snap-off-said")).to_contain_text(
        "Press the stop button at the rig"
    )


def test_names_with_script_are_text(window: Window, served: Served) -> None:
    """A chocolate and a note with markup: shown as they were written, and nothing runs."""
    begin(served, NAME)
    page = window.page
    expect(page.locator("#snap-title")).to_contain_text(NAME)
    page.get_by_role("button", name="Note").click()
    page.get_by_label("What to remember").fill(NAME)
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".q-notification")).to_contain_text(NAME)
    assert page.locator("img").count() == 0


def test_two_devices_one_leads(window: Window, chromium: Browser, served: Served) -> None:
    """Both watch; the second may say off; to command it takes the lead, and the first sees it."""
    begin(served)
    other = Window(chromium, served.url, "phone", excused=("409",)).ready()
    window.page.click("#snap-take") if window.page.is_visible("#snap-take") else None
    window.page.click("#snap-more")
    expect(window.page.locator("#snap-moulds")).to_have_text("Mould 1 of 16")
    expect(other.page.locator("#snap-moulds")).to_have_text("Mould 1 of 16")
    expect(other.page.locator("#snap-lead")).to_have_text("Another device leads.")
    other.page.click("#snap-more")
    expect(other.page.locator("#snap-trouble")).to_contain_text("Another device leads")
    other.page.click("#snap-take")
    expect(window.page.locator("#snap-lead")).to_have_text("Another device leads.")
    window.page.click("#snap-off button")
    expect(other.page.locator("#snap-last")).to_contain_text("off")
    until(served, "off")
    other.close()


def test_by_keyboard_alone(window: Window, served: Served) -> None:
    """Everything is reached with Tab, in the order of the page, and off by Enter."""
    begin(served)
    page, reached = window.page, []
    expect(page.locator("#snap-more")).to_be_enabled()  # once the page knows of the batch
    for _ in range(30):
        page.keyboard.press("Tab")
        focused = "[document.activeElement.id, document.activeElement.innerText.trim()]"
        reached += page.evaluate(focused)
        if reached[-1] == "Note":
            break
    for name in (
        "snap-sound",
        "snap-unit",
        "snap-dark",
        "snap-more",
        "snap-plan",
        "Thick",
        "Note",
    ):
        assert name in reached
    page.focus("#snap-off button")
    page.keyboard.press("Enter")
    until(served, "off")


def test_what_is_chosen_on_a_device_stays(window: Window) -> None:
    """°F and dark, over a reload; figures and sentences in the same scale."""
    page = window.page
    page.click("#snap-unit")
    page.click("#snap-dark")
    page.reload()
    window.ready()
    expect(page.locator("#snap-degrees-unit")).to_have_text("°F")
    assert 65 < float(window.text("degrees")) < 75
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


def test_it_reads_well_at_three_sizes(window: Window, served: Served) -> None:
    """Light and dark: the rules of WCAG hold, nothing is wider than its window, and off is in
    view without scrolling."""
    begin(served)
    page = window.page
    page.wait_for_selector("#snap-curve canvas")
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        for _ in range(2):
            page.click("#snap-dark")
            assert serious(page) == []
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            expect(page.locator("#snap-off button")).to_be_in_viewport(ratio=1)
            expect(page.locator("#snap-degrees")).to_be_in_viewport(ratio=1)


def test_a_whole_batch_goes_by_itself(chromium: Browser, tmp_path: Path) -> None:
    """From the sample batch's beginning to its end, one touch: the sentences come by themselves,
    without a question."""
    served = Served(tmp_path, "--virtual", "--speed", "max", "--mass", "700 g")
    window = Window(chromium, served.url).ready()
    page = window.page
    page.evaluate("""() => {
        globalThis.said = new Set();
        new MutationObserver(() => said.add(document.getElementById("snap-now").textContent))
            .observe(document.getElementById("snap-now"), { childList: true, characterData: true,
              subtree: true });
    }""")
    page.click("#snap-begin")
    expect(page.locator("#snap-now")).to_contain_text("in the window", timeout=BATCH_MS)
    said = page.evaluate("[...said]")
    for part in ("Moulds to 22 to 26 °C", "Pour, tap, scrape"):
        assert any(part in one for one in said), said
    assert page.locator("#snap-curve canvas").count() == 1
    window.close()
    served.end()


def test_a_tablet_enters_by_its_link(chromium: Browser, tmp_path: Path) -> None:
    """Without its key nothing; the link shows a button; its press opens the page, which works."""
    served = Served(tmp_path, "--virtual", "--lan")
    assert served.link is not None
    window = Window(chromium, served.url, excused=("401",))
    assert "needs its key" in window.page.inner_text("main")
    window.page.goto(served.url + served.link.partition(f":{served.port}")[2])
    assert window.context.cookies() == []
    window.page.get_by_role("button").click()
    window.ready()
    cookie = window.context.cookies()[0]
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    window.page.click("#snap-off button")
    expect(window.page.locator("#snap-off-said")).to_contain_text("Everything was off already.")
    window.close()
    served.end()


WIDTHS = ((320, 640), (390, 844), (768, 1024), (820, 1180), (900, 1200), (1024, 768), (844, 390))
STICKS_OUT = """() => {
  const out = document.documentElement.scrollWidth > innerWidth ? ["the page"] : [];
  for (const tile of document.querySelectorAll(".tile")) {
    const room = tile.getBoundingClientRect();
    for (const one of tile.querySelectorAll("button, input, span, p, dd")) {
      const box = one.getBoundingClientRect();
      if (box.width && (box.right > room.right + 1 || box.left < room.left - 1))
        out.push(one.id || one.textContent);
    }
  }
  return out;
}"""


def test_nothing_sticks_out_at_any_width(window: Window, served: Served) -> None:
    """Phone and tablet, upright and on their side, while it heats."""
    begin(served)
    page = window.page
    page.wait_for_function("document.querySelector('#snap-heat-words').textContent === 'full'")
    for width, height in WIDTHS:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(STICKS_OUT) == [], (width, height)
