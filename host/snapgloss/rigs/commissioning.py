"""What a record of commissioning says: each step's last result, what is due, may the rig heat.

Pure: entries in, states out. An entry is never changed; a step done again gets another one, and
the last counts. What is unsigned, failed, skipped, of another description or too old does not.
"""

from collections.abc import Iterable, Sequence
from typing import Any, Literal, NamedTuple

from rigfw.commissioned import HEAD, UNPROVED_W, proof_text
from rigwire.frames import crc_hex
from snapgloss.base.errors import InputError
from snapgloss.rigs.commissioning_steps import KEYS, STEPS, Step, step_of

DAY_MS = 24 * 3600 * 1000

Result = Literal["passed", "failed", "skipped"]
State = Literal[
    "passed", "failed", "skipped", "unsigned", "due", "open", "other_board", "other_probe"
]
STATE_WORDS: dict[State, str] = {
    "passed": "passed",
    "failed": "FAILED",
    "skipped": "skipped",
    "unsigned": "not signed",
    "due": "due again",
    "open": "not done",
    "other_board": "of another board",
    "other_probe": "of another probe",
}
OF_PROBES = {"ice_point": 1, "warm_bath": 1, "probes_agree": 2}
"""Steps that say something about the first probe, or about both, and nothing about another."""


class Entry(NamedTuple):
    """One step as it was done. `value` in the step's unit; `rig_crc` of the rig's description;
    `probes` are the kinds of the chocolate and plate probe then, empty where nobody knows."""

    at_utc_ms: int
    key: str
    result: Result
    value: float | None
    words: str
    name: str
    board: str
    rig_crc: str
    simulated: bool
    probes: str = ""


class There(NamedTuple):
    """What the rig has now: its board and its probes by kind; empty where nobody knows."""

    board: str = ""
    probes: str = ""


UNKNOWN = There()


class StepState(NamedTuple):
    """Where a step stands: its last entry, None when it was never done, and when it falls due."""

    step: Step
    state: State
    entry: Entry | None
    due_utc_ms: int | None


def judged(key: str, value: float | None) -> Result:
    """Passed when a figure lies in the step's bounds; one that is missing fails."""
    step = step_of(key)
    return "passed" if value is not None and step.least <= value <= step.most else "failed"


def board_of(entries: Iterable[Entry], rig_crc: str) -> str:
    """The board on which a step was last done; empty for none. Simulated boards do not count."""
    boards = [one.board for one in entries if one.rig_crc == rig_crc and not one.simulated]
    return boards[-1] if boards else ""


def states(
    entries: Iterable[Entry], rig_crc: str, now_utc_ms: int, steps: Sequence[Step] = STEPS,
    there: There = UNKNOWN,
) -> list[StepState]:  # fmt: skip
    """The state of each of `steps` for the rig of that description, in order.

    What was done on another board than `there`, or with other probes, does not count.
    """
    last: dict[str, Entry] = {}
    for entry in entries:
        if entry.key in KEYS and entry.rig_crc == rig_crc:
            last[entry.key] = entry
    return [_placed(step, last.get(step.key), now_utc_ms, there) for step in steps]


def _placed(step: Step, entry: Entry | None, now_utc_ms: int, there: There) -> StepState:
    if entry is None:
        return StepState(step, "open", None, None)
    due = entry.at_utc_ms + step.days * DAY_MS if step.days else None
    return StepState(step, _state(entry, now_utc_ms, due, there), entry, due)


def _state(entry: Entry, now_utc_ms: int, due: int | None, there: There) -> State:
    if entry.result != "passed":
        return entry.result
    if not entry.name.strip():
        return "unsigned"
    if _differ(entry.board, there.board) and not entry.simulated:
        return "other_board"
    count = OF_PROBES.get(entry.key, 0)
    if _differ(entry.probes.split()[:count], there.probes.split()[:count]):
        return "other_probe"
    if entry.at_utc_ms > now_utc_ms + DAY_MS:
        return "due"  # of a clock that was wrong: prove it again
    return "due" if due is not None and now_utc_ms >= due else "passed"


def _differ(then: str | list[str], now: str | list[str]) -> bool:
    """What nobody knows differs from nothing."""
    return bool(then and now) and then != now


def open_steps(found: Sequence[StepState]) -> list[StepState]:
    """What keeps the rig from all of its heat, in order."""
    return [one for one in found if one.state != "passed"]


def simulated_keys(found: Sequence[StepState]) -> list[str]:
    """Steps whose last entry was made on a simulated rig."""
    return [one.step.key for one in found if one.entry is not None and one.entry.simulated]


def state_words(one: StepState) -> str:
    """A step's state in words; one of a simulated rig says so."""
    mark = ", simulated" if one.entry is not None and one.entry.simulated else ""
    return STATE_WORDS[one.state] + mark


def verdict(found: Sequence[StepState]) -> str:
    """One sentence: proved, or what is missing and what that means."""
    missing = open_steps(found)
    if not missing and simulated_keys(found):
        return (
            f"Every step is passed, {len(simulated_keys(found))} of {len(found)} on a simulated "
            "rig: that proves nothing about a rig on a bench."
        )
    if not missing:
        return "Every step is passed and signed: this rig may have all of its heat."
    worst = next((one for one in missing if one.state == "failed"), missing[0])
    return (
        f"{len(missing)} of {len(found)} steps are open (first: {worst.step.key}, "
        f"{STATE_WORDS[worst.state]}). Until they are passed there is no proof, and without one "
        f"the rig gets at most {UNPROVED_W} W. A board that was proved before heats fully until "
        "its proof is taken away: snapgloss deploy --proof none."
    )


def proof(found: Sequence[StepState], rig_text: str) -> str:
    """The line for the board that gives it all of its heat; InputError while steps are open.

    A simulated step proves nothing about a rig on a bench.
    """
    if open_steps(found):
        raise InputError(verdict(found), "Do the open steps, then ask for the proof.")
    simulated = simulated_keys(found)
    if simulated:
        raise InputError(
            f"{len(simulated)} steps were simulated: they prove nothing about a real rig.",
            "Do them on the rig itself.",
        )
    return _proof_of(rig_text)


def check_proof(text: str, rig_text: str | None, where: str) -> None:
    """Refuse a proof that the board would not take, before it is put there: InputError.

    `rig_text` is the description that goes along, None when the board keeps its own.
    """
    if not is_proof(text):
        raise InputError(
            f"{where} is no proof, or is damaged.",
            "Write it anew: snapgloss commission --proof FILE.",
        )
    if rig_text is not None and text != _proof_of(rig_text):
        raise InputError(
            f"{where} is the proof of another rig, or of this one as it was described before.",
            "Do the steps for this description, then write its proof: snapgloss commission.",
        )


def _proof_of(rig_text: str) -> str:
    # The device's own code carries no types: it also runs on MicroPython.
    make: Any = proof_text
    text: str = make(rig_text)
    return text


def is_proof(text: str) -> bool:
    """Whether a line is whole, whatever rig it proves."""
    body, _, crc = text.rpartition("|")
    return body.startswith(HEAD) and len(body) == len(HEAD) + 8 and crc == crc_hex(body.encode())
