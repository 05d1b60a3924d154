"""Traces over re-melts: found by a walk of our own, and never without an end."""

from hypothesis import given
from hypothesis import strategies as st

from snapgloss.quality.traces import Ledger, allergens_of, trace_lot, trace_run
from snapgloss.store.rows import BagRow, LabelRow, RunRow, UseRow


def run(number, chocolate="Lantern 72"):
    """A run of a real rig."""
    return RunRow(number, "", "", chocolate, "dark", "seeded", 2000, 31_000, 32_000, 31_500,
                  "bench rig", False, None, "", 1_790_000_000_000, 1, "finished", "")  # fmt: skip


def use(number, run_id, lot=None, from_run=None, mass_g=None):
    """Something that went into a run."""
    return UseRow(number, run_id, 0, lot, from_run, mass_g)


def label(run_id, lot):
    """A label of a run's bars."""
    return LabelRow(run_id, run_id, 0, lot, "Bar", "2027-06-30", (), (), 50_000)


def bag(lot, contains=(), may=(), day=None, name="Lantern 72"):
    """A bag as entered."""
    return BagRow(1, lot, 0, name, "", None, day, contains, may)


# Bag A into runs 1 and 2, bag B into 3; bars of 1 melted again in 3, of 3 in 4. Nobody said what
# went into 5; 6 is another chocolate.
LEDGER = Ledger(
    [*(run(n) for n in range(1, 6)), run(6, "Dune 34")],
    [bag("A", ("soya",), ("nuts",), "2027-01-31"), bag("B", ("milk",), ("soya",), "2026-12-31")],
    [use(1, 1, "A"), use(2, 2, "a"), use(3, 3, "B"), use(4, 3, None, 1), use(5, 4, None, 3)],
    [label(1, "L1"), label(2, "L2"), label(3, "L3"), label(4, "L4")],
)


def test_a_bag_is_followed_to_all_bars_that_hold_it():
    """Over two re-melts; a batch of the same chocolate that nobody spoke of is named apart."""
    found = trace_lot(LEDGER, " a ")
    assert (found.asked, found.runs, found.bags) == ("bag", (1, 2, 3, 4), ("a",))
    assert [row.lot for row in found.labels] == ["L1", "L2", "L3", "L4"]
    assert (found.unsaid, found.perhaps) == ((), (5,))
    other = trace_lot(LEDGER, "B")
    assert (other.runs, [row.lot for row in other.labels]) == ((3, 4), ["L3", "L4"])


def test_bars_are_followed_back_to_all_their_bags():
    """Over two re-melts, and no further bars with them."""
    found = trace_lot(LEDGER, "l4")
    assert (found.asked, found.runs, found.bags) == ("bars", (1, 3, 4), ("A", "B"))
    assert [row.lot for row in found.labels] == ["L4"]


def test_a_run_is_traced_both_ways():
    """Back to its bags, on to its bars; what nobody said of it is told."""
    found = trace_run(LEDGER, 3)
    assert (found.runs, found.bags) == ((1, 3, 4), ("A", "B"))
    assert [row.lot for row in found.labels] == ["L3", "L4"]
    assert trace_run(LEDGER, 5).unsaid == (5,)


def test_allergens_come_from_every_bag_over_re_melts():
    """What one bag contains is no trace any more; the earliest day counts."""
    found = allergens_of(LEDGER, 4)
    assert (found.contains, found.may_contain) == (("milk", "soya"), ("nuts",))
    assert (found.best_before, found.unknown) == ("2026-12-31", ())
    strange = Ledger([run(1)], [], [use(1, 1, "C")], [])
    assert allergens_of(strange, 1).unknown == ("C",)


@given(st.lists(st.tuples(st.integers(1, 12), st.integers(1, 12)), max_size=40))
def test_walks_agree_with_a_closure_by_squaring(pairs):
    """Any uses, circles too: the walk ends, and finds what repeated joining of pairs finds."""
    uses = [use(n, into, None, out) for n, (out, into) in enumerate(pairs)]
    ledger = Ledger([run(n) for n in range(1, 13)], [], uses, [])
    reach = {(n, n) for n in range(1, 13)} | set(pairs)
    for _ in range(4):
        reach |= {(a, d) for a, b in reach for c, d in reach if b == c}
    for start in (1, 5):
        assert ledger.downstream([start]) == sorted(d for a, d in reach if a == start)
        assert ledger.upstream([start]) == sorted(a for a, d in reach if d == start)
