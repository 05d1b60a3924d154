"""Bars against the maker's own kept bar, look by look, and how small a difference can be told.

Entries within two hours are one session: the same tablet, light and hands. Only a kept bar of the
same session is a measure for others. All figures are relative.
"""

import math
from collections.abc import Sequence
from itertools import groupby
from statistics import fmean
from typing import NamedTuple

from snapgloss.quality.grades import LOOKS, Look, look_at

# Raised whenever the same photo or sound would give another figure, or the card changes: only
# figures of one way are compared.
GLOSS_WAY, SNAP_WAY = 1, 1
SOUND_MOST_BYTES = 6_000_000
SESSION_MS = 2 * 3600 * 1000
OWN_LEAST = 4  # repeats of one's own, beyond the first of each, that are believed
TWO_SIDED = 1.96  # of the normal distribution, 95 %


class Entry(NamedTuple):
    """One photo or sound; `value` such that differences count: dB, or ln of a share or of Hz."""

    run_id: int
    at_utc_ms: int
    kept: bool
    value: float


class Repeats(NamedTuple):
    """How far the same bar's values differ: a standard deviation, and from how many repeats of
    the maker's own; 0: the simulated one."""

    spread: float
    freedom: int


class Seen(NamedTuple):
    """A bar at one look: the mean of its last session, and against the kept bar.

    `over` is its mean less the kept bar's of that session, None without one; of the kept bar
    itself less its own first look's. `least`: a smaller difference cannot be told.
    """

    look: Look
    value: float
    number: int
    over: float | None
    least: float


def seen_at_looks(
    entries: Sequence[Entry], run_id: int, ended_utc_ms: int, kept: bool, repeats: Repeats
) -> list[Seen]:
    """What was seen of one run's bars, or of the kept one among them, in the order of looks."""
    own = [one for one in entries if one.run_id == run_id and one.kept == kept]
    last: dict[Look, list[Entry]] = {}
    for session in sessions(own):
        last[look_at(session[0].at_utc_ms, ended_utc_ms)] = session
    found: list[Seen] = []
    for look in LOOKS:
        if look in last:
            others = _first(last, look) if kept else _measure(entries, last[look])
            found.append(_seen(look, last[look], others, repeats.spread))
    return found


def _first(last: dict[Look, list[Entry]], look: Look) -> list[Entry]:
    """The kept bar's own first look, for a later one."""
    first = next(iter(sorted(last, key=LOOKS.index)))
    return [] if look == first else last[first]


def _measure(entries: Sequence[Entry], session: Sequence[Entry]) -> list[Entry]:
    """The newest kept bar of the same session."""
    begin, end = session[0].at_utc_ms - SESSION_MS, session[-1].at_utc_ms + SESSION_MS
    kept = [one for one in entries if one.kept and begin <= one.at_utc_ms <= end]
    return [one for one in kept if one.run_id == kept[-1].run_id]


def _seen(look: Look, session: Sequence[Entry], others: Sequence[Entry], spread: float) -> Seen:
    value = fmean(one.value for one in session)
    share = 1 / len(session) + (1 / len(others) if others else 0.0)
    over = value - fmean(one.value for one in others) if others else None
    return Seen(look, value, len(session), over, TWO_SIDED * spread * math.sqrt(share))


def sessions(entries: Sequence[Entry]) -> list[list[Entry]]:
    """Entries by session, oldest first: one ends where nothing comes for two hours."""
    found: list[list[Entry]] = []
    for one in sorted(entries, key=lambda entry: entry.at_utc_ms):
        if found and one.at_utc_ms - found[-1][-1].at_utc_ms <= SESSION_MS:
            found[-1].append(one)
        else:
            found.append([one])
    return found


def repeats_of(entries: Sequence[Entry], simulated: float) -> Repeats:
    """The pooled standard deviation of the same bars in the same session; the simulated one until
    there are enough. Bars of one batch count as the same, which makes it rather too large."""
    squares, freedom = 0.0, 0
    by_bar = sorted(entries, key=lambda one: (one.run_id, one.kept))
    for _, own in groupby(by_bar, key=lambda one: (one.run_id, one.kept)):
        for session in sessions(list(own)):
            mean = fmean(one.value for one in session)
            squares += sum((one.value - mean) ** 2 for one in session)
            freedom += len(session) - 1
    if freedom < OWN_LEAST:
        return Repeats(simulated, 0)
    return Repeats(math.sqrt(squares / freedom), freedom)
