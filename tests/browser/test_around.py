"""The pages before and after a batch in a real browser: one whole batch from choosing to grading,
on a simulated rig."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.axe import serious
from tests.browser.conftest import MASS_G, SIZES, Served, Window
from tests.host.card_photos import Shot, photo_of
from tests.host.card_sounds import RATE_HZ, snap_sound, wav_of
from tests.host.photographs import JPEG
from tests.host.synthetic import SEEDED, keep, synthetic

from snapgloss.quality.snap_sound import snap_of
from snapgloss.runs import grading, lots, shelf
from snapgloss.runs.demo import demo_rig, demo_schedule
from snapgloss.schedules.files import to_text
from snapgloss.store import open_store
from snapgloss.virtual.spawn import VirtualRigProcess

pytestmark = [pytest.mark.browser, pytest.mark.enable_socket, pytest.mark.timeout(480)]

NAME = "<img src=x onerror=alert(1)> 72"
SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)
BATCH_MS = 240_000
TALL_PX = 44
SPEED = "240"

PHOTO_BYTES = 2_000_000


def furnish(folder: Path) -> None:
    """A workshop with two chocolates, three bags, and a batch before of the other one."""
    shelf.add_chocolate(folder, NAME, "dark")
    shelf.add_chocolate(folder, "Ash Milk", "milk")
    with open_store(folder) as store:
        lots.enter_bag(store, "L-2611", NAME, contains=["soya"])
        lots.enter_bag(store, "<b>L-9</b>", NAME)
        told = to_text(demo_schedule(1500)).replace("Lantern 72", "Ash Milk")
        run_id = keep(store, synthetic(SHORT), chocolate="Ash Milk", type="milk", mass_g=1500,
                      schedule_toml=told)  # fmt: skip
        grading.grade(store, run_id, "remelt", ["streaks"])


@contextmanager
def furnished(folder: Path) -> Iterator[Served]:
    """The page of that workshop, its rig fast enough for a test."""
    furnish(folder)
    with VirtualRigProcess(demo_rig(MASS_G, 21.0, 1, SPEED)) as rig:
        found = Served(folder, "--port", rig.port)
        yield found
        found.end()


@pytest.fixture
def workshop(tmp_path: Path) -> Iterator[Served]:
    """A workshop of the test's own."""
    with furnished(tmp_path) as found:
        yield found


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A workshop in which nothing is done: only looked at."""
    with furnished(tmp_path_factory.mktemp("shown")) as found:
        yield found


@pytest.fixture
def window(chromium: Browser, workshop: Served) -> Iterator[Window]:
    """A tablet before the page of that workshop."""
    found = Window(chromium, workshop.url).ready()
    yield found
    found.close()


def choose(page: Page, url: str, name: str = NAME) -> None:
    """Go before the batch and choose a chocolate."""
    page.goto(f"{url}/before")
    page.locator(".chocolate", has_text=name).click()
    page.wait_for_selector(".whole")


def type_figure(page: Page, name: str, typed: str) -> None:
    """Type a figure by touch."""
    page.get_by_role("button", name=name).click()
    pad = page.locator(".pad")
    for key in typed:
        pad.get_by_role("button", name=key, exact=True).click()
    pad.get_by_role("button", name="OK").click()
    expect(pad).to_be_hidden()


@pytest.mark.parametrize("size", SIZES)
def test_a_whole_batch_from_choosing_to_grading(
    chromium: Browser, workshop: Served, size: str
) -> None:
    """On a phone, a tablet and a laptop: chosen, checked, sent, started by the simulated person
    at the rig, made, looked at, graded; its bag is kept with it."""
    window = Window(chromium, workshop.url, size).ready()
    page = window.page
    choose(page, workshop.url)
    type_figure(page, "Chocolate in the bowl", str(MASS_G))
    expect(page.locator(".whole")).to_contain_text("700 g in the bowl")
    bag = page.get_by_role("button", name=f"L-2611 · {NAME}", exact=True)
    bag.click()
    expect(bag).to_have_attribute("aria-pressed", "true")  # under the same name: no sign is read
    expect(page.locator(".contains")).to_have_text("Contains soya.")
    page.get_by_role("button", name="Bowl, probe and stirrer are dry").click()
    page.get_by_role("button", name="Send to the rig").click()
    expect(page.get_by_text("Touch what is checked first: washed.")).to_be_visible()
    page.get_by_role("button", name="Last batch: Ash Milk, with milk").click()
    page.get_by_role("button", name="Send to the rig").click()
    expect(page.locator(".press")).to_have_text(
        re.compile("Press start on the rig|A batch is under way")
    )
    page.get_by_role("link", name="Watch it").click()
    page.wait_for_selector("#snap-curve canvas")
    for part in ("#snap-degrees", "#snap-now", "#snap-off button"):
        expect(page.locator(part)).to_be_in_viewport(ratio=1)
    page.wait_for_function("document.querySelector('#snap-now').textContent.includes('Finished')"
                           " || document.querySelector('#snap-step').textContent === 'Finished'",
                           timeout=BATCH_MS)  # fmt: skip
    photo = page.screenshot() + bytes(PHOTO_BYTES)  # any picture, as large as one of a camera
    _after(page, photo, SIZES[size][0])
    window.close()
    with open_store(workshop.folder, to_read=True) as store:
        assert store.run(2).outcome == "finished"
        assert [use.lot for use in store.uses()] == ["L-2611"]
        kept = grading.bars_summary(store, 2)
        assert [one.words for one in kept.standings] == ["Sell at first"]
        assert (workshop.folder / kept.photos[0]).read_bytes() == photo


def _after(page: Page, photo: bytes, width: int) -> None:
    """From the end of the batch to its bars: the page says where that is."""
    page.get_by_role("link", name="To the bars").click()
    expect(page.locator(".head")).to_contain_text(f"Batch 2: {NAME}, 700 g")
    expect(page.locator(".known")).to_contain_text("Made with bag L-2611")
    expect(page.locator(".known")).to_contain_text("Before the start: bowl and probe dry, washed")
    expect(page.locator(".known")).to_contain_text("Cooling curve: set ratio")
    expect(page.locator(".sample")).to_contain_text("The curve looks")
    page.get_by_role("button", name="Knife is out").click()
    expect(page.locator(".clock-big")).to_have_text(re.compile("out for ([2-9]|[1-9][0-9]) s"))
    page.reload()
    page.get_by_role("button", name="Set, no streaks").click()
    expect(page.locator(".answer").first).to_contain_text("Set already in")
    page.get_by_role("button", name="A tray goes in").click()
    page.get_by_role("button", name="Tray 1 is out").click()
    type_figure(page, "Humidity", "60")
    expect(page.get_by_text("the room is damp").first).to_be_visible()
    page.get_by_role("button", name="Sell", exact=True).click()
    expect(page.get_by_text("Kept: Sell at first.").first).to_be_visible()
    taken = {"name": "a.png", "mimeType": "image/png", "buffer": photo}
    page.set_input_files(".photo input[type=file]", taken)
    expect(page.get_by_text("The photo is kept.")).to_be_visible()
    shown = page.get_by_role("img", name="Photo of the bars, 1 of 1")
    expect(shown).to_be_visible()
    page.wait_for_function(f"document.querySelector('.photos img').naturalWidth === {width}")


def test_gloss_and_snap_are_taken_by_the_tablet(window: Window, workshop: Served) -> None:
    """A photo of the card; a sound that the browser makes into WAV, cut round the snap; what
    it cannot read goes as it is and is refused with a sentence."""
    page = window.page
    page.goto(f"{workshop.url}/after?run=1")
    page.get_by_role("button", name="The one I keep").click()
    photo = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": photo_of(Shot(0.01, rays=3))}
    page.set_input_files(".picker input[type=file] >> nth=0", photo)
    expect(page.get_by_text("as sharp as on the card.").first).to_be_visible()
    expect(page.locator(".known")).to_contain_text("Gloss of the kept bar")
    _choose_sound(page, "a.m4a", b"no sound at all")
    expect(page.get_by_text("This is no WAV file.")).to_be_visible()
    long = np.concatenate([snap_sound(1), np.zeros(8 * RATE_HZ)])
    _choose_sound(page, "a.wav", wav_of(long, "float32"))
    expect(page.get_by_text("Snap: -").first).to_be_visible()
    with open_store(workshop.folder, to_read=True) as store:
        (seen,), (heard,) = store.glosses(1), store.snaps(1)
    assert (seen.kept, heard.kept) == (True, True)
    known = snap_of(snap_sound(1), RATE_HZ)
    assert heard.loudness_db == pytest.approx(known.loudness_db, abs=0.1)
    assert heard.centroid_hz == pytest.approx(known.centroid_hz, rel=0.02)
    assert (workshop.folder / heard.sound).stat().st_size == 44 + 2 * 6 * RATE_HZ


def _choose_sound(page: Page, name: str, content: bytes) -> None:
    with page.expect_file_chooser() as asked:
        page.get_by_role("button", name="Sound of the snap").click()
    asked.value.set_files({"name": name, "mimeType": "audio/wav", "buffer": content})


def test_a_photo_that_is_too_large_is_refused_and_the_page_goes_on(
    window: Window, workshop: Served
) -> None:
    """By the page itself, before it is sent."""
    page = window.page
    page.goto(f"{workshop.url}/after?run=1")
    page.get_by_role("button", name="Seconds", exact=True).click()
    large = {
        "name": "a.jpg",
        "mimeType": "image/jpeg",
        "buffer": JPEG + bytes(12_500_000),
    }
    page.set_input_files(".photo input[type=file]", large)
    expect(page.get_by_text("The photo is too large")).to_be_visible()
    assert not (workshop.folder / "photos").exists()


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_both_pages_at_each_size(chromium: Browser, shown: Served, size: str, scheme: str) -> None:
    """No finding of axe-core that is serious or critical, nothing wider than the window, no touch
    smaller than a finger, names as text, off in view."""
    window = Window(chromium, shown.url, size, color_scheme=scheme).ready()
    page = window.page
    choose(page, shown.url)
    page.locator("details.why summary").click()
    _look(page)
    page.get_by_role("button", name="Good bars wanted").click()
    expect(page.locator(".pad")).to_be_visible()
    _look(page)
    page.goto(f"{shown.url}/after?run=1")
    page.wait_for_selector(".verdicts")
    _look(page)
    expect(page.locator("img")).to_have_count(0)
    window.close()


def _look(page: Page) -> None:
    # What fades in must be there: axe-core reads colours.
    page.wait_for_function("document.getAnimations().every(one => one.playState !== 'running')")
    assert serious(page) == []
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) <= 0
    small = """[...document.querySelectorAll('.touch')].filter(one => one.checkVisibility())
        .map(one => one.getBoundingClientRect()).filter(box => box.height < %d).length"""
    assert page.evaluate(small % TALL_PX) == 0
    expect(page.locator("#snap-off button")).to_be_in_viewport()


def test_sent_by_keyboard_alone(window: Window, workshop: Served) -> None:
    """Tab, Enter and figures: choose, type, touch, send. What has the focus is seen."""
    page = window.page
    page.goto(f"{workshop.url}/before")
    page.wait_for_selector(".chocolate")
    _tab_to(page, NAME)
    page.keyboard.press("Enter")
    page.wait_for_selector(".whole")
    _tab_to(page, "Chocolate in the bowl")
    page.keyboard.press("Enter")
    expect(page.locator(".pad")).to_be_visible()
    for key in "701":
        page.keyboard.press(key)
    page.keyboard.press("Backspace")
    page.keyboard.press("0")
    expect(page.locator(".pad-shown")).to_have_text("700")
    page.keyboard.press("Enter")
    expect(page.locator(".whole")).to_contain_text("700 g in the bowl")
    for name in ("Bowl, probe and stirrer", "Last batch", "Send to the rig"):
        _tab_to(page, name)
        page.keyboard.press("Enter")
    expect(page.locator(".press")).to_have_text(
        re.compile("Press start on the rig|A batch is under way")
    )
    assert workshop.command("off") == 200


def _tab_to(page: Page, name: str) -> None:
    """Go on by Tab until something of that name has the focus, and see that it shows."""
    for _ in range(60):
        page.keyboard.press("Tab")
        focused = page.locator("button:focus")
        if focused.count() and name in focused.inner_text():
            assert focused.evaluate("one => getComputedStyle(one).boxShadow") != "none"
            return
    raise AssertionError(f"{name} cannot be reached")


def test_figures_in_fahrenheit(window: Window, workshop: Served) -> None:
    """Who reads in °F types in °F, is refused in °F, and another device sees the same in °C."""
    page = window.page
    page.goto(f"{workshop.url}/after?run=1")
    page.click("#snap-unit")
    bars = page.get_by_role("button", name="Bars are at")
    expect(bars).to_contain_text("53.6 °F")
    bars.click()
    expect(page.locator(".pad-name")).to_have_text("Bars are at (°F)")
    expect(page.locator(".pad-shown")).to_have_text("53.6 °F")
    for key in "300":
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    expect(page.locator(".pad-wrong")).to_have_text("300 °F cannot be. Give 32 to 104 °F.")
    page.get_by_role("button", name="Cancel").click()
    type_figure(page, "Bars are at", "50")
    expect(bars).to_contain_text("50.0 °F")
    page.click("#snap-unit")
    expect(bars).to_contain_text("10.0 °C")


def test_nothing_lies_over_off(chromium: Browser, shown: Served) -> None:
    """On a phone, with a pad or a question open, or a sentence shown: one touch, at once."""
    window = Window(chromium, shown.url, "phone").ready()
    page = window.page
    choose(page, shown.url)
    page.get_by_role("button", name="Send to the rig").click()
    expect(page.get_by_text("Touch what is checked first")).to_be_visible()
    _off(page)
    for name in ("Good bars wanted", "Enter a bag", "Another chocolate"):
        page.get_by_role("button", name=name).click()
        expect(page.get_by_role("button", name="Cancel").first).to_be_visible()
        _off(page)
        page.keyboard.press("Escape")
    window.close()


def _off(page: Page) -> None:
    said = page.locator("#snap-off-said")
    page.evaluate("document.querySelector('#snap-off-said').hidden = true")
    page.locator("#snap-off button").click(timeout=15_000)
    expect(said).to_have_text("Everything was off already.")


def test_nothing_is_changed_by_a_get(shown: Served) -> None:
    """Nor by opening a page, whatever stands in its address."""
    import urllib.request

    for path in ("/before?send=1&start=1", "/after?run=1&grade=sell", "/after?run=1%27--"):
        with urllib.request.urlopen(f"{shown.url}{path}", timeout=20) as answer:
            assert answer.status == 200
    with open_store(shown.folder, to_read=True) as store:
        assert len(store.runs()) == 1
        assert [row.verdict for row in store.grades(1)] == ["remelt"]
    assert shown.state()["state"] == "off"
