"""Chocolate on the fingers: the card, sound, the pedal and taps, in a real browser."""

import os
import signal
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.browser.axe import serious
from tests.browser.conftest import MASS_G, Served, Window
from tests.browser.test_live import FRESH, STALE, begin, until

from snapgloss.runs.demo import demo_rig
from snapgloss.virtual.spawn import VirtualRigProcess

pytestmark = [pytest.mark.browser, pytest.mark.enable_socket, pytest.mark.timeout(480)]

SPEED = "120"
PEDALS = "pedal@3800-3815; pedal@3900-3915"  # while it is worked, by far
CARD_MS = 90_000  # looked for every ten seconds
VOICES = """() => {
  globalThis.voices = [];
  const make = AudioContext.prototype.createOscillator;
  AudioContext.prototype.createOscillator = function () {
    voices.push(this.state);
    return make.call(this);
  };
}"""


@pytest.fixture
def quick(tmp_path: Path) -> Iterator[Served]:
    """The page of a quick rig, at which a foot presses the pedal twice while it is poured."""
    rig = replace(demo_rig(MASS_G, 21.0, 1, SPEED), handling=PEDALS)
    with VirtualRigProcess(rig) as virtual:
        found = Served(tmp_path, "--port", virtual.port)
        yield found
        found.end()


def test_the_card_comes_with_one_touch_and_goes(chromium: Browser, quick: Served) -> None:
    """Thick: what to stir in, in both scales, with its alarm; thin: it goes."""
    window = Window(chromium, quick.url, "phone").ready()
    page = window.page
    begin(quick)
    until(quick, "working")
    expect(page.locator("#snap-card-box")).to_be_hidden()
    page.get_by_role("button", name="Thick").click()
    card = page.locator("#snap-card")
    expect(card).to_contain_text("Stir in", timeout=CARD_MS)
    expect(page.get_by_role("heading", name="Save it")).to_be_visible()
    expect(card).to_contain_text("°C")
    page.click("#snap-unit")
    expect(card).to_contain_text("°F")
    expect(card).not_to_contain_text("°C")
    page.click("#snap-unit")
    page.get_by_role("button", name="Thin", exact=True).click()
    expect(page.locator("#snap-card-box")).to_be_hidden(timeout=CARD_MS)
    window.close()


def test_pedal_and_taps_count_moulds(chromium: Browser, quick: Served) -> None:
    """Two presses of the pedal, two taps and one taken back; the record says when it began."""
    window = Window(chromium, quick.url).ready()
    page, moulds = window.page, window.page.locator("#snap-moulds")
    begin(quick)
    expect(moulds).to_have_text("16 to fill")
    expect(moulds).to_have_text("Mould 2 of 16")
    page.click("#snap-take")  # a program began the batch, and led
    page.click("#snap-more")
    page.click("#snap-more")
    expect(moulds).to_have_text("Mould 4 of 16")
    page.click("#snap-less")
    expect(moulds).to_have_text("Mould 3 of 16")
    expect(page.locator("#snap-good")).not_to_be_empty()
    window.close()


def voices(page: Page) -> int:
    """How many tones there were."""
    return int(page.evaluate("voices.length"))


def test_sound_after_one_tap(window: Window, virtual: VirtualRigProcess) -> None:
    """Silent until it is asked for; then a chime at once, and an alarm when the reading is old.
    After a touch of "sound off" it is silent again."""
    page = window.page
    page.evaluate(VOICES)
    page.wait_for_selector(FRESH)
    _freeze_for_a_while(page, virtual)
    assert voices(page) == 0
    page.get_by_role("button", name="Sound on").click()
    page.wait_for_function("voices.length === 2 && voices.every(one => one === 'running')")
    expect(page.get_by_role("button", name="Sound off")).to_be_visible()
    _freeze_for_a_while(page, virtual)
    assert voices(page) == 5
    page.get_by_role("button", name="Sound off").click()
    _freeze_for_a_while(page, virtual)
    assert voices(page) == 5


def _freeze_for_a_while(page: Page, virtual: VirtualRigProcess) -> None:
    os.kill(virtual.pid, signal.SIGSTOP)
    page.wait_for_selector(STALE)
    os.kill(virtual.pid, signal.SIGCONT)
    page.wait_for_selector(FRESH)


def test_a_person_is_led_through_commissioning(window: Window, served: Served) -> None:
    """A name, what to make ready, a figure, a look; then they leave, and the table says it."""
    page = window.page
    page.goto(f"{served.url}/rig")
    page.get_by_label("Your name signs each step").fill("Ada")
    page.get_by_role("button", name="Do the open steps").click()
    expect(page.locator("#prove-ask-words")).to_contain_text("The board comes out of its socket.")
    expect(page.locator("#prove-count")).to_have_text("Step 1 of 27")
    assert serious(page) == []
    page.get_by_role("button", name="Done").click()
    page.get_by_label("What you measured").fill("9.8")
    page.get_by_role("button", name="That is it").click()
    expect(page.locator("#prove-said")).to_contain_text("pull_downs: passed")
    page.get_by_label("What you measured").fill("half")
    page.get_by_role("button", name="That is it").click()
    expect(page.locator("#prove-trouble")).to_have_text("Write a number.")
    page.get_by_label("What you measured").fill("0.5")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Yes, it is so").click()
    expect(page.locator("#prove-count")).to_have_text("Step 4 of 27")
    page.get_by_role("button", name="Leave here, all off").click()
    expect(page.locator(".steps tr[data-open='0']")).to_have_count(3)
    expect(page.get_by_text("24 of 27 steps are open")).to_be_visible()
    until(served, "off")
    window.close()
