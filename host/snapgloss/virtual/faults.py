"""Hazards by the clock: `probe_out@3600` is one that begins an hour after the press of start."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.virtual.hazards import PlantFaults

_ALIASES = {"crust": ("probe_lag_factor", 4.0)}
_REMEDY = "Write name@second or name=value@second-second, seconds after the press of start."


@dataclass
class Panel:
    """Contacts and mains of the rig that a hazard can hold, whatever the person does."""

    start_stuck: bool = False
    stop_open: bool = False
    bowl_lifted: bool = False
    pedal_down: bool = False
    power_cut: bool = False


class Fault(NamedTuple):
    """A hazard with its value, from `begin_s` (None = from boot) to `end_s` (None = for good)."""

    name: str
    value: float | bool
    begin_s: float | None
    end_s: float | None


def parse_fault(text: str) -> Fault:
    """Read `name[=value]@begin[-end]`; begin may be `boot`. Raises InputError."""
    name_and_value, at, span = text.partition("@")
    name, equals, value = name_and_value.partition("=")
    begin, dash, end = span.partition("-")
    name, usual_value = _ALIASES.get(name, (name, True))
    try:
        if not (name and at):
            raise ValueError
        fault = Fault(
            name,
            float(value) if equals else usual_value,
            None if begin == "boot" else _second(begin),
            _second(end) if dash else None,
        )
    except ValueError:
        names = () if name in known([PlantFaults, Panel]) else (_list([PlantFaults, Panel]),)
        raise InputError(
            f"The fault {text!r} cannot be read.", " ".join([_REMEDY, *names])
        ) from None
    if fault.end_s is not None and fault.end_s <= (fault.begin_s or 0.0):
        raise InputError(
            f"The fault {text!r} ends at second {fault.end_s:g}, before it has begun.",
            "Write the earlier second first, such as power_cut@900-910.",
        )
    return fault


def _second(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError
    return value


def known(targets: Iterable[Any]) -> list[str]:
    """Return the names of the hazards that the targets, or their classes, have."""
    return sorted(field.name for target in targets for field in fields(target))


def _list(targets: Iterable[Any]) -> str:
    return f"There are: {', '.join(known(targets))}."


class FaultPlan:
    """Sets and clears the attributes of `targets` (the plant's faults, the panel) in time.

    `.begun` is True once one was set. Raises InputError for a hazard that no target knows.
    """

    def __init__(self, faults: Sequence[Fault], targets: Sequence[Any]) -> None:
        self._targets = targets
        self.begun = False
        self._changes: list[tuple[float, str, Any]] = []
        for fault in faults:
            self.add(fault)

    def add(self, fault: Fault) -> None:
        """Plan one more; one that begins at boot begins now."""
        usual = getattr(self._target(fault.name), fault.name)
        if fault.begin_s is None:
            self._set(fault.name, fault.value)
        else:
            self._changes.append((fault.begin_s, fault.name, fault.value))
        if fault.end_s is not None:
            self._changes.append((fault.end_s, fault.name, usual))
        self._changes.sort(key=lambda change: change[0])

    def apply(self, since_start_s: float) -> None:
        """Make every change that is due this long after the press of start."""
        while self._changes and self._changes[0][0] <= since_start_s:
            _, name, value = self._changes.pop(0)
            self._set(name, value)

    def _set(self, name: str, value: Any) -> None:
        self.begun = True
        setattr(self._target(name), name, value)

    def _target(self, name: str) -> Any:
        for target in self._targets:
            if hasattr(target, name) and not name.startswith("_"):
                return target
        raise InputError(f"No hazard is called {name!r}.", _list(self._targets))
