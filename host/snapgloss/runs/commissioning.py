"""Proving a rig step by step, each recorded as it is done; and the sheet of what was done.

A step that is cut short (power, cable, Ctrl-C) leaves no entry: it is done again. One that is
passed over is written down as skipped, and keeps the rig at little heat like one that failed.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, Protocol

from rigwire.frames import crc_hex
from snapgloss.base.errors import InputError, LinkError, RigError, SnapglossError
from snapgloss.base.names import check_name
from snapgloss.rigs.commissioning import Entry, StepState, There, board_of, judged, states
from snapgloss.rigs.commissioning_steps import BEFORE, KEYS, Step, step_of, steps_of
from snapgloss.rigs.description import RigDescription
from snapgloss.runs import fitted
from snapgloss.runs.commission_drive import StarvedError
from snapgloss.runs.commission_measures import MEASURES
from snapgloss.runs.commission_place import PLATE_MC, PassedOverError, Place
from snapgloss.store import sheets

FOLDER = "commissioning"
BACK = "The rig is not heard. Board in, 24 V in, USB in; wait until it shows Off or Locked."
PROBES = ("chocolate", "plate")
INVENTED = ("ice_point", "warm_bath", "probes_agree", "stirrer_held")
"""Steps of the rig that rest on what a person says: where a probe is, what a meter shows."""
TRIES = 3
NowMs = Callable[[], int]
Ending = Literal["done", "failed", "cut_short"]


class Watch(Protocol):
    """Who is told how the steps go on."""

    def begins(self, step: Step, number: int, of: int) -> None:
        """Take the step that begins, and its place among those to do, from 1."""
        ...

    def done(self, entry: Entry) -> None:
        """Take what was written down."""
        ...

    def cut_short(self, key: str, fault: SnapglossError) -> None:
        """Take why a step is not done; nothing was written down."""
        ...


class Sheet:
    """The record of one rig by its name, in a data folder; the clock gives UTC milliseconds."""

    def __init__(self, data: Path, rig: RigDescription, now_utc_ms: NowMs) -> None:
        self.rig = rig
        self.rig_crc = crc_hex(rig.to_config_text().encode())
        self._data = data
        self.path = data / FOLDER / f"{_file_name(rig.name)}.txt"
        self._now_utc_ms = now_utc_ms

    def entries(self) -> list[Entry]:
        """Everything ever written, oldest first. Raises StoreError."""
        return [Entry(**row) for row in sheets.read(self.path)]

    def states(self) -> list[StepState]:
        """Every step of the rig as it is described now, with the probes that its board has."""
        steps, entries = steps_of(self.rig.has_sense, self.rig.has_tacho), self.entries()
        board = board_of(entries, self.rig_crc)
        there = There(board, self._probes(board))
        return states(entries, self.rig_crc, self._now_utc_ms(), steps, there)

    def _probes(self, board: str) -> str:
        """The probes of a board by kind, as far as this computer put them on it."""
        kinds = {one.role: one.kind for one in fitted.probes_of(self._data, board)}
        return " ".join(kinds[role] for role in PROBES if role in kinds)

    def write(self, **values: Any) -> Entry:
        """Write one entry; it is on the disk when this returns."""
        probes = self._probes(values["board"])
        entry = Entry(
            at_utc_ms=self._now_utc_ms(), rig_crc=self.rig_crc, probes=probes, **values
        )  # fmt: skip
        sheets.append(self.path, entry._asdict())
        return entry


def described_as(rig: RigDescription, is_simulated: bool) -> RigDescription:
    """Return the rig whose sheet is meant: a simulated one proves nothing about its model."""
    return rig.model_copy(update={"name": f"{rig.name}, simulated"}) if is_simulated else rig


def _file_name(name: str) -> str:
    """A rig's name as a file's: letters and digits stay, all else is its code."""
    return "".join(c if c.isascii() and c.isalnum() else f"_{ord(c):x}" for c in name.lower())


def signed(name: str) -> str:
    """The name that signs. Raises InputError for none, or one that fits no line."""
    if not name.strip():
        raise InputError("A step needs a name to sign it.", 'Give --name "Your name".')
    check_name(name, "The name")
    return name.strip()


def wanted_keys(only: tuple[str, ...], sheet: Sheet) -> list[str]:
    """The steps to do: those named, or all that are open, in their order. Raises InputError."""
    unknown = set(only) - set(KEYS)
    if unknown:
        raise InputError(f'No step is called "{min(unknown)}".', f"There are {', '.join(KEYS)}.")
    found = sheet.states()
    unfitted = set(only) - {one.step.key for one in found}
    if unfitted:
        raise InputError(
            f'"{min(unfitted)}" needs what "{sheet.rig.name}" is described without.',
            "Leave it out, or fit it and describe the rig anew.",
        )
    return [one.step.key for one in found if one.step.key in only or (
        not only and one.state != "passed")]  # fmt: skip


def prove(keys: Sequence[str], place: Place, sheet: Sheet, name: str, watch: Watch) -> Ending:
    """Do these steps in turn, each written down as it is done; the person is told before each
    group what to make ready. Ends early at one that fails, or is cut short by rig or cable."""
    group = ""
    for number, key in enumerate(keys, 1):
        step = step_of(key)
        watch.begins(step, number, len(keys))
        try:
            if step.group != group:
                group = step.group
                place.hands.ready(f"{group}. {BEFORE[group]}")
            entry = _done_at_last(key, place, sheet, name)
        except (RigError, InputError, LinkError) as fault:
            watch.cut_short(key, fault)
            return "cut_short"
        watch.done(entry)
        if entry.result == "failed":
            return "failed"
    return "done"


def _done_at_last(key: str, place: Place, sheet: Sheet, name: str) -> Entry:
    """Do a step, again where only this computer was too slow for it."""
    for _ in range(TRIES - 1):
        try:
            return do_step(key, place, sheet, name)
        except StarvedError as slow:
            place.hands.say(f"{slow.message} Once more.")
    return do_step(key, place, sheet, name)


def do_step(key: str, place: Place, sheet: Sheet, name: str) -> Entry:
    """Do one step and write it down, signed; LinkError or RigError when it was cut short."""
    step = step_of(key)
    place.hands.begin(key)
    place.hands.say(f"{step.key}: {step.words} Must be: {step.must}.")
    place.remark = ""
    value, is_skipped = _found(step, place)
    identity = place.link.identity
    assert identity is not None
    return sheet.write(
        key=key,
        result="skipped" if is_skipped else judged(key, value),
        value=None if value is None else round(value, 3),
        words=_marked(step, identity.simulated) + _words(step, value, is_skipped, place.remark),
        name=name,
        board=identity.board,
        simulated=identity.simulated,
    )


def _found(step: Step, place: Place) -> tuple[float | None, bool]:
    """The figure of a step, and whether it was passed over."""
    if step.how == "rig":
        _must_be_quiet(place)
        try:
            return MEASURES[step.key](place), False
        except PassedOverError:
            return None, True
    if step.how == "figure":
        value = place.hands.figure(step.words, step.unit)
        return value, value is None
    seen = place.hands.seen(step.words, step.must)
    return (None if seen is None else float(seen)), seen is None


def _must_be_quiet(place: Place) -> None:
    """A stop of the step before must be cleared by a press, at the rig."""
    state = _heard(place)
    if state == "stopped":
        place.hands.ready("Put back what was changed, then press the rig's button to clear it.")
        state = place.link.ask_status().state
    if state == "locked":
        place.link.ask_test(0, 0, 1, PLATE_MC, 1)  # its refusal says why
    if state not in ("off", "finished"):
        raise RigError(f"The rig is {state}: the step cannot begin.", "Turn it off first.")


def _heard(place: Place) -> str:
    """The rig's state. Earlier steps take board or cable out: then it is asked for, once."""
    try:
        return place.link.ask_status().state
    except LinkError:
        place.link.close()
        place.hands.ready(BACK)
        place.link = place.reopen()
        return place.link.ask_status().state


def _marked(step: Step, is_simulated: bool) -> str:
    """What stands before the words of a step that was not done on a rig.

    What a person reads off an instrument is not even simulated there: it is made up.
    """
    if not is_simulated:
        return ""
    if step.how == "seen":
        return "simulated, nobody looked: "
    is_invented = step.how == "figure" or step.key in INVENTED
    return "simulated, figure invented: " if is_invented else "simulated: "


def _words(step: Step, value: float | None, is_skipped: bool, remark: str) -> str:
    if is_skipped:
        return "passed over"
    if value is None:
        return remark or f"not as it must be ({step.must})"
    if step.how == "seen" or step.least == value == step.most:
        return step.must if value else f"not so: {step.must}"
    is_named = step.least == step.most or step.unit == "stop code"  # a code, no measure
    figure = f"{value:.2f}" if step.unit.startswith("°C") else f"{value:.3g}"
    found = f"{step.unit} {value:g}" if is_named else f"{figure} {step.unit}"
    return f"{found}; {remark or f'must be: {step.must}'}"
