"""One moment as a page shows it: all figures and sentences, nothing to work out any more."""

from dataclasses import dataclass, replace

from snapgloss.base.records import Reading
from snapgloss.runs.moment import Progress


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence, and when it was said, in seconds since the batch began."""

    at_s: int
    words: str


@dataclass(frozen=True, slots=True)
class Outputs:
    """What the rig drives, in thousandths of full power; None where nothing was heard."""

    heat_permille: int | None = None
    fan_permille: int | None = None
    stir_permille: int | None = None


@dataclass(frozen=True, slots=True)
class Pouring:
    """How the pouring goes; `moulds` 0 where nobody said how many, `good_left_s` None before.

    `words` says whether the last mould comes in time; empty where that is not known.
    """

    moulds: int = 0
    done: int = 0
    good_left_s: int | None = None
    words: str = ""


Curve = tuple[tuple[int, int, int, int], ...]
"""Seconds since the start; milli-degC as forecast; between which two nine in ten batches are."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is to come: a sentence, in how many seconds, and the forecast. `version` changes with
    the curve."""

    words: str = ""
    in_s: int | None = None
    curve: Curve = ()
    version: int = 0


@dataclass(frozen=True)
class Moment:
    """Where rig and batch are. Temperatures in milli-degC, times in device seconds.

    `is_there`: the rig answers. `trouble` says what keeps it away. `run` is the number in the
    record, 0 for none yet. `asks` is the prompt that waits, by its name in rigwire.tables.
    `window_left_s`: a press at the rig starts the batch for so long; None where nothing waits.
    """

    is_there: bool = False
    trouble: str = ""
    simulated: bool = False
    firmware: str = ""
    run: int = 0
    title: str = ""
    staged: str = ""
    state: str = ""
    step_words: str = ""
    step_no: int = 0
    steps: int = 0
    at_s: int = 0
    step_left_s: int | None = None
    batch_left_s: int | None = None
    share_done: float = 0.0
    product_mc: int | None = None
    target_mc: int | None = None
    plate_mc: int | None = None
    room_mc: int | None = None
    outputs: Outputs = Outputs()
    now: str = ""
    is_waiting: bool = False
    asks: str = ""
    window_left_s: int | None = None
    withheld: str = ""
    card: str = ""
    behind: int = 0
    window_low_mc: int | None = None
    window_high_mc: int | None = None
    inside_s: int | None = None
    pouring: Pouring = Pouring()
    ahead: Ahead = Ahead()
    said: tuple[Said, ...] = ()
    ended: str = ""


NOBODY = Moment()


def with_progress(moment: Moment, now: Progress, asks: str) -> Moment:
    """Return the moment with where the batch is; what `progress` does not know stays."""
    return replace(
        moment,
        is_there=True,
        trouble="",
        simulated=now.simulated,
        state=now.state,
        step_words=now.step_words,
        step_no=now.step_no,
        steps=now.steps,
        at_s=now.at_s,
        step_left_s=now.step_left_s,
        batch_left_s=now.batch_left_s,
        share_done=round(now.share_done, 4),
        product_mc=now.product_mc,
        target_mc=now.target_mc,
        plate_mc=now.plate_mc,
        room_mc=now.room_mc,
        now=now.now,
        is_waiting=now.waiting,
        asks=asks if now.waiting else "",
        window_left_s=now.window_left_s,
        withheld=now.withheld,
        card=now.card,
        behind=now.behind,
    )


def with_reading(moment: Moment, reading: Reading) -> Moment:
    """Return the moment with what a reading shows, where no batch of ours is under way."""
    return replace(
        with_outputs(moment, reading),
        state=reading.state,
        product_mc=reading.product_mc,
        target_mc=None,
        plate_mc=reading.plate_mc,
        room_mc=reading.room_mc,
    )


def with_outputs(moment: Moment, reading: Reading) -> Moment:
    """Return the moment with heat, fan and stirrer as they are."""
    outputs = Outputs(reading.heat_permille, reading.fan_permille, reading.stir_permille)
    return replace(moment, outputs=outputs)
