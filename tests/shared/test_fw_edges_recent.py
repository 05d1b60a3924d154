"""The warmest of the last three minutes, slot by slot."""

from fw_fakes import MISSING
from rigfw.recent import Recent


def _after(seconds, now_mc=30000, first_mc=33000):
    """Begun at 33, at 30 ever since."""
    recent = Recent()
    recent.begin(first_mc)
    for _ in range(4 * seconds):
        recent.tick(250, now_mc)
        recent.note(now_mc)
    return recent


def test_the_warmest_counts_for_three_minutes():
    """Six slots of 30 s: gone when the last of what was before it is."""
    assert _after(179).highest_mc() == 33000
    assert _after(180).highest_mc() == 30000


def test_a_slot_is_30_s():
    """What was noted in the present slot is not from before it until 30 s are full."""
    for passed_ms, expected_mc in ((29999, 30000), (30000, 32000)):
        recent = Recent()
        recent.begin(30000)
        recent.note(32000)
        recent.tick(passed_ms, 30000)
        assert (recent.earlier_mc(), recent.highest_mc()) == (expected_mc, 32000)


def test_each_slot_is_30_s():
    """The second begins to count at its own start."""
    recent = Recent()
    recent.begin(30000)
    recent.tick(30000, 30000)
    recent.note(32000)
    recent.tick(29999, 30000)
    assert recent.earlier_mc() == 30000
    recent.tick(1, 30000)
    assert recent.earlier_mc() == 32000


def test_a_new_slot_begins_with_what_is_believed_then():
    """Not with what a slot of three minutes ago held."""
    recent = _after(0)
    for _ in range(6):
        recent.tick(30000, 29000)
    assert recent.highest_mc() == 29000


def test_a_reading_counts_when_it_is_the_warmest_of_its_slot():
    """33, then colder ones: 33."""
    recent = Recent()
    for value_mc in (29000, 33000, 30000):
        recent.note(value_mc)
    assert recent.highest_mc() == 33000
    assert recent.earlier_mc() == MISSING


def test_a_batch_forgets_the_past():
    """What was warm before, and where in its slot the time was."""
    recent = _after(45)
    recent.begin(25000)
    assert (recent.highest_mc(), recent.earlier_mc()) == (25000, 25000)
    recent.note(26000)
    recent.tick(29999, 25000)
    assert recent.earlier_mc() == 25000


def test_nothing_is_known_before_anything_was_believed():
    """MISSING, not 0."""
    assert (Recent().highest_mc(), Recent().earlier_mc()) == (MISSING, MISSING)
