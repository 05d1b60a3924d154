"""The virtual rig: the real firmware in lockstep with the plant, behind a cable of its own."""

import contextlib
import os
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from snapgloss.base.errors import RigError, SnapglossError
from snapgloss.virtual import exchange as ex
from snapgloss.virtual import interpreter as interpreters
from snapgloss.virtual import shown
from snapgloss.virtual.by_hand import HandTemperer
from snapgloss.virtual.cable import Cable
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.description import config_text_for
from snapgloss.virtual.device import Boot, Device, FirmwareDied
from snapgloss.virtual.faults import Fault, FaultPlan, Panel
from snapgloss.virtual.handling import Act, Hands
from snapgloss.virtual.interpreter import Interpreter
from snapgloss.virtual.lockstep import Lockstep
from snapgloss.virtual.pacing import Pacer, SystemWallClock, WallClock
from snapgloss.virtual.person import Person
from snapgloss.virtual.plant import Plant, PlantSetup
from snapgloss.virtual.port import RigPort, open_port
from snapgloss.virtual.staging import KEEP_FOLDER, Staging

POWER_ON, WATCHDOG = 1, 3
"""Reset causes as the RP2040 port of MicroPython numbers them."""

_DEATHS_IN_A_ROW = 5
_LONG_LIFE_MS = 10_000
_LAST_WORDS_BYTES = 600
_PORT_BYTES_A_LOOP = 4 * ex.WRITE_BYTES


@dataclass(frozen=True)
class RigOptions:
    """What makes one virtual rig.

    `speed` is simulated seconds per wall second in a batch, None = as fast as it goes.
    `config_text` is the rig's description for the firmware; empty = the plant's own figures.
    `with_modules` asks the firmware for the hashes of the files it imported. `over_socket` gives
    a loopback TCP port instead of a pseudo-terminal; simulated time does not wait for its reader.
    `by_hand` is type and method, as "dark cooled": the person tempers beside a rig that is off.
    `tap` is a file that gets every row of the firmware's journal, for tests; None = none.
    """

    setup: PlantSetup = field(default_factory=PlantSetup)
    speed: float | None = 60.0
    config_text: str = ""
    faults: tuple[Fault, ...] = ()
    handling: tuple[Act, ...] = ()
    with_modules: bool = False
    over_socket: bool = False
    by_hand: str = ""
    tap: Path | None = None


