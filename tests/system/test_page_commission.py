"""Commissioning by the page's API on a simulated rig: the session's thread drives it, a simulated
person presses start, and off works in the midst of it."""

import json
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.browser.conftest import Served

from snapgloss.rigs.commissioning_steps import steps_of
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.commissioning import Sheet, described_as

pytestmark = [pytest.mark.server, pytest.mark.enable_socket, pytest.mark.timeout(480)]

WITHIN_S = 60
FIGURES = {"kΩ": 10.0, "Ω": 0.2, "A": 0.6, "°C": 37.0}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The page of a simulated rig."""
    found = Served(tmp_path, "--virtual", "--speed", "20")
    yield found
    found.end()


def question(served: Served) -> dict[str, Any]:
    """Where the steps stand; what is only to be made ready is made so at once."""
    with urllib.request.urlopen(f"{served.url}/api/proving", timeout=60) as answer:
        found: dict[str, Any] = json.load(answer)
    if found["asks"] == "ready":
        served.command("prove_answer", {"number": found["number"], "answer": "done"})
    return found


def until(served: Served, is_so: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    """Look until something is so."""
    deadline_s = time.monotonic() + WITHIN_S
    while not is_so(found := question(served)):
        assert time.monotonic() < deadline_s, found
        time.sleep(0.1)
    return found


def begin(served: Served, *keys: str) -> None:
    """Begin these steps, once the rig is there."""
    deadline_s = time.monotonic() + WITHIN_S
    while (code := served.command("prove", {"name": "Ada", "only": list(keys)})) != 200:
        assert code == 503 and time.monotonic() < deadline_s, f"answered {code}"
        time.sleep(0.2)


def results(served: Served) -> list[tuple[str, str]]:
    """What the sheet of the simulated rig says; the rig's own sheet stays empty."""
    assert Sheet(served.folder, BENCH_RIG, lambda: 0).entries() == []
    sheet = Sheet(served.folder, described_as(BENCH_RIG, True), lambda: 0)
    return [(one.key, one.result) for one in sheet.entries()]


def answered(served: Served) -> dict[str, Any]:
    """Answer whatever is asked, as it should be, until the steps have ended."""
    asked = set()
    deadline_s = time.monotonic() + 3 * WITHIN_S
    while (found := question(served))["is_on"]:
        assert time.monotonic() < deadline_s, found
        if found["asks"] in ("figure", "seen") and found["number"] not in asked:
            asked.add(found["number"])
            is_figure = found["asks"] == "figure"
            given = {"figure": FIGURES[found["unit"]]} if is_figure else {"answer": "yes"}
            assert served.command("prove_answer", {"number": found["number"], **given}) == 200
        time.sleep(0.1)
    return found


def test_every_step_of_a_simulated_rig_is_done_by_touch(served: Served) -> None:
    """From zero: hands are simulated, what is asked is answered on the page. A sheet of its own;
    a batch may be sent again afterwards."""
    wanted = len(steps_of(has_sense=False, has_tacho=False))
    # A step that a busy machine cut short is the first of the next beginning; it was too late with
    # a lease by an eighth of a second, for at this rig's speed that is five.
    for _ in range(12):
        begin(served)
        found = answered(served)
        if len(results(served)) == wanted:
            break
    done = results(served)
    assert {result for _, result in done} == {"passed"}, found
    assert len(done) == wanted, found
    deadline_s = time.monotonic() + WITHIN_S
    while served.command("stage", {"sample": True}) != 200:
        assert time.monotonic() < deadline_s
        time.sleep(0.5)


def test_leaving_in_the_midst_of_a_step(served: Served) -> None:
    """All off at once, no entry, and the next step is not begun."""
    begin(served, "heat_balance", "host_silent")
    until(served, lambda _now: served.state()["state"] == "testing")
    assert served.command("prove_end") == 200
    until(served, lambda _now: served.state()["state"] == "off")
    until(served, lambda now: not now["is_on"])
    assert results(served) == []
    assert served.state()["state"] == "off"


def test_off_in_the_midst_of_a_step(served: Served) -> None:
    """From anybody, at once; the step is not passed."""
    begin(served, "heat_balance")
    until(served, lambda _now: served.state()["state"] == "testing")
    assert served.command("off") == 200
    until(served, lambda _now: served.state()["state"] == "off")
    until(served, lambda now: not now["is_on"])
    assert ("heat_balance", "passed") not in results(served)
