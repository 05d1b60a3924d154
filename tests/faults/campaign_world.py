"""The world of one faulty run: plant that is looked at, program, host and person that go wrong."""

from collections.abc import Callable
from types import MethodType
from typing import Any, NamedTuple

from campaign_cases import REFUSAL_S, FaultCase
from campaign_talk import Talk
from campaign_truth import LOOK_MS, Judge, heater_w
from handling import ROOM_BYTES, Leaver
from handling_world import InProcess

from rigfw import commissioned
from rigwire.states import STATES
from snapgloss.virtual import exchange as ex
from snapgloss.virtual import sensors
from snapgloss.virtual.conversion import Conversion
from snapgloss.virtual.device import FirmwareDied
from snapgloss.virtual.faults import FaultPlan, Panel
from snapgloss.virtual.handling import Hands
from snapgloss.virtual.lockstep import Lockstep
from snapgloss.virtual.person import TAP_MS, Seen
from snapgloss.virtual.plant import Drive, Plant, PlantSetup

AFTER_S = 60.0
PRESS_S = 5.0  # the press of start is over
WAIT_S = 60.0  # from the boot to the press of start, at most
CREEP_K_PER_S = 0.4  # slower than what the firmware takes for a jump
LATE_TICKS = 5
LITTLE_BYTES = 12_000
CLOCK_FACTORS = (0.95, 1.05)


class LookedAtPlant(Plant):
    """A plant that calls `look(at_ms, drive)` every LOOK_MS while it moves. `heat_j` is what its
    heater gave."""

    def __init__(self, setup: PlantSetup, look: Callable[[int, Drive], None]) -> None:
        super().__init__(setup)
        self.at_ms = 0
        self.heat_j = 0.0
        self._look = look

    def advance(self, dt_s: float, drive: Drive) -> None:
        """As the plant, in steps that end where it is looked at."""
        end_ms = self.at_ms + round(1000 * dt_s)
        while self.at_ms < end_ms:
            next_ms = min(end_ms, self.at_ms - self.at_ms % LOOK_MS + LOOK_MS)
            span_s = (next_ms - self.at_ms) / 1000
            self.heat_j += heater_w(self, drive) * span_s
            super().advance(span_s, drive)
            self.at_ms = next_ms
            if next_ms % LOOK_MS == 0:
                self._look(next_ms, drive)


class Faulty(InProcess):
    """A firmware whose loop can stand still, come late, or live by another clock."""

    def __init__(self, config_text: str, board_id: str, clock_factor: float = 1.0) -> None:
        super().__init__(config_text, board_id)
        self.is_frozen = self.is_hung = self.is_late = False
        self._clock_factor = clock_factor
        self._last: tuple[int, ...] = ()
        self._ticks = 0

    def send(self, record: bytes) -> None:
        """One record, its times as this board's clock has them."""
        super().send(record)
        for field in (ex.NOW_MS, ex.PRODUCT_AT_MS, ex.PLATE_AT_MS, ex.ROOM_AT_MS):
            self._record[field] = round(self._record[field] * self._clock_factor)

    def receive(self) -> tuple[tuple[int, ...], bytes]:
        """One pass, or none: then its pins stay as they are."""
        self._ticks += 1
        if self._ticks == 1 or not self._stands():
            self._last, wire = super().receive()
            return self._last, wire
        still = list(self._last)
        still[ex.WIRE_OUT_BYTES] = 0
        still[ex.OUTPUTS] &= ~ex.KICKED
        if self.is_frozen:  # something still feeds the watchdog: it is not what is looked at here
            still[ex.OUTPUTS] |= ex.KICKED
        if self.is_hung:  # a timer still makes the edges
            still[ex.OUTPUTS] ^= ex.ENABLE_EDGE
        self._last = tuple(still)
        return self._last, b""

    def _stands(self) -> bool:
        is_between = self.is_late and self._ticks % LATE_TICKS != 0
        return self.is_frozen or self.is_hung or is_between


class Someone(Leaver):
    """The person of a case: who may press too short, not at all, or never try the stop button."""

    def __init__(self, case: FaultCase) -> None:
        super().__init__(case.setup.mass_g, case.onset_s if case.does("nobody") else None)
        acts = set(case.injection.acts)
        self._taps = "taps" in acts
        self._starts = not acts & {"nobody_presses", "presses_early", "chatters"}
        self._tries_stop = "stop_not_tried" not in acts
        self.starts_again = not acts & {"resets", "asks_again"}

    def act(self, now_ms: int, seen: Seen, bowl: Any) -> None:
        """As a person; see above."""
        super().act(now_ms, seen, bowl)
        self.stop_down = self.stop_down and self._tries_stop

    def _start(self, now_ms: int, bowl: Any) -> None:
        if self._starts and (self.starts_again or self.pressed_at_ms is None):
            super()._start(now_ms, bowl)

    def _press(self, now_ms: int, span_ms: int) -> None:
        super()._press(now_ms, TAP_MS if self._taps else span_ms)


def _everything(self: Any, *_values: Any) -> None:
    self.heat_permille = 1000


def _raise(*_values: Any) -> None:
    raise RuntimeError("a fault of the program itself")


class Outcome(NamedTuple):
    """What became of one faulty run."""

    seed: int
    row: str
    hazard: str
    is_met: bool
    bound_s: float
    off_s: float
    bound_k: float | None
    worst_k: float
    unsafe: str
    end_state: str
    looks: int
    pressed_s: float | None


