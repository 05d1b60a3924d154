"""Takes the checks of one hazard away, for runs that must then be unsafe."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any
from unittest.mock import patch

from rigfw.hot import HotCheck
from rigfw.interlocks import Interlocks
from rigfw.judge import Judge
from rigfw.plate import PlateCheck
from rigfw.rise import RiseCheck
from rigfw.witness import StallCheck, SwitchCheck, Witness


def _nothing(*_values: Any) -> None:
    return None


def _no(*_values: Any) -> bool:
    return False


def _always_believed(self: Any, product_mc: int, _in_pause: Any) -> None:
    self._heard_ms = self._product_at_ms
    self._believe(product_mc)


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


_JUDGE = Judge.judge
_LOCKS_JUDGE = Interlocks.judge

_BELIEVED = (Interlocks, "_new_product", _always_believed)
_COOL = (HotCheck, "judge", _nothing)
_UNWITNESSED = (Witness, "second", _nothing)
_UNPAUSED = (Interlocks, "pause", _nothing)
_WALL = (PlateCheck, "is_held", _no)
_UNJUMPED = (Interlocks, "_is_jump", _no)
_RISEN = (RiseCheck, "second", _no)

CHECKS: dict[str, tuple[tuple[Any, str, Callable[..., Any]], ...]] = {
    "probe_missing": ((Interlocks, "_judge_ages", _nothing),),
    "plate_missing": ((Interlocks, "_judge_ages", _nothing),),
    "probe_range": (_BELIEVED, _COOL, _UNWITNESSED, _UNPAUSED, _WALL, _RISEN),
    "probe_jump": (_UNJUMPED, _COOL, _UNWITNESSED),
    "plate_hot": ((PlateCheck, "new", _cool_plate), _WALL, _UNWITNESSED, _RISEN),
    "no_rise": (_RISEN, _UNWITNESSED),
    "chocolate_hot": (_COOL, _UNWITNESSED, _WALL, _UNPAUSED),
    "probes_swapped": (_RISEN, _UNWITNESSED, _UNPAUSED, _COOL, _WALL, _UNJUMPED),
    "stop_loop": ((Judge, "judge", _unstopped),),
    "unattended": ((Interlocks, "judge", _always_here),),
    "switch_shorted": ((SwitchCheck, "is_shorted", _no), _UNWITNESSED, _COOL),
    "probe_out": (_UNWITNESSED, _UNPAUSED, _WALL, _RISEN),
    "stuck_reading": (_UNWITNESSED, _WALL, _RISEN),
    "stirrer_jam": ((StallCheck, "is_stalled", _no),),
}
"""Hazard: (class, method, what stands in for it). The edge train, hardware, answers for
`frozen_program` and cannot be taken away here."""


@contextmanager
def removed(hazard: str) -> Iterator[None]:
    """While inside, the checks of this hazard are gone; "" takes none away."""
    with ExitStack() as stack:
        for holder, name, stand_in in CHECKS.get(hazard, ()):
            stack.enter_context(patch.object(holder, name, stand_in))
        yield
