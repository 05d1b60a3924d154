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


class Place(NamedTuple):
    """Where a mark's words stand: row 0 is the top; `left` of the stem or right of it."""

    row: int
    left: bool


class _Held(NamedTuple):
    row: int
    begin: float
    end: float
    stem: float

    def meets(self, other: "_Held") -> bool:
        """Words over words of the same row, or words across the other's stem below its row."""
        over = self.row == other.row and self.begin < other.end and other.begin < self.end
        return over or self._crosses(other) or other._crosses(self)

    def _crosses(self, other: "_Held") -> bool:
        return self.row > other.row and self.begin < other.stem < self.end


def rows_of(marks: Sequence[Mark], total_min: float) -> list[Place]:
    """A place for each mark's words: none over others or across a stem, none past the edge."""
    shares = [mark.minute / total_min for mark in marks]
    widths = [(len(mark.words) + 2) * CHAR_SHARE for mark in marks]
    lefts = [share + width > 1 for share, width in zip(shares, widths, strict=True)]
    # From the right edge inwards first, then from the left: so stems stay clear of words.
    order = sorted(range(len(marks)), key=lambda n: (not lefts[n], -n if lefts[n] else n))
    held: list[_Held] = []
    rows = dict.fromkeys(order, 0)
    for n in order:
        begin = shares[n] - widths[n] if lefts[n] else shares[n]
        tries = (_Held(row, begin, begin + widths[n], shares[n]) for row in range(len(marks)))
        place = next((t for t in tries if not any(t.meets(h) for h in held)), None)
        rows[n] = len(held) if place is None else place.row
        held.append(_Held(rows[n], begin, begin + widths[n], shares[n]))
    return [Place(rows[n], lefts[n]) for n in range(len(marks))]
