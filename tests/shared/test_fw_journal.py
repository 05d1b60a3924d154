"""The rings: what is held, what is lost, and that nobody is told otherwise."""

from array import array

from fw_fakes import Rig
from rigfw.journal import EVENTS, READING_WIDTH, READINGS, Journal, PackedRing, Ring
from wire_vectors import raises

LEAST = (0, 0, 0, -300000, -300000, -300000, -300000, 0, 0, 0, 0, -300000)
MOST = (2**30 - 1, 12, 16, 200000, 200000, 200000, 200000, 1000, 1000, 1000, 1023, 200000)
BOUNDS = [(LEAST[at], MOST[at]) for at in range(len(MOST))]


def _filled(rows, width, count):
    ring = Ring(rows, width)
    for number in range(count):
        ring.append(array("i", [number * width + column for column in range(width)]))
    return ring


def test_an_empty_ring_has_no_rows():
    """Oldest and newest are -1, the next number is 0."""
    ring = Ring(128, 4)
    assert (ring.oldest(), ring.newest(), ring.next_seq) == (-1, -1, 0)


def test_a_full_ring_keeps_the_last_rows_at_their_numbers():
    """After 1 000 rows in 256, rows 744 to 999 are held with their own values."""
    ring = _filled(256, 3, 1000)
    assert (ring.oldest(), ring.newest()) == (744, 999)
    for seq in (744, 800, 895, 896, 999):
        assert ring.row(seq) == (3 * seq, 3 * seq + 1, 3 * seq + 2)


def test_overwritten_readings_are_answered_as_lost_from_to():
    """With 1 100 readings made, 0 to 75 are lost; the host is told exactly that."""
    rig = Rig()
    for _ in range(1100):
        rig.app.reporter.keep(0)
    lost = rig.ask("fetch", 0)
    first = rig.app.journal.readings.next_seq - READINGS
    assert lost.name == "lost"
    assert lost.values == [0, 0, first - 1] or lost.values[2] in (first - 1, first - 2, first - 3)


def test_fetch_gives_three_rows_at_a_time_and_an_empty_batch_at_the_end():
    """From 0: rows 0, 1, 2. From beyond the newest: no rows."""
    rig = Rig()
    rig.run(6)
    batch = rig.ask("fetch", 0)
    assert batch.name == "batch"
    assert (batch.get("first_seq"), len(batch.groups)) == (0, 3)
    assert batch.groups[0][0] == 1000
    assert batch.groups[2] == rig.app.journal.readings.row(2)[:-1]
    assert rig.ask("fetch", 500).groups == []


def test_overwritten_events_are_lost_and_the_rest_comes_four_at_a_time():
    """200 events in a ring of 128: asked from 0, the gap is named; then rows come."""
    rig = Rig()
    for number in range(200):
        rig.app.journal.note(12, number)
    rig.run(1)
    lost = rig.ask("fetch_events", 0)
    oldest = rig.app.journal.events.next_seq - EVENTS
    assert (lost.name, lost.values) == ("lost", [1, 0, oldest - 1])
    rows = rig.ask("fetch_events", oldest)
    assert [group[2] for group in rows.groups] == [oldest - 1 + step for step in range(4)]


def test_one_reading_a_second_with_its_time():
    """Ten seconds of passes keep ten readings, 1 000 ms apart."""
    rig = Rig()
    rig.run(10)
    ring = rig.app.journal.readings
    assert ring.next_seq == 10
    assert [ring.row(seq)[0] for seq in range(10)] == [1000 * (seq + 1) for seq in range(10)]


def _mixed(number):
    """A row of readings inside their ranges, another for every number."""
    return tuple([low + number * 7919 % (high - low + 1) for low, high in BOUNDS])


def _at_bounds():
    """All least, all most, and each value alone at the bound where the others are not."""
    rows = [LEAST, MOST, LEAST]
    for at in range(READING_WIDTH):
        rows.append(LEAST[:at] + MOST[at : at + 1] + LEAST[at + 1 :])
        rows.append(MOST[:at] + LEAST[at : at + 1] + MOST[at + 1 :])
    return rows


def test_every_reading_comes_back_as_it_was_kept():
    """Two and a half times round, over a chunk's end: every row with its twelve values."""
    ring = Journal().readings
    assert ring.width == READING_WIDTH == len(MOST)
    bounds = _at_bounds()
    for seq in range(2560):
        row = bounds[seq % 50] if seq % 50 < len(bounds) else _mixed(seq)
        ring.append(array("i", row))
        assert ring.row(seq) == row
    assert (ring.oldest(), ring.newest()) == (2560 - READINGS, 2559)
    for seq in range(2560 - READINGS, 2560):
        row = bounds[seq % 50] if seq % 50 < len(bounds) else _mixed(seq)
        assert ring.row(seq) == row, seq


def test_a_reading_takes_22_bytes():
    """174 bits: 30 of time, 4 and 5 of state and step, five times 19, three times 10, 10."""
    ring = Journal().readings
    assert sum([len(chunk) for chunk in ring._chunks]) == 22 * READINGS


def test_a_value_out_of_its_range_is_refused_and_harms_no_row():
    """One below its least, one above its bits: ValueError, and the oldest row is whole."""
    ring = Journal().readings
    for number in range(READINGS):
        ring.append(_mixed(number))
    for column, (low, high) in enumerate(BOUNDS):
        bits = 0
        while (high - low) >> bits:
            bits += 1
        for value in (low - 1, low + (1 << bits)):  # what has its bits is refused by the wire
            row = list(MOST)
            row[column] = value
            assert raises(ValueError, ring.append, row), (column, value)
    assert (ring.oldest(), ring.next_seq) == (0, READINGS)
    assert [ring.row(seq) for seq in (0, 1)] == [_mixed(0), _mixed(1)]


def test_ranges_that_a_small_integer_cannot_carry_are_refused():
    """31 bits, or 24 behind 7: a board would have to take memory in the midst of a pass."""
    assert raises(ValueError, PackedRing, 32, [(0, 2**31 - 1)])
    assert raises(ValueError, PackedRing, 32, [(0, 127), (0, 2**24 - 1)])
    PackedRing(32, [(0, 127), (0, 2**23 - 1)])
