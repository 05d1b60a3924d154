"""The short form of damaged.py, that its damage is needed, and each kind of damage by itself."""

import random
import sys
from collections import Counter
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from bad_line import BYTE_S, KINDS, LATE_S, STALL_S, Way
from damaged import campaign, short_batch

LINES = [b"line %d\n" % number for number in range(40)]
END_S = 100.0


def test_a_damaged_line_loses_nothing() -> None:
    """Ten minutes with 5 % of lines damaged, a half-open line, the plug out and back under another
    name while another rig has the old one: each row of the journal once, in one run, no gap."""
    count = campaign(1, 0.05, 5, short_batch)
    assert (count.lost, count.doubled, count.differing, count.worst) == (0, 0, 0, [])
    assert (count.finished, count.runs, count.stated_gaps) == (1, 1, 0)
    assert count.readings >= 600
    assert set(count.hits) == set(KINDS)
    assert 0.03 <= sum(count.hits.values()) / count.lines <= 0.07
    assert count.found_again >= 1
    assert count.strangers_refused >= 1


def through(kind: str, share: float = 1.0, lines: list[bytes] = LINES) -> Way:
    """A way with one kind of damage that took some lines, one each second."""
    way = Way(random.Random(3), share, (kind,))
    for at_s, line in enumerate(lines):
        way.put(line, float(at_s))
    return way


def test_without_damage_all_comes_as_it_was_once_a_line_is_whole() -> None:
    """In order, after the time its bytes take; the beginning of a line waits for its end."""
    way = Way(random.Random(1), 0.0)
    way.put(b"one\ntwo", 5.0)
    assert way.next_s == 5.0 + 4 * BYTE_S
    assert (way.due(5.0), way.due(6.0)) == (b"", b"one\n")
    way.put(b"\n", 7.0)
    assert way.due(8.0) == b"two\n"
    assert way.next_s == float("inf")


@pytest.mark.parametrize("kind", KINDS)
def test_every_line_is_hit_and_counted(kind: str) -> None:
    """The share is one of one, and the kind is the one that was asked for."""
    assert through(kind).hits == Counter({kind: len(LINES)})


def test_what_each_kind_does() -> None:
    """None, each twice, all other, each shorter; late and held up ones are whole."""
    all_of_it = b"".join(LINES)
    assert through("drop").due(END_S) == b""
    assert through("double").due(END_S) == b"".join(line + line for line in LINES)
    bits, garbled = through("bits").due(END_S), through("garble").due(END_S)
    assert len(bits) == len(all_of_it) and bits != all_of_it
    assert 40 <= sum(a != b for a, b in zip(bits, all_of_it, strict=True)) <= 120
    assert len(garbled) == len(all_of_it)
    assert not any(line in garbled for line in LINES)
    assert len(through("tear").due(END_S)) <= len(all_of_it) - len(LINES)
    assert sorted(through("late").due(END_S).splitlines(True)) == sorted(LINES)
    assert through("stall").due(9 * END_S) == all_of_it


def test_a_late_line_is_overtaken_and_a_stalled_one_holds_all_up() -> None:
    """By the clock: within the span that each may take, and not before it."""
    late = through("late", lines=[LINES[0]])
    assert LATE_S[0] <= late.next_s <= LATE_S[1] + 1
    late.share = 0.0
    late.put(LINES[1], 0.0)
    assert late.due(END_S) == LINES[1] + LINES[0]
    stall = through("stall", lines=[LINES[0]])
    stall.share = 0.0
    stall.put(LINES[1], 0.0)
    assert stall.due(STALL_S[0]) == b""
    assert stall.due(STALL_S[1] + 1) == LINES[0] + LINES[1]


def test_a_plug_that_is_pulled_takes_what_was_on_its_way() -> None:
    """Nothing of before comes after."""
    way = through("late")
    way.put(b"half", 50.0)
    way.forget()
    way.share = 0.0
    way.put(b" a line\n", 60.0)
    assert way.due(END_S) == b" a line\n"


def test_the_same_seed_damages_the_same() -> None:
    """All kinds at a twentieth: byte by byte."""
    ways = [Way(random.Random(9), 0.05) for _ in range(2)]
    for way in ways:
        for at_s, line in enumerate(LINES * 20):
            way.put(line, float(at_s))
    assert ways[0].hits == ways[1].hits != Counter()
    assert ways[0].due(9e9) == ways[1].due(9e9)
