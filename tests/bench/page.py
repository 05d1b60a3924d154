"""The page in Chromium: from a reading to its pixel, what it costs, and how soon it is there.

    python tests/bench/page.py --json

Five devices, each a browser context of its own, watch a simulated rig at twice real time: two
readings a second. A page's frame is timed against the moment at which the server heard the
reading, by the same clock. Then a record of 2,000 batches, one of them with 20,000 readings:
"drawn" is from the touch that opens it to its painted curve, on a device that has looked at
another batch before, "drawn_first_visit" on one that was never here. Then
a rig at 120 times real time, for how memory grows over simulated hours, batch after batch: of the
page its heap after a collection, of the server its resident memory. The slopes that are held
against their bounds are those after the first batch; `_all` are those of all the hours, the
first batch counted. Why: what a batch needs grows while it lasts (its curve is held, and the
save-it card reads all of its readings), and the allocator keeps the most that was ever needed for
the next one. Looked at once with /proc: 157.5 MB when the first batch was sent, 168.8 at its end,
of that 10 of anonymous memory, with 149 libraries mapped before and after; 168.9 all through the
second batch, 169.4 in the third.
Short by default; what was asked for takes

    python tests/bench/page.py --minutes 10 --hours 6 --json

"ok" says whether a figure is within its bound, on the machine it ran on, whose load stands beside
it. The browser and the rig run on the same processors as the server.
"""

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy as np
from bench.store import NEW, fill, identity
from browser.conftest import SIZES, Served, launched
from host.synthetic import SEEDED, synthetic
from playwright.sync_api import Browser, Page

from snapgloss.store import open_store

BOUNDS = {
    "pixel_p95_ms": 150, "server_percent": 5, "server_mb": 200, "page_mb_per_h": 1,
    "server_mb_per_h": 1, "first_view_ms": 1500, "history_ms": 1000, "drawn_ms": 300,
}  # fmt: skip
PAGES, RUNS, READINGS = 5, 2000, 20_000
WARM_S = 15.0
TICKS = os.sysconf("SC_CLK_TCK")
READY = "#snap-degrees:not(:text('–'))"

FRAMES = """
globalThis.frames_ms = [];
globalThis.seen_ms = {};
const Source = globalThis.EventSource;
globalThis.EventSource = class extends Source {
  constructor(url) {
    super(url);
    this.heard = 0;
    this.addEventListener("message", ({ data }) => {
      const { sent_ms, age_s } = JSON.parse(data);
      const heard = sent_ms - age_s * 1000;
      if (age_s < 0 || heard - this.heard < 50) return;
      this.heard = heard;
      requestAnimationFrame(() => {
        const { port1, port2 } = new MessageChannel();
        port1.onmessage = () => frames_ms.push(performance.timeOrigin + performance.now() - heard);
        port2.postMessage(0);
      });
    });
  }
};
const WANTED = { figure: "#snap-degrees", rows: "#rec-batches[data-shown]",
  curve: "#rec-curve[data-drawn]" };
(function look() {
  for (const [name, selector] of Object.entries(WANTED)) {
    const found = name in seen_ms ? null : document.querySelector(selector);
    if (found && found.textContent !== "–") {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => { seen_ms[name] ??= performance.now(); };
      port2.postMessage(0);
    }
  }
  requestAnimationFrame(look);
})();
"""


class Watched:
    """What the server's process uses, by /proc."""

    def __init__(self, served: Served) -> None:
        self._proc = Path(f"/proc/{served.process.pid}")

    def cpu_s(self) -> float:
        """Processor seconds so far, its own threads alone."""
        fields = (self._proc / "stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / TICKS

    def mb(self) -> float:
        """Resident memory."""
        lines = (self._proc / "status").read_text().splitlines()
        line = next(line for line in lines if line.startswith("VmRSS"))
        return int(line.split()[1]) / 1024


@contextmanager
def serving(folder: Path, speed: str) -> Iterator[Served]:
    """The page of a simulated rig of its own."""
    served = Served(folder, "--virtual", "--speed", speed)
    try:
        yield served
    finally:
        served.end()


def opened(browser: Browser, url: str, size: str = "tablet") -> Page:
    """A page on a device of its own, nothing kept from before."""
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height})
    page = context.new_page()
    page.add_init_script(FRAMES)
    page.goto(url)
    return page


def began(served: Served) -> None:
    """Begin the sample batch, as soon as the rig is there and free."""
    while served.command("stage", {"sample": True}) != 200:
        time.sleep(0.5)


def quantile(values: list[float], share: float) -> float:
    """To a tenth."""
    return round(float(np.quantile(values, share)), 1)


def live(browser: Browser, served: Served, minutes: float) -> dict[str, Any]:
    """Five devices watch a batch: from reading to pixel, and what the server uses."""
    watched, sizes = Watched(served), list(SIZES)
    began(served)
    pages = [opened(browser, served.url, sizes[n % len(sizes)]) for n in range(PAGES)]
    for page in pages:
        page.wait_for_selector(READY)
    pages[0].wait_for_timeout(WARM_S * 1000)
    for page in pages:
        page.evaluate("frames_ms.length = 0")
    cpu_s, at_s, most_mb = watched.cpu_s(), time.monotonic(), watched.mb()
    while time.monotonic() - at_s < minutes * 60:
        pages[0].wait_for_timeout(2000)
        most_mb = max(most_mb, watched.mb())
    wall_s, used_s = time.monotonic() - at_s, watched.cpu_s() - cpu_s
    all_ms = [ms for page in pages for ms in page.evaluate("frames_ms")]
    for page in pages:
        page.context.close()
    return {
        "minutes": round(wall_s / 60, 1),
        "frames_per_page_per_s": round(len(all_ms) / PAGES / wall_s, 2),
        "pixel_p50_ms": quantile(all_ms, 0.5),
        "pixel_p95_ms": quantile(all_ms, 0.95),
        "pixel_most_ms": round(max(all_ms), 1),
        "server_percent": round(100 * used_s / wall_s, 2),
        "server_mb": round(most_mb, 1),
    }


