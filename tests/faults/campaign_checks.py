"""Takes one check away, for runs that must then be unsafe.

Each stands in for one method, function or figure of the firmware, of the wire or, for the two
barriers that the virtual rig models, of the board. Never for two.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple
from unittest.mock import patch

from rigfw import commissioned, describe, interlocks, limits, order, people, upload
from rigfw.app import App
from rigfw.hot import HotCheck
from rigfw.interlocks import Interlocks
from rigfw.judge import Judge
from rigfw.people import People
from rigfw.plate import PlateCheck
from rigfw.proof import StopProof, SwitchProof
from rigfw.rise import RiseCheck
from rigfw.selfwatch import SelfWatch
from rigfw.testing import Testing
from rigfw.upload import Upload
from rigfw.witness import StallCheck, SwitchCheck, Witness
from rigwire import frames, reader, schedule
from snapgloss.virtual import lockstep

NEVER_MS = 10**9
ANY_W = 10**6
WARM_MC = 30_000


class Check(NamedTuple):
    """Where a check is found, and what stands in for it."""

    holder: Any
    name: str
    stand_in: Any


def _nothing(*_values: Any) -> None:
    return None


def _no(*_values: Any) -> bool:
    return False


def _yes(*_values: Any) -> bool:
    return True


def _full(*_values: Any) -> int:
    return 1000


class _Ageless:
    """The readings with one of them never missing."""

    def __init__(self, readings: Any, product_mc: int | None, plate_mc: int | None) -> None:
        self.product_mc = readings.product_mc if product_mc is None else product_mc
        self.plate_mc = readings.plate_mc if plate_mc is None else plate_mc


def _any_product_age(self: Any, readings: Any, now_ms: int) -> None:
    self._heard_ms = now_ms
    _AGES(self, _Ageless(readings, WARM_MC, None), now_ms)


def _any_plate_age(self: Any, readings: Any, now_ms: int) -> None:
    self._plate.good_ms = now_ms
    _AGES(self, _Ageless(readings, None, WARM_MC), now_ms)


def _cool_plate(self: Any, plate_mc: int, at_ms: int) -> bool:
    self.plate_mc, self.good_ms = plate_mc, at_ms
    return False


def _unstopped(self: Any, passed_ms: int) -> None:
    """As judge, with the stop loop taken for closed, once it was proven before the start."""
    if not self._app.attend.asks_for_stop():
        self._app.inputs.stop_open = 0
    _JUDGE(self, passed_ms)


def _always_here(self: Any, *values: Any) -> None:
    """As judge, as if somebody had just pressed."""
    self.alone_ms = 0
    _LOCKS_JUDGE(self, *values)


def _always_leased(self: Any, passed_ms: int) -> bool:
    """Only the time of the test counts."""
    self._left_ms -= passed_ms
    return bool(self._left_ms <= 0)


def _not_due(self: Any, *_values: Any) -> None:
    self.is_due = 0


def _any_length(self: Any, state_no: int, button: Any) -> int:
    """Whatever is let go in the start window starts, however long it was down."""
    if state_no == people.READY and not self._used and button.number > self._asked_after:
        self._used = 1
        return people.START
    return int(_LET_GO(self, state_no, button))


def _any_description(text: str) -> Any:
    """The figures of a line, whatever its check sum says."""
    figures = [int(part) for part in text.split("|")[2:-1]]
    return {field[0]: figures[at] for at, field in enumerate(describe.FIELDS)}


def _any_chocolate(app: Any, _schedule: Any) -> str:
    return str(_THIS_CHOCOLATE(app, None))


def _any_digest(self: Any, digest: str, ceiling_mc: int, keep_slot: Any) -> Any:
    """As done, whatever the pieces add up to."""
    with patch.object(schedule, "digest", lambda _body: digest):
        return _DONE(self, digest, ceiling_mc, keep_slot)


def _any_line(line: bytes) -> Any:
    """The array of a line, whatever its check sum and form."""
    try:
        return json.loads(bytes(line)[:-10])
    except ValueError:
        raise frames.FrameRefused("not a JSON array") from None


_AGES = Interlocks._judge_ages
_JUDGE = Judge.judge
_LOCKS_JUDGE = Interlocks.judge
_LET_GO = People._let_go
_DONE = Upload.done
_THIS_CHOCOLATE = order._why_not_this_chocolate

CHECKS: dict[str, Check] = {
    "product_age": Check(Interlocks, "_judge_ages", _any_product_age),
    "plate_age": Check(Interlocks, "_judge_ages", _any_plate_age),
    "range": Check(limits, "PRODUCT_LOW_MC", -200_000),
    "jump": Check(Interlocks, "_is_jump", _no),
    "plate": Check(PlateCheck, "new", _cool_plate),
    "wall": Check(PlateCheck, "is_held", _no),
    "rise": Check(RiseCheck, "second", _no),
    "hot": Check(HotCheck, "judge", _nothing),
    "witness": Check(Witness, "second", _nothing),
    "stop_loop": Check(Judge, "judge", _unstopped),
    "presence": Check(Interlocks, "judge", _always_here),
    "switch": Check(SwitchCheck, "is_shorted", _no),
    "welded": Check(SwitchProof, "is_welded", _no),
    "stall": Check(StallCheck, "is_stalled", _no),
    "edge_train": Check(lockstep, "ENABLE_HOLDS_MS", NEVER_MS),
    "watchdog": Check(lockstep, "WATCHDOG_MS", NEVER_MS),
    "all_off": Check(App, "_fail", _nothing),
    "memory": Check(SelfWatch, "second", _nothing),
    "late_passes": Check(SelfWatch, "passed", _nothing),
    "lease": Check(Testing, "tick", _always_leased),
    "strongest": Check(interlocks, "strongest_permille", _full),
    "little_heat": Check(limits, "CHECKS_OFF_W", ANY_W),
    "cap": Check(commissioned, "cap_permille", _full),
    "long_press": Check(People, "_let_go", _any_length),
    "fresh_press": Check(People, "window_opens", _nothing),
    "stuck_button": Check(limits, "PRESS_STUCK_MS", NEVER_MS),
    "description": Check(describe, "fields_of", _any_description),
    "too_hot_to_start": Check(order, "_why_not_this_chocolate", _any_chocolate),
    "stop_proof": Check(StopProof, "step", _not_due),
    "agreement": Check(order, "do_probes_agree", _yes),
    "clock": Check(SelfWatch, "_judge_clock", _nothing),
    "frame_crc": Check(reader, "decode", _any_line),
    "digest": Check(Upload, "done", _any_digest),
    "ceiling": Check(upload, "is_within", _yes),
}


@contextmanager
def removed(name: str) -> Iterator[None]:
    """While inside, this one check is gone; "" takes none away."""
    if not name:
        yield
        return
    check = CHECKS[name]
    with patch.object(check.holder, check.name, check.stand_in):
        yield
