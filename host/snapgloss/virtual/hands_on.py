"""Hands at a simulated rig in commissioning: they do to it what each step asks for.

Everything they give is simulated and is recorded as such. A simulated person makes up what
instruments would show: of the simulated rig where it has the thing, else a usual figure.
"""

import contextlib
import os
import signal
import time
from collections.abc import Callable

from snapgloss.base.person import Person
from snapgloss.virtual.rig import VirtualRig

FIGURES = {"kΩ": 10.0, "Ω": 0.2, "A": 0.6, "°C": 37.0}
PRESSES_STOP = ("stop_in_test", "stop_in_window", "stop_in_batch")
BATH_C = 37.0
TAP_MS, PUT_BACK_MS, LOOK_S = 500, 4000, 0.001
WARM_C = 36.0
"""Bowl and room: chocolate stays liquid and loses nothing, as the water it stands for."""
LIFTED_INTO_K = -14.0  # a room of 22 degC for a probe that is lifted out


class AtVirtualRig:
    """Does to a VirtualRig of this process what hands would; `person` is told and asked."""

    pulls_cable = False

    def __init__(self, rig: VirtualRig, person: Person) -> None:
        self._rig, self._person = rig, person
        self.say, self.look_up = person.say, person.look_up
        self.figure, self.seen = person.figure, person.seen

    def begin(self, key: str) -> None:
        """Put everything right, and the probe where the step wants it."""
        faults, panel = self._rig.lockstep.plant.faults, self._rig.lockstep.panel
        panel.stop_open = False
        faults.heater_shorted = faults.probe_missing = faults.probe_out = False
        faults.stirrer_stalled = False
        faults.probe_forced_c = {"ice_point": 0.0, "warm_bath": BATH_C}.get(key)
        faults.room_offset_k = LIFTED_INTO_K if key == "probe_lifted" else 0.0

    def act(self, key: str) -> None:
        """Do it to the rig."""
        lockstep = self._rig.lockstep
        faults, panel = lockstep.plant.faults, lockstep.panel
        if key in PRESSES_STOP:
            panel.stop_open = True
        elif key == "node_sense":
            faults.heater_shorted = True
        elif key == "probe_unplugged":
            faults.probe_missing = True
        elif key == "probe_lifted":
            faults.probe_out = True
        elif key == "stirrer_stalled":
            faults.stirrer_stalled = True
        elif key == "hang":
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._rig.firmware_pid, signal.SIGSTOP)
        self._person.act(key)

    def ready(self, words: str) -> None:
        """Simulated water is stirred, a plug is in; buttons are pressed as the words ask."""
        self._person.ready(words)
        panel = self._rig.lockstep.panel
        if "leave it pressed" in words:
            panel.stop_open = True
            self._let_pass(TAP_MS)
        elif "stop button free" in words:
            panel.stop_open = False
            self._let_pass(TAP_MS)
        elif "to clear it" in words:
            self._tap()
        elif "10 s" in words:
            self._let_pass(10_000)

    def _tap(self) -> None:
        """A short press, in simulated time, once the probes have told what is right again."""
        self._let_pass(PUT_BACK_MS)
        for down in (True, False):
            self._rig.lockstep.panel.start_stuck = down
            self._let_pass(TAP_MS)

    def _let_pass(self, span_ms: int) -> None:
        until_ms = self._rig.lockstep.at_ms + span_ms
        while self._rig.lockstep.at_ms < until_ms:
            time.sleep(LOOK_S)


class SimulatedPerson:
    """Answers at once. What instruments would show is made up. `tell` is told each sentence."""

    pulls_cable = False

    def __init__(self, tell: Callable[[str], None]) -> None:
        self.say = self.ready = tell

    def begin(self, key: str) -> None:
        """Nothing: hands put right what was changed."""

    def act(self, key: str) -> None:
        """Nothing: hands do it."""

    def look_up(self) -> None:
        """Never ends a step."""

    def figure(self, words: str, unit: str) -> float | None:
        """A usual figure; the bath's own for a thermometer in it."""
        self.say(words)
        return BATH_C if "thermometer" in words and "clinical" in words else FIGURES[unit]

    def seen(self, words: str, must: str) -> bool | None:
        """As it must be."""
        self.say(f"{words} {must.capitalize()}.")
        return True


class QuickClock:
    """A wall clock that runs `FACTOR` times too fast, for a rig that nobody watches."""

    FACTOR = 2.0  # 40 times real time: a lease of 5 s is an eighth of a second here

    def now_s(self) -> float:
        """Seconds of the monotonic clock, times FACTOR."""
        return time.monotonic() * self.FACTOR

    def sleep_s(self, span_s: float) -> None:
        """Sleep a FACTOR-th of it."""
        time.sleep(span_s / self.FACTOR)