def seen(browser: Browser, url: str, name: str, times: int) -> list[float]:
    """Milliseconds from the beginning of the visit until a thing is painted, of some visits by
    devices that were never here."""
    found = []
    for _ in range(times):
        page = opened(browser, url)
        page.wait_for_function("name => name in seen_ms", arg=name)
        found.append(page.evaluate("name => seen_ms[name]", name))
        page.context.close()
    return found


def drawn(browser: Browser, url: str, run_id: int, times: int) -> list[float]:
    """Milliseconds from the touch that opens a batch until its curve is painted, of devices that
    looked at another batch before: the files of the page are there, the batch is not."""
    found = []
    for _ in range(times):
        page = opened(browser, f"{url}/history?batch=1")
        for run in (1, run_id):
            page.goto(f"{url}/history?batch={run}")
            page.wait_for_function("() => 'curve' in seen_ms")  # no text is made code there
        found.append(page.evaluate("seen_ms.curve"))
        page.context.close()
    return found


def fill_record(folder: Path) -> int:
    """Make 2,000 batches and one more with 20,000 readings; return its number."""
    fill(folder, RUNS, 20)
    plan = tuple((s, minutes * 9 // 4, *rest) for s, minutes, *rest in SEEDED)
    long = synthetic(plan)
    with open_store(folder) as store:
        for run_id in range(1, RUNS, 3):
            store.add_grade(run_id, "sell", (), None, "")
        boot = store.boot_id(identity(10**6))
        run_id = store.begin_run(NEW, boot, 0)
        store.add_readings(boot, long.readings[:READINGS])
        store.add_events(boot, long.events)
        store.end_run(run_id, READINGS * 1000, "finished", "Stayed in the window.")
    return run_id


def slope_per_h(hours: list[float], values: list[float]) -> float:
    """The slope of a straight line through them."""
    return round(float(np.polyfit(hours, values, 1)[0]), 3)


def heap_mb(page: Page, session: Any) -> float:
    """What the page's scripts hold, after a collection."""
    session.send("HeapProfiler.collectGarbage")
    return float(session.send("Runtime.getHeapUsage")["usedSize"]) / 1e6


def memory(browser: Browser, served: Served, hours: float) -> dict[str, Any]:
    """How memory grows over so many simulated hours of batch after batch."""
    watched = Watched(served)
    page = opened(browser, served.url)
    session = page.context.new_cdp_session(page)
    page.wait_for_selector(READY)
    done_s, last_s, rows, starts = 0.0, 0, [], []
    while done_s < hours * 3600:
        state = served.state()
        if state["state"] in ("off", "finished"):
            began(served)
            starts.append(len(rows))
        at_s = int(state["at_s"])
        done_s, last_s = done_s + max(0, at_s - last_s), at_s
        rows.append((done_s / 3600, heap_mb(page, session), watched.mb()))
        page.wait_for_timeout(1000)
    page.context.close()
    at_h, page_mb, server_mb = (list(column) for column in zip(*rows, strict=True))
    warm = next((at for at in starts if at_h[at] > 0.5), len(rows) // 2)
    return {
        "hours": round(at_h[-1], 2),
        "page_mb": [round(page_mb[0], 1), round(page_mb[-1], 1)],
        "server_mb_long": [round(server_mb[0], 1), round(server_mb[-1], 1)],
        "warm_h": round(at_h[warm], 2),
        "page_mb_per_h": slope_per_h(at_h[warm:], page_mb[warm:]),
        "server_mb_per_h": slope_per_h(at_h[warm:], server_mb[warm:]),
        "page_mb_per_h_all": slope_per_h(at_h, page_mb),
        "server_mb_per_h_all": slope_per_h(at_h, server_mb),
    }


def measure(folder: Path, minutes: float, hours: float, speed: str) -> dict[str, Any]:
    """All parts, one after another."""
    found: dict[str, Any] = {"load_before": [round(each, 1) for each in os.getloadavg()]}
    record = folder / "record"
    record.mkdir()
    run_id = fill_record(record)
    with launched() as browser:
        with serving(record, "2") as served:
            found.update(live(browser, served, minutes))
            first = seen(browser, served.url, "figure", 7)
            rows = seen(browser, f"{served.url}/history", "rows", 7)
            curves = drawn(browser, served.url, run_id, 7)
            new = seen(browser, f"{served.url}/history?batch={run_id}", "curve", 7)
        for name, values in (("first_view", first), ("history", rows), ("drawn", curves),
                             ("drawn_first_visit", new)):  # fmt: skip
            found[f"{name}_ms"] = quantile(values, 0.5)
            found[f"{name}_most_ms"] = round(max(values), 1)
        with serving(folder / "long", speed) as served:
            found.update(memory(browser, served, hours))
    found["load"] = [round(each, 1) for each in os.getloadavg()]
    found["cores"] = os.cpu_count()
    found["ok"] = {name: found[name] <= bound for name, bound in BOUNDS.items()}
    return found


def main() -> None:
    """Print the figures, as JSON with --json."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print exactly one JSON object")
    parser.add_argument("--minutes", type=float, default=1.0, help="of five pages watching")
    parser.add_argument("--hours", type=float, default=4.0, help="simulated, for memory")
    parser.add_argument("--speed", default="120", help="of the simulated hours")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        figures = measure(Path(folder), given.minutes, given.hours, given.speed)
    if given.json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name}: {value}")


if __name__ == "__main__":
    main()
