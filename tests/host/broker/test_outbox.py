"""What waits is bounded: the oldest goes first and is counted; of kept ones the newest stays."""

from hypothesis import given
from hypothesis import strategies as st

from snapgloss.broker.messages import Message
from snapgloss.broker.outbox import Outbox


def test_the_oldest_is_dropped_and_counted():
    """Ten into a box of three: the last three are left."""
    box = Outbox(3)
    for number in range(10):
        box.put(Message("t", b"%d" % number))
    assert box.dropped == 7
    assert [box.take().payload for _ in range(3)] == [b"7", b"8", b"9"]
    assert box.take() is None


@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.booleans(), st.booleans())),
    st.integers(1, 5),
)
def test_nothing_is_lost_uncounted(moves, most):
    """Put or take in any order: at most so many wait, and of what was put each is taken, waiting,
    dropped and counted, or a kept one that a newer took the place of."""
    box, put, taken, newest = Outbox(most), 0, [], {}
    for number, (topic, is_kept, takes) in enumerate(moves):
        message = Message(topic, b"%d" % number, is_kept)
        box.put(message)
        put += not is_kept
        if is_kept:
            newest[topic] = message
        if takes:
            taken.append(box.take())
        assert len(box) <= most + 3
    while (message := box.take()) is not None:
        taken.append(message)
    plain = [one for one in taken if not one.is_kept]
    assert len(plain) + box.dropped == put
    assert plain == sorted(plain, key=lambda one: int(one.payload))
    assert {one.topic: one for one in taken if one.is_kept} == newest
