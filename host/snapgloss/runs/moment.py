"""One moment of a batch, as a face of the program draws it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Progress:
    """One moment of a batch. Temperatures in milli-degC or None; times in device seconds."""

    simulated: bool
    state: str
    at_s: int  # since the batch began; 0 before
    product_mc: int | None
    target_mc: int | None
    plate_mc: int | None
    room_mc: int | None
    step_no: int  # from 1; 0 = none
    steps: int
    step_words: str
    step_left_s: int | None  # None = not known
    batch_left_s: int | None
    share_done: float  # 0..1, by time
    now: str  # what to do now, a sentence
    waiting: bool  # the sentence waits for a person
    withheld: str  # why heat is held back, or empty
    card: str = ""  # what happened and what to do for a batch that goes wrong, or empty
    window_left_s: int | None = None  # of the start window; None where none is open
    behind: int = 0  # readings and events that are still to be fetched from the rig
