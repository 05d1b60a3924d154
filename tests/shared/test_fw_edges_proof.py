"""Proofs before they are needed, at the edge of each time."""

from rigfw.proof import BY_STOP, BY_SWITCHES, EV_PROVEN, StopProof, SwitchProof

DAY_MS = 24 * 60 * 60 * 1000


class _Journal:
    def __init__(self):
        self.notes = []

    def note(self, *row):
        """Kept."""
        self.notes.append(row)


def _proven(journal):
    """A stop loop that was tried just now."""
    proof = StopProof(journal, 0)
    proof.step(1, 250)
    proof.step(0, 250)
    return proof


def test_the_stop_loop_is_due_until_it_opened_and_closed_again():
    """Closed from the start proves nothing, nor does a loop that stays open."""
    journal = _Journal()
    proof = StopProof(journal, 0)
    for _ in range(4):
        proof.step(0, 250)
        assert proof.is_due == 1
    for _ in range(4):
        proof.step(1, 250)
        assert (proof.is_due, journal.notes) == (1, [])
    proof.step(0, 250)
    assert (proof.is_due, journal.notes) == (0, [(EV_PROVEN, BY_STOP)])


def test_the_proof_is_told_once():
    """A second press on the same day is no news."""
    journal = _Journal()
    proof = _proven(journal)
    for stop_open in (0, 1, 1, 0, 0):
        proof.step(stop_open, 250)
    assert (proof.is_due, len(journal.notes)) == (0, 1)


def test_the_proof_lasts_a_day():
    """A millisecond less: still good. A day: due, once."""
    proof = _proven(_Journal())
    proof.step(0, DAY_MS - 1)
    assert proof.is_due == 0
    proof.step(0, 1)
    assert proof.is_due == 1


def test_each_press_begins_the_day_anew():
    """Pressed again after half a day: due a day after that."""
    proof = _proven(_Journal())
    proof.step(1, DAY_MS // 2)
    proof.step(0, 250)
    proof.step(0, DAY_MS - 1)
    assert proof.is_due == 0
    proof.step(0, 1)
    assert proof.is_due == 1


def test_one_press_is_one_proof():
    """The press of yesterday does not prove today's loop."""
    journal = _Journal()
    proof = _proven(journal)
    proof.step(0, DAY_MS)
    for _ in range(3):
        proof.step(0, 250)
        assert proof.is_due == 1
    proof.step(1, 250)
    proof.step(0, 250)
    assert (proof.is_due, len(journal.notes)) == (0, 2)


def test_a_day_without_a_proof_counts_from_its_end():
    """Due after a day and proven at once: good for the whole next day."""
    proof = _proven(_Journal())
    proof.step(0, DAY_MS)
    proof.step(1, DAY_MS - 1)
    proof.step(0, 0)
    proof.step(0, DAY_MS - 1)
    assert proof.is_due == 0


def test_a_rig_that_nobody_tries_for_a_month_counts_in_small_integers():
    """A board's small integer ends at 2^30, 12 days of ms; beyond it each pass would allocate."""
    proof = StopProof(_Journal(), 0)
    for _ in range(30):
        proof.step(0, DAY_MS)
        assert (proof.is_due, proof._proven_ms < DAY_MS) == (1, True)


def test_a_rig_without_this_check_is_never_due():
    """Not at first, not after a day, and nothing is told."""
    journal = _Journal()
    proof = StopProof(journal, 1)
    for stop_open in (0, 1, 0):
        proof.step(stop_open, DAY_MS)
        assert (proof.is_due, journal.notes) == (0, [])


def _begun():
    proof = SwitchProof(_Journal())
    proof.begin()
    return proof


def _tries(proof):
    return proof.tries_relay(), proof.tries_switch()


def test_the_relay_is_tried_for_1500_ms_and_the_switch_for_2000_ms_then():
    """Told once at the end of both."""
    journal = _Journal()
    proof = SwitchProof(journal)
    assert _tries(proof) == (False, False)
    proof.begin()
    for passed_ms, expected in (
        (0, (True, False)),
        (1499, (True, False)),
        (1, (False, True)),
        (1999, (False, True)),
    ):
        proof.step(passed_ms)
        assert (_tries(proof), journal.notes) == (expected, [])
    proof.step(1)
    assert (_tries(proof), journal.notes) == ((False, False), [(EV_PROVEN, BY_SWITCHES)])
    proof.step(250)
    proof.step(250)
    assert len(journal.notes) == 1


def test_what_is_cut_off_is_not_proven():
    """All off in the middle: nothing is tried and nothing told."""
    journal = _Journal()
    proof = SwitchProof(journal)
    proof.begin()
    proof.step(250)
    proof.cut()
    assert _tries(proof) == (False, False)
    proof.step(250)
    assert journal.notes == []


def test_a_node_that_lives_behind_the_open_relay_for_500_ms_is_a_weld():
    """499 ms: not yet; in a row."""
    proof = _begun()
    assert not proof.is_welded(1, 499)
    assert proof.is_welded(1, 1)
    assert proof.is_welded(1, 250)
    proof = _begun()
    assert not proof.is_welded(1, 499)
    assert not proof.is_welded(0, 250)
    assert not proof.is_welded(1, 499)


def test_a_live_node_is_right_once_the_relay_is_in():
    """After the 1500 ms, and before any start."""
    assert not SwitchProof(_Journal()).is_welded(1, 5000)
    proof = _begun()
    proof.step(1500)
    assert not proof.is_welded(1, 5000)


def test_each_start_counts_anew():
    """499 ms of the start before are forgotten."""
    proof = _begun()
    proof.is_welded(1, 499)
    proof.begin()
    assert not proof.is_welded(1, 499)
