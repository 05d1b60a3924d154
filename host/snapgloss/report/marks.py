"""The few moments worth a mark on the curve, and where their words stand."""

from collections.abc import Sequence
from typing import NamedTuple

from rigwire.tables import ADDITIONS
from snapgloss.base.records import Event
from snapgloss.base.units import show_mass
from snapgloss.quality.event_words import stop_words

MAX_MARKS = 8
CHAR_SHARE = 0.0088  # width of one character of the words, as a share of the picture's width


class Mark(NamedTuple):
    """A moment: minutes since the start, its words, and whether it is a stop."""

    minute: float
    words: str
    stop: bool


def marks_of(events: Sequence[Event], zero_ms: int) -> list[Mark]:
    """Seed in, topped up, the first pour, stops: at most eight, stops before others."""
    found: list[Mark] = []
    poured = False
    for event in events:
        words = _words(event)
        if words is None or event.at_ms < zero_ms or (words == "pour" and poured):
            continue
        poured = poured or words == "pour"
        found.append(Mark((event.at_ms - zero_ms) / 60_000, words, event.kind == "stop"))
    kept = sorted(found, key=lambda mark: not mark.stop)[:MAX_MARKS]
    return sorted(kept)


def _words(event: Event) -> str | None:
    if event.kind == "stop":
        return f"stopped: {stop_words(event.a)}"
    if event.kind != "added" or not 0 < event.a < len(ADDITIONS):
        return None
    name = ADDITIONS[event.a]
    if name == "pour":
        return "pour"
    grams = f" {show_mass(event.b)}" if event.b > 0 else ""
    return ("seed in" if name == "seed" else "topped up") + grams


def rows_of(marks: Sequence[Mark], total_min: float) -> list[tuple[int, bool]]:
    """For each mark the row its words stand in (0 = top), and whether they stand left of it.

    Words never overlap others of their row and never leave the picture.
    """
    taken: list[list[tuple[float, float]]] = []
    placed: list[tuple[int, bool]] = []
    for mark in marks:
        start = mark.minute / total_min
        width = (len(mark.words) + 2) * CHAR_SHARE
        left = start + width > 1
        span = (start - width, start) if left else (start, start + width)
        row = next((n for n, held in enumerate(taken) if _free(span, held)), len(taken))
        if row == len(taken):
            taken.append([])
        taken[row].append(span)
        placed.append((row, left))
    return placed


def _free(span: tuple[float, float], held: Sequence[tuple[float, float]]) -> bool:
    return all(span[1] < begin or span[0] > end for begin, end in held)
