"""A workshop of simulated rigs behind damaged cables, and the one clock of it all.

Time moves only when the host waits: then the rigs tick, what is due arrives, and the host's
reader thread has taken it before anything else happens. So one seed gives one course of events.
"""

import os
import random
import threading
from collections import deque
from collections.abc import Sequence
from pathlib import Path

from bad_line import KINDS, Way, gone

from snapgloss.base.errors import LinkError
from snapgloss.link.client import RigLink
from snapgloss.link.ports import PortRow
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.manifest import firmware_files
from snapgloss.runs.connect import introduce
from snapgloss.virtual import exchange as ex
from snapgloss.virtual import interpreter as interpreters
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.device import Boot, Device
from snapgloss.virtual.faults import FaultPlan, Panel
from snapgloss.virtual.lockstep import Lockstep
from snapgloss.virtual.person import Person
from snapgloss.virtual.plant import Plant, PlantSetup
from snapgloss.virtual.staging import KEEP_FOLDER, Staging

TICK_S = ex.TICK_MS / 1000
USB_ID = "2e8a:0005"
IDLE_WAIT_S, SETTLE_WAIT_S = 0.02, 10.0  # real time: a look at a stop flag; longer is a hang


class FarRig:
    """A rig at the far end: the firmware in lockstep with its bowl, moved tick by tick."""

    def __init__(self, board: str, setup: PlantSetup, tap: Path | None = None) -> None:
        plant, panel = Plant(setup), Panel()
        self._lockstep = Lockstep(
            plant, Conversion(setup.seed), Person(setup.mass_g), panel,
            FaultPlan((), (plant.faults, panel)),
        )  # fmt: skip
        self._staging = Staging(firmware_files())
        boot = Boot(BENCH_RIG.to_config_text(), board, 1000 + setup.seed, 1, KEEP_FOLDER, tap)
        self._device = Device(interpreters.find(), self._staging.script, boot, lambda _text: None)
        self._waiting = b""
        stay_on_one_processor(self._device.pid)

    def tick(self, heard: bytes) -> bytes:
        """Let one loop of the firmware pass; give what it says."""
        self._waiting += heard
        room = ex.MAX_WIRE_BYTES - self._lockstep.waiting_bytes
        taken, self._waiting = self._waiting[:room], self._waiting[room:]
        return self._lockstep.tick(self._device, taken, 4 * ex.WRITE_BYTES)

    def idle(self) -> None:
        """Let one loop pass with nobody at the port. What never began a batch may stand still."""
        if self._lockstep.in_batch:
            self._lockstep.tick(self._device, b"", 4 * ex.WRITE_BYTES)

    def close(self) -> None:
        """End the firmware."""
        self._device.close()
        self._staging.remove()


def stay_on_one_processor(pid: int) -> None:
    """The firmware and this process run in turn, so they share a processor, where that goes."""
    if hasattr(os, "sched_setaffinity"):
        one = {min(os.sched_getaffinity(0))}
        os.sched_setaffinity(0, one)
        os.sched_setaffinity(pid, one)


class Cable:
    """A Transport for the host, and its far end for the world. `is_deaf`: open, but nothing
    goes through either way."""

    def __init__(self, port: str, up: Way, down: Way, now_s: "World") -> None:
        self.port, self.up, self.down, self._world = port, up, down, now_s
        self.is_deaf = self.is_gone = self.is_closed = False
        self._inbox: deque[bytes] = deque()
        self._moved = threading.Condition()
        self._is_waited_for = False
        self._reader: threading.Thread | None = None

    def read(self, most_bytes: int) -> bytes:
        """Reader thread: give what has arrived."""
        with self._moved:
            self._reader = threading.current_thread()
            if not self._inbox and not self.is_gone:
                self._is_waited_for = True
                self._moved.notify_all()
                self._moved.wait(IDLE_WAIT_S)
            if self._inbox:
                self._is_waited_for = False
                return self._inbox.popleft()
            if self.is_gone:
                raise gone(self.port)
            return b""

    def write(self, data: bytes) -> None:
        """Host: put bytes on the line."""
        if self.is_gone:
            raise gone(self.port)
        if not self.is_deaf:
            self.down.put(data, self._world.now_s())

    def close(self) -> None:
        """Host: let go."""
        self.is_closed = True

    def deliver(self, data: bytes) -> None:
        """World: let bytes arrive, and return when the reader thread has dealt with them."""
        with self._moved:
            self._inbox.append(data)
            self._moved.notify_all()
            self._settle()

    def _settle(self) -> None:
        done = self._moved.wait_for(lambda: self._is_waited_for and not self._inbox, SETTLE_WAIT_S)
        assert done, "the reader thread takes nothing"

    def pull(self) -> None:
        """World: take the plug out, and return when the reader thread has met it."""
        with self._moved:
            self.is_gone = True
            self._moved.notify_all()
        if self._reader is not None:
            self._reader.join(SETTLE_WAIT_S)
        self.up.forget()
        self.down.forget()