class FaultRun:
    """One faulty case in its world."""

    def __init__(self, case: FaultCase) -> None:
        self.case = case
        self.judge = Judge(case)
        self.plant, self.panel = LookedAtPlant(case.setup, self._look), Panel()
        self.talk = Talk(case)
        self.person = Someone(case)
        self.firmware = self._boot()
        plan = FaultPlan(case.faults, (self.plant.faults, self.panel))
        conversion = Conversion(case.setup.seed, sensors.KINDS[case.probe_kind])
        hands = Hands((), self.plant, self.talk.declare, True)
        self.lockstep = Lockstep(self.plant, conversion, self.person, self.panel, plan, hands)
        self._is_on = False

    def _boot(self) -> Faulty:
        case = self.case
        factor = CLOCK_FACTORS[case.seed // 7 % 2] if case.does("clock_runs") else 1.0
        text = case.rig.to_config_text()
        if case.does("bit_flipped"):
            text = _flipped(text)
        firmware = Faulty(text, f"campaign-{case.seed}", factor)
        if case.does("unproved"):
            app = firmware._app
            app.cap_permille = commissioned.cap_permille(None, text, case.rig.heater_w)
        return firmware

    def run(self) -> Outcome:
        """Until 60 s after the bound, or long enough for what must not begin."""
        lockstep = self.lockstep
        while not self._is_over():
            begin_ms = self.plant.at_ms = lockstep.at_ms
            self._hold_button(lockstep.at_ms)
            wire_in = self.talk.next_frame(lockstep.at_ms)
            try:
                self.talk.hear(lockstep.tick(self.firmware, wire_in, ROOM_BYTES))
            except FirmwareDied:
                self._reset()
            self._look_at_rest(begin_ms)
            since_s = self._since_s(lockstep.at_ms)
            if since_s is not None and since_s >= self.case.onset_s:
                self._misbehave(since_s - self.case.onset_s)
        return self._outcome(lockstep._seen.state_no)

    def _since_s(self, at_ms: int) -> float | None:
        pressed_ms = self.person.pressed_at_ms
        return None if pressed_ms is None else (at_ms - pressed_ms) / 1000

    def _is_over(self) -> bool:
        at_s, since_s = self.lockstep.at_ms / 1000, self._since_s(self.lockstep.at_ms)
        if self.case.is_boot and at_s < self.talk.quiet_s:
            return False
        if since_s is None:
            return at_s > max(self.talk.quiet_s, WAIT_S) + REFUSAL_S
        follow_s = self.judge.follow_s or 0.0
        return since_s > max(self.case.end_s, follow_s + self.case.bound_s) + AFTER_S

    def _look(self, at_ms: int, drive: Drive) -> None:
        since_s = self._since_s(at_ms)
        is_pressed = self.person.start_down and since_s is not None and since_s > PRESS_S
        if self.talk.last_lease_ms is not None:
            self.judge.last_lease_s = self._since_s(self.talk.last_lease_ms)
        self.judge.look(at_ms / 1000, since_s, self.plant, drive, is_pressed, self.plant.heat_j)

    def _look_at_rest(self, begin_ms: int) -> None:
        """Before the press the plant stands still, and is looked at all the same."""
        if self.plant.at_ms == begin_ms:
            first_ms = begin_ms - begin_ms % LOOK_MS + LOOK_MS
            for at_ms in range(first_ms, self.lockstep.at_ms + 1, LOOK_MS):
                self._look(at_ms, self.lockstep._driven)

    def _hold_button(self, at_ms: int) -> None:
        """Presses that belong to nobody's plan."""
        spans = self.talk.presses_ms
        self.panel.start_stuck = any(begin <= at_ms < end for begin, end in spans)

    def _misbehave(self, after_s: float) -> None:
        """What goes wrong in the program or around it, not in the plant."""
        case, firmware = self.case, self.firmware
        firmware.is_frozen, firmware.is_late = case.does("frozen"), case.does("late")
        firmware.is_hung = case.does("hung") and not self._is_on
        if case.does("creep"):
            self.plant.faults.probe_shift_k = -CREEP_K_PER_S * after_s
        if case.does("leases") and self.talk.last_lease_ms is None:
            self.talk.falls_silent(self.lockstep.at_ms)
        if case.does("asks_again") and after_s > 1.0:
            self.panel.stop_open = False
        if not self._is_on and not firmware.is_hung:
            self._is_on = True
            self._go_wrong()

    def _go_wrong(self) -> None:
        """Once, at the onset."""
        case, app = self.case, self.firmware._app
        if case.does("wild"):
            app.regulator.demand = MethodType(_everything, app.regulator)
        if case.does("raises"):
            app.step = _raise
        if case.does("memory"):
            app.board.free_bytes = lambda: LITTLE_BYTES
        if case.does("asks_again"):
            self.talk.comes_back(self.lockstep.at_ms)
        if case.does("resets"):
            self._reset()

    def _reset(self) -> None:
        """The board starts again, the host finds it, and asks for the start as before."""
        self._is_on = True
        self.person.starts_again = False
        self.lockstep.without_firmware()
        self.firmware = self._boot()
        self.lockstep.power_on()
        self.talk.comes_back(self.lockstep.at_ms)

    def _outcome(self, state_no: int) -> Outcome:
        case, judge = self.case, self.judge
        is_met = judge.is_met and (judge.began or case.is_boot)
        return Outcome(
            case.seed, case.row, case.hazard, is_met, case.bound_s, round(judge.off_s, 2),
            judge.bound_k, judge.worst_k, judge.unsafe,
            STATES[state_no] if state_no >= 0 else "nothing", judge.looks, judge.pressed_s,
        )  # fmt: skip


def _flipped(text: str) -> str:
    """The description with one bit of a digit turned: another plate, if it is believed."""
    parts = text.split("|")
    parts[3] = parts[3][:-1] + chr(ord(parts[3][-1]) ^ 1)
    return "|".join(parts)
