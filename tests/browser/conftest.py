"""A page that is really served, a simulated rig of the test's own, and Chromium before it."""

import json
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, ClassVar

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from snapgloss.runs.demo import demo_rig
from snapgloss.virtual.spawn import VirtualRigProcess

CHROMIUM = "/usr/bin/chromium"
SAY = "from snapgloss.cli.main import main; main()"
MASS_G = 700
SIZES = {"phone": (390, 844), "tablet": (1280, 800), "laptop": (1440, 900)}
PATIENCE_MS = 90_000  # for what comes at once on a quiet machine: others may run beside it
SHARED_MEMORY = "--disable-dev-shm-usage"  # a container has little of it

expect.set_options(timeout=PATIENCE_MS)


class Served:
    """`snapgloss serve` as a process; `url` is where its page is. `python` is that of another
    environment, which is then used away from here and without this tree."""

    def __init__(
        self, folder: Path, *arguments: str, page_port: int = 0, python: Path | None = None
    ) -> None:
        command = [str(python or sys.executable), "-c", SAY, "--data", str(folder), "serve",
                   "--json", "--page-port", str(page_port), *arguments]  # fmt: skip
        self.folder = folder
        env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
        place: dict[str, Any] = {"cwd": folder, "env": env} if python else {}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, **place)
        assert self.process.stdout is not None
        facts = json.loads(self.process.stdout.readline())
        self.url: str = facts["url"]
        self.link: str | None = facts["link"]

    @property
    def port(self) -> int:
        return int(self.url.rpartition(":")[2])

    def signal(self, number: int) -> None:
        self.process.send_signal(number)

    def state(self) -> dict[str, Any]:
        """The newest moment, asked without a browser."""
        with urllib.request.urlopen(f"{self.url}/api/state", timeout=60) as answer:
            found: dict[str, Any] = json.load(answer)["state"]
        return found

    def command(self, name: str, body: dict[str, Any] | None = None) -> int:
        """Send a command as our own page would; the status of the answer."""
        headers = {"content-type": "application/json", "origin": self.url}
        data = json.dumps(body or {}).encode()
        asked = urllib.request.Request(f"{self.url}/api/{name}", data, headers)
        try:
            with urllib.request.urlopen(asked, timeout=60) as answer:
                return int(answer.status)
        except urllib.error.HTTPError as refused:
            return refused.code

    def close(self) -> None:
        """End it, for `contextlib.closing`."""
        self.end()

    def end(self) -> None:
        """End it, as a person would with Ctrl-C."""
        if self.process.poll() is None:
            self.signal(signal.SIGCONT)
            self.signal(signal.SIGTERM)
        self.process.wait(90)
        assert self.process.stdout is not None
        self.process.stdout.close()


@contextmanager
def launched() -> Iterator[Browser]:
    """The system's Chromium, without a window."""
    with sync_playwright() as playwright:
        alone = ["--no-sandbox"] if os.geteuid() == 0 else []  # as root it has no other way
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=[*alone, SHARED_MEMORY], timeout=PATIENCE_MS
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all."""
    with launched() as browser:
        yield browser


@pytest.fixture
def virtual() -> Iterator[VirtualRigProcess]:
    """A simulated rig whose process can be frozen."""
    with VirtualRigProcess(demo_rig(MASS_G, 21.0, 1, "60")) as rig:
        yield rig
        os.kill(rig.pid, signal.SIGCONT)


@pytest.fixture
def served(tmp_path: Path, virtual: VirtualRigProcess) -> Iterator[Served]:
    """The page of that rig."""
    found = Served(tmp_path, "--port", virtual.port)
    yield found
    found.end()


class Window:
    """A page in a browser of its own, and all it complained of and asked for elsewhere.

    `excused` are words of complaints that a test brings about itself, such as a cut line. `ours`
    is where it may ask, if not where it begins.
    """

    opened: ClassVar[list["Window"]] = []

    def __init__(
        self, chromium: Browser, url: str, size: str = "tablet", excused: tuple[str, ...] = (),
        ours: str = "", **more: Any,
    ) -> None:  # fmt: skip
        width, height = SIZES[size]
        self.excused = excused
        Window.opened.append(self)
        self.context = chromium.new_context(viewport={"width": width, "height": height}, **more)
        self.context.set_default_timeout(PATIENCE_MS)
        self.page: Page = self.context.new_page()
        self.complaints: list[str] = []
        self.outside: list[str] = []
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda fault: self.complaints.append(str(fault)))
        self.page.on("dialog", lambda dialog: self.complaints.append(f"dialog {dialog.message}"))
        self.page.on("request", lambda asked: self._request(asked.url, ours or url))
        self.page.goto(url)

    def _console(self, message: Any) -> None:
        is_excused = any(words in message.text for words in self.excused)
        if message.type in ("error", "warning") and not is_excused:
            self.complaints.append(f"{message.text} ({message.location.get('url', '')})")

    def _request(self, url: str, ours: str) -> None:
        origin = "/".join(ours.split("/")[:3])
        if not url.startswith((f"{origin}/", "data:", "blob:")):
            self.outside.append(url)

    def ready(self) -> "Window":
        """Wait until a temperature is shown and the forms are there."""
        self.page.wait_for_selector("#snap-degrees:not(:text('–'))")
        self.page.wait_for_selector(".touches .q-btn")
        return self

    def text(self, name: str) -> str:
        return self.page.locator(f"#snap-{name}").inner_text()

    def close(self) -> None:
        self.context.close()


@pytest.fixture
def window(chromium: Browser, served: Served) -> Iterator[Window]:
    """A tablet before the page."""
    found = Window(chromium, served.url).ready()
    yield found
    found.close()


@pytest.fixture(autouse=True)
def quiet() -> Iterator[None]:
    """After every test, of every window it opened: nothing was asked elsewhere, and nothing was
    complained of but what the test said it would bring about."""
    Window.opened.clear()
    yield
    found = [(window.outside, window.complaints) for window in Window.opened]
    for window in Window.opened:
        window.close()
    assert [one for one in found if one != ([], [])] == []