def is_out(port: str) -> bool:
    """True for a name that says that the rig's plug is out."""
    return port.startswith("-")


class World:
    """Ports with rigs behind them, a WaitingClock, and how a port is opened and listed.

    `plan` are moments (seconds) at which something happens, each once.
    """

    def __init__(self, seed: int, share: float, kinds: Sequence[str] = KINDS) -> None:
        self._chance, self._share, self._kinds = random.Random(seed), share, kinds
        self.at_s = 0.0
        self.plan: list[tuple[float, str]] = []
        self.rigs: dict[str, FarRig] = {}
        self.ways: list[Way] = []
        self.cables: dict[str, Cable] = {}
        self._tick_at_s = TICK_S

    def now_s(self) -> float:
        """Seconds since the beginning."""
        return self.at_s

    def wait(self, ready: threading.Event, at_most_s: float) -> bool:
        """Let time pass until ready is set, at most so long."""
        until_s = self.at_s + at_most_s
        while not ready.is_set() and self.at_s < until_s:
            self._step(until_s)
        return ready.is_set()

    def open(self, port: str) -> RigLink:
        """Open a port and say hello. Raises LinkError as a real one does."""
        if port not in self.rigs or is_out(port):
            raise LinkError(f"There is no port {port}.", "Plug the rig in.")
        up, down = (Way(self._chance, self._share, self._kinds) for _ in range(2))
        self.ways += [up, down]
        self.cables[port] = Cable(port, up, down, self)
        self.cables[port].is_deaf = self._is_deaf
        return introduce(self.cables[port], self)

    def ports(self) -> list[PortRow]:
        """What the system lists."""
        return [PortRow(port, "USB serial", USB_ID) for port in self.rigs if not is_out(port)]

    def close(self) -> None:
        """End every rig."""
        for rig in self.rigs.values():
            rig.close()

    _is_deaf = False

    def _step(self, until_s: float) -> None:
        coming = [cable.up.next_s for cable in self.cables.values()]
        self.at_s = max(self.at_s, min([until_s, self._tick_at_s, *coming]))
        for cable in [one for one in self.cables.values() if not one.is_closed]:
            data = cable.up.due(self.at_s)
            if data and not cable.is_deaf and not cable.is_gone:
                cable.deliver(data)
        if self.at_s >= self._tick_at_s:
            self._tick_at_s += TICK_S
            self._happen()
            self._tick()

    def _tick(self) -> None:
        for port, rig in self.rigs.items():
            cable = self.cables.get(port)
            if cable is None or cable.is_closed or cable.is_gone:
                rig.idle()
                continue
            said = rig.tick(cable.down.due(self.at_s))
            if not cable.is_deaf:
                cable.up.put(said, self.at_s)

    def _happen(self) -> None:
        while self.plan and self.plan[0][0] <= self.at_s:
            what, *given = self.plan.pop(0)[1].split()
            {"deaf": self._deaf, "hears": self._hears, "move": self._move}[what](*given)

    def _deaf(self) -> None:
        """Half-open: every port can be opened, and nothing comes through."""
        self._is_deaf = True
        for cable in self.cables.values():
            cable.is_deaf = True

    def _hears(self) -> None:
        self._is_deaf = False
        for cable in self.cables.values():
            cable.is_deaf = False

    def _move(self, *pairs: str) -> None:
        """Every port of `old>new` vanishes; then the rigs are there under the new names, of which
        one that begins with `-` is none: its plug is out."""
        moves = dict(pair.split(">") for pair in pairs)
        for old in moves:
            if old in self.cables:
                self.cables.pop(old).pull()
        self.rigs = {moves.get(port, port): rig for port, rig in self.rigs.items()}
