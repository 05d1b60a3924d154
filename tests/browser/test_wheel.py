"""What people install: the wheel, built here, in an environment of its own, away from the tree."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from tests.browser.conftest import Served, Window
from tests.browser.test_live import until

from snapgloss.web.pages.registry import PAGES

pytestmark = [pytest.mark.campaign, pytest.mark.enable_socket, pytest.mark.timeout(600)]

ROOT = Path(__file__).parents[2]
LOOPBACK, ANY = "0100007F", "00000000"  # as Linux writes addresses


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The Python of a new environment that has the wheel and what it asks for;
    SNAPGLOSS_TEST_INSTALLED names one that was made already."""
    made = os.environ.get("SNAPGLOSS_TEST_INSTALLED")
    if made:
        return Path(made)
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "-q"]
    subprocess.run([*pip, "wheel", "--no-deps", "-w", str(folder), str(ROOT)], check=True)
    subprocess.run([sys.executable, "-m", "venv", str(folder / "venv")], check=True)
    python = folder / "venv" / "bin" / "python"
    (wheel,) = folder.glob("snapgloss-*.whl")
    subprocess.run([str(python), "-m", "pip", "-q", "install", str(wheel)], check=True)
    return python


@pytest.fixture
def served(installed: Path, tmp_path: Path) -> Iterator[Served]:
    """Its page, with the sample batch under way."""
    found = Served(tmp_path, "--virtual", "--speed", "60", python=installed)
    yield found
    found.end()


def test_the_wheel_serves_every_page_and_asks_nobody(chromium: Browser, served: Served) -> None:
    """Each page of it, while a batch runs; neither the browser nor the server speaks to anybody
    outside this computer. What a browser asks elsewhere fails after every test."""
    where = f"/proc/{served.process.pid}/cwd"
    assert not str(Path(where).readlink()).startswith(str(ROOT))
    assert served.command("stage", {"sample": True}) == 200
    until(served, "melting")
    window = Window(chromium, served.url).ready()
    window.page.wait_for_selector("#snap-curve canvas")
    for page in PAGES:
        window.page.goto(served.url + page.path)
        window.page.wait_for_selector("main")
        window.page.wait_for_load_state("networkidle") if page.path != "/" else None
        assert outside(served.process.pid) == []
    window.close()


def outside(pid: int) -> list[str]:
    """The other ends of the server's sockets that are not on this computer."""
    inodes = set()
    for one in Path(f"/proc/{pid}/fd").iterdir():
        target = str(one.readlink()) if one.is_symlink() else ""
        if target.startswith("socket:["):
            inodes.add(target[8:-1])
    rows = Path(f"/proc/{pid}/net/tcp").read_text(encoding="ascii").splitlines()[1:]
    found = [row.split() for row in rows]
    mine = [row for row in found if row[9] in inodes]
    assert mine, "the server has a socket at least"
    return [row[2] for row in mine if row[2].partition(":")[0] not in (LOOPBACK, ANY)]
