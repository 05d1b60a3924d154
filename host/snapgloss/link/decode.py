"""From messages of the wire to the records of the host: names for numbers, None for missing."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from rigwire.messages import MISSING_MC, Message
from rigwire.states import STATES
from rigwire.tables import EVENT_NAMES, PROMPTS
from snapgloss.base.records import Event, Identity, Reading, Sample, Status
from snapgloss.link.streams import Gap


class Boot(NamedTuple):
    """The rig started anew: all that was taken before is of another boot."""

    identity: Identity


Record = Reading | Event | Sample | Status | Gap | Boot
Taken = Callable[[list[Record]], None]


def state_name(state_no: int) -> str:
    """Return the name of a state, or `state 17` for one that a newer device knows."""
    return STATES[state_no] if 0 <= state_no < len(STATES) else f"state {state_no}"


def prompt_name(prompt_no: int) -> str:
    """Return the name of a prompt, or `prompt 9` for one that a newer device knows."""
    return PROMPTS[prompt_no] if 0 <= prompt_no < len(PROMPTS) else f"prompt {prompt_no}"


def known_mc(value_mc: int) -> int | None:
    """Return value_mc, or None for the wire's mark of a missing reading."""
    return None if value_mc == MISSING_MC else value_mc


def reading(seq: int, values: Sequence[int]) -> Reading:
    """Build a Reading from the eleven values of `reading` or of one group of `batch`."""
    at_ms, state_no, step_no, target, product, plate, room, heat, fan, stir, flags = values[:11]
    return Reading(
        seq, at_ms, state_name(state_no), step_no, known_mc(target), known_mc(product),
        known_mc(plate), known_mc(room), heat, fan, stir, flags,
    )  # fmt: skip


def readings(message: Message) -> list[Reading]:
    """Build the readings of a `batch`, in order."""
    first_seq = message.values[0]
    return [reading(first_seq + place, group) for place, group in enumerate(message.groups)]


def sample(message: Message) -> Sample:
    """Build a Sample from a pushed `sample`."""
    at_ms, sample_mc = message.values[:2]
    return Sample(message.number, at_ms, known_mc(sample_mc))


def samples(message: Message) -> list[Sample]:
    """Build the samples of a `samples` answer, in order."""
    first_seq = message.values[0]
    return [
        Sample(first_seq + place, at_ms, known_mc(sample_mc))
        for place, (at_ms, sample_mc) in enumerate(message.groups)
    ]


def event(message: Message) -> Event:
    """Build an Event from a pushed `event`."""
    at_ms, kind, a, b = message.values[:4]
    return Event(message.number, at_ms, kind, a, b)


def events(message: Message) -> list[Event]:
    """Build the events of an `events` answer, in order; kinds come as numbers there."""
    first_seq = message.values[0]
    found = []
    for place, (at_ms, kind_no, a, b) in enumerate(message.groups):
        known = 0 <= kind_no < len(EVENT_NAMES)
        kind = EVENT_NAMES[kind_no] if known else f"kind {kind_no}"
        found.append(Event(first_seq + place, at_ms, kind, a, b))
    return found


def status(message: Message) -> Status:
    """Build a Status from a pushed or asked `status`."""
    state_no, step_no, left_s, prompt_no, *rest = message.values[:9]
    return Status(state_name(state_no), step_no, left_s, prompt_name(prompt_no), *rest)


def identity(message: Message) -> Identity:
    """Build the Identity from `hello_is`."""
    major, minor, firmware, board, nonce, digest, state_no, *rest = message.values[:14]
    fields = [board, nonce, firmware, major, minor, digest, state_name(state_no), *rest[:-1]]
    return Identity._make([*fields, rest[-1] == 1])


def lost_range(message: Message) -> tuple[int, int]:
    """Return the first and last sequence number of a `lost`."""
    _, from_seq, to_seq = message.values[:3]
    return from_seq, to_seq
