"""By hand on the virtual rig: real firmware that stays off, a simulated person beside it."""

import sys
from pathlib import Path

import pytest

from snapgloss.runs.by_hand import HandPlan, temper_by_hand
from snapgloss.runs.connect import connect
from snapgloss.store import open_store
from snapgloss.virtual.by_hand import setup_for
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

pytestmark = [
    pytest.mark.timeout(120),
    pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal"),
]
ENOUGH_S = 60
"""Of work: then Ctrl-C."""


class Watch:
    """Presses Ctrl-C after a minute of work; nobody presses Enter."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self._working_since_s = -1

    def say(self, _at_s: int, words: str) -> None:
        """Keep it."""
        self.said.append(words)

    def show(self, at_s: int, state: str, _product_mc: int | None) -> None:
        """End it when there is enough."""
        if state == "working" and self._working_since_s < 0:
            self._working_since_s = at_s
        elif state == "working" and at_s - self._working_since_s > ENOUGH_S:
            raise KeyboardInterrupt

    def presses(self) -> int:
        """None."""
        return 0


def test_a_batch_by_hand_on_the_virtual_rig(tmp_path: Path) -> None:
    """Chocolate still in temper is warmed into its window, the heater never on, and recorded with
    its steps, its question and the answer."""
    spawn = SpawnOptions(setup_for("kept", 2000.0, False), speed="20", by_hand="dark kept")
    plan = HandPlan("Lantern 72", "dark", "kept", 2000, answers_itself=True)
    watch = Watch()
    with VirtualRigProcess(spawn) as rig, open_store(tmp_path) as store:
        link = connect(rig.port)
        result = temper_by_hand(plan, link, store, watch)
        link.close()
        readings, events = store.readings(1), store.events(1)
        figures = store.figures(1)
    assert result.words.startswith("Tempered by hand. Stayed ")
    assert [watch.said[n].split(maxsplit=1)[0] for n in (0, -1)] == ["Warm", "Dip"]
    assert {r.heat_permille for r in readings} == {0}
    temperatures = [r.product_mc for r in readings if r.product_mc is not None]
    assert temperatures[0] < 30_000 and 31_000 <= temperatures[-1] <= 32_000
    assert [e.kind for e in events] == ["step", "reached", "step", "prompt", "answered"]
    assert figures["minutes_over"] == 0.0