class VirtualRig:
    """Start it, open `.port` as a serial port, stop it. Also a context manager.

    The rig lives in a thread of this process. `run()` instead runs it in the calling thread
    until `end()`. `on_display` gets the display as lines when it changes. `firmware`,
    `interpreter`, `cable_port` and `clock` are for tests.
    """

    def __init__(
        self,
        options: RigOptions,
        firmware: Mapping[str, Path] | None = None,
        interpreter: Interpreter | None = None,
        cable_port: RigPort | None = None,
        clock: WallClock | None = None,
    ) -> None:
        self.options = options
        self.interpreter = interpreter or interpreters.find()
        self.restarts = 0
        self.on_display: Callable[[list[str]], None] | None = None
        self._picture: list[str] = []
        self._short_lives = 0
        self.failure: SnapglossError | None = None
        self._ended = threading.Event()
        self._thread: threading.Thread | None = None
        self._clock = clock or SystemWallClock()
        # Two simulated rigs of one seed are still two boards.
        self._board_id = f"virtual-{options.setup.seed}-{os.urandom(3).hex()}"
        self._config_text = options.config_text or config_text_for(options.setup)
        self.lockstep = _world(options)
        with contextlib.ExitStack() as building:
            self._cable = Cable(cable_port or open_port(options.over_socket))
            building.callback(self._cable.close)
            self._staging = Staging(firmware if firmware is not None else _firmware_files())
            building.callback(self._staging.remove)
            try:
                self._device = self._boot(POWER_ON)
            except FirmwareDied as death:
                raise self._failed(death) from None
            self._exits = building.pop_all()

    @property
    def port(self) -> str:
        """What a host opens: a path, or on Windows a `socket://` URL."""
        return self._cable.url

    @property
    def report(self) -> dict[str, object]:
        """What the running firmware said of itself at boot."""
        return self._device.report

    @property
    def firmware_pid(self) -> int:
        """The process of the running firmware; stopped, it hangs as a real one would."""
        return self._device.pid

    @property
    def words(self) -> str:
        """The interpreter, for a person."""
        version = self.report.get("version", "")
        return f"{self.interpreter.words}, version {version}"

    def start(self) -> None:
        """Run in a thread of its own."""
        self._thread = threading.Thread(target=self._run_in_thread, name="virtual-rig")
        self._thread.start()

    def stop(self) -> None:
        """End the thread, the firmware and the cable, and remove the folder."""
        self.end()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        self._clean_up()

    def end(self) -> None:
        """Ask `run` to return. Safe from a signal handler and from any thread."""
        self._ended.set()

    def run(self) -> None:
        """Tick until `end()`. Raises RigError when the firmware keeps dying."""
        pacer = Pacer(self.options.speed, self._clock)
        _stay_on_one_processor(self._device)
        while not self._ended.is_set():
            pacer.wait(idle=not self.lockstep.in_batch)
            self._step(pacer)
            if self.on_display and self.lockstep.at_ms % 1000 == 0:
                self._show(self.on_display)

    def _show(self, on_display: Callable[[list[str]], None]) -> None:
        picture = shown.picture(self.lockstep.shown)
        if picture != self._picture:
            self._picture = picture
            on_display(picture)

    def _run_in_thread(self) -> None:
        try:
            self.run()
        except SnapglossError as error:
            self.failure = error

    def _step(self, pacer: Pacer) -> None:
        cable, lockstep = self._cable, self.lockstep
        if cable.attached and not pacer.stand_still(self._unread):
            cable.host_is_gone()
        wire_in = cable.take_in(ex.MAX_WIRE_BYTES - lockstep.waiting_bytes)
        lockstep.person.visits = cable.visits
        try:
            cable.give_out(lockstep.tick(self._device, wire_in, cable.room(_PORT_BYTES_A_LOOP)))
        except FirmwareDied as death:
            self._restart(death)
        if lockstep.panel.power_cut:
            self._sit_out_the_cut(pacer)

    def _sit_out_the_cut(self, pacer: Pacer) -> None:
        """The mains is gone: no firmware, no outputs, a deaf port; then a boot from power on."""
        cable, lockstep = self._cable, self.lockstep
        self._device.close()
        cable.give_out(b"virtual rig: the power is cut\r\n")
        while lockstep.panel.power_cut and not self._ended.is_set():
            pacer.wait(idle=False)
            cable.take_in(ex.MAX_WIRE_BYTES)
            lockstep.in_the_dark()
        if not self._ended.is_set():
            lockstep.whole_second()
            self._power_on(POWER_ON)

    def _unread(self) -> int:
        return 0 if self._ended.is_set() else self._cable.unread()

    def _boot(self, reset_cause: int) -> Device:
        boot = Boot(
            config_text=self._config_text,
            board_id=self._board_id,
            boot_nonce=int.from_bytes(os.urandom(4), "little") >> 2,
            reset_cause=reset_cause,
            keep_folder=KEEP_FOLDER,
            with_modules=self.options.with_modules,
            tap=self.options.tap,
        )
        self._last_words = b""
        self._booted_at_ms = self.lockstep.at_ms
        return Device(self.interpreter, self._staging.script, boot, self._hear)

    def _hear(self, console: bytes) -> None:
        """What the firmware prints goes to the port as text, as on a real board."""
        self._last_words = (self._last_words + console)[-_LAST_WORDS_BYTES:]
        self._cable.give_out(console)

    def _restart(self, death: FirmwareDied) -> None:
        """As a watchdog's bite: outputs off, a new boot nonce, the plant goes on."""
        self.restarts += 1
        lived_ms = self.lockstep.at_ms - self._booted_at_ms
        self._short_lives = self._short_lives + 1 if lived_ms < _LONG_LIFE_MS else 0
        if self._short_lives >= _DEATHS_IN_A_ROW:
            raise self._failed(death)
        self._device.close()
        self._cable.give_out(f"virtual rig: the firmware {death.words}; restarted\r\n".encode())
        self.lockstep.without_firmware()
        self._power_on(WATCHDOG)

    def _power_on(self, reset_cause: int) -> None:
        self.lockstep.power_on()
        try:
            self._device = self._boot(reset_cause)
        except FirmwareDied as again:
            raise self._failed(again) from None
        _stay_on_one_processor(self._device)

    def _failed(self, death: FirmwareDied) -> RigError:
        said = self._last_words.decode("ascii", "replace").strip()
        return RigError(
            f"The firmware of the virtual rig {death.words} as soon as it started.",
            f"It said: {said}" if said else "It said nothing.",
        )

    def _clean_up(self) -> None:
        self._device.close()
        self._exits.close()

    def __enter__(self) -> "VirtualRig":
        self.start()
        return self

    def __exit__(self, *_fault: object) -> None:
        self.stop()


def _firmware_files() -> Mapping[str, Path]:
    from snapgloss.rigs.manifest import firmware_files

    files: Mapping[str, Path] = firmware_files()
    return files


def _world(options: RigOptions) -> Lockstep:
    setup = options.setup
    plant, panel = Plant(setup), Panel()
    return Lockstep(
        plant,
        Conversion(setup.seed),
        HandTemperer(plant, *options.by_hand.split()) if options.by_hand else Person(setup.mass_g),
        panel,
        FaultPlan(options.faults, (plant.faults, panel)),
        Hands(options.handling, plant),
    )


def _stay_on_one_processor(device: Device) -> None:
    """Keep this thread and the firmware on one processor: they only ever run in turn.

    Waking a sleeping process on another processor costs ten times a change of process on the
    same one (measured: 55 us against 5 us a tick). Where the system cannot do it, it is slower.
    """
    if not hasattr(os, "sched_setaffinity"):
        return
    allowed = sorted(os.sched_getaffinity(os.getpid()))
    one = {allowed[os.getpid() % len(allowed)]}
    with contextlib.suppress(OSError):
        os.sched_setaffinity(0, one)
        os.sched_setaffinity(device.pid, one)
