"""From bag to batch to bars and back, over bars that were melted again."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from snapgloss.base.errors import InputError
from snapgloss.store.rows import BagRow, LabelRow, RunRow, UseRow

Pair = Callable[[UseRow], tuple[int | None, int | None]]
"""Which run leads to which, by one use."""


NONE = "none"
"""What a bag is said to contain that has no allergen; an empty list is one nobody spoke of."""


@dataclass(frozen=True)
class Ledger:
    """All that is known of what went where, as stored."""

    runs: Sequence[RunRow]
    bags: Sequence[BagRow]
    uses: Sequence[UseRow]
    labels: Sequence[LabelRow]

    def sources(self, run_id: int) -> list[UseRow]:
        """What went into a run."""
        return [use for use in self.uses if use.run_id == run_id]

    def upstream(self, run_ids: Iterable[int]) -> list[int]:
        """These runs and every run whose bars went into them, however far back."""
        return self._closed(run_ids, lambda use: (use.run_id, use.from_run_id))

    def downstream(self, run_ids: Iterable[int]) -> list[int]:
        """These runs and every run that their bars went into, however far on."""
        return self._closed(run_ids, lambda use: (use.from_run_id, use.run_id))

    def _closed(self, run_ids: Iterable[int], pair: Pair) -> list[int]:
        steps: dict[int, set[int]] = {}
        for use in self.uses:
            begin, end = pair(use)
            if begin is not None and end is not None:
                steps.setdefault(begin, set()).add(end)
        found, ahead = set(run_ids), list(run_ids)
        while ahead:
            new = steps.get(ahead.pop(), set()) - found
            found |= new
            ahead += new
        return sorted(found)

    def lots_in(self, run_id: int) -> list[str]:
        """The lots of all bags in a run, over re-melts too, each once."""
        behind = self.upstream([run_id])
        lots = [use.lot for use in self.uses if use.run_id in behind and use.lot is not None]
        return list({lot.casefold(): lot for lot in lots}.values())

    def bag(self, lot: str) -> BagRow | None:
        """The bag of a lot; None when nobody entered it."""
        return next((b for b in self.bags if b.lot.casefold() == lot.casefold()), None)

    def unsaid(self, run_ids: Iterable[int]) -> list[int]:
        """Runs of which nobody said what went in."""
        said = {use.run_id for use in self.uses}
        return [run_id for run_id in run_ids if run_id not in said]


@dataclass(frozen=True)
class Trace:
    """All that hangs together with one lot or run.

    `asked` is "bag", "bars" or "run". `runs` are those in between, `bags` and `labels` the two
    ends. `unsaid`: runs of these of which nobody said what went in. `perhaps`: runs of the same
    chocolate of which nobody said so, which may hold a bag, too.
    """

    asked: str
    lot: str
    runs: tuple[int, ...]
    bags: tuple[str, ...]
    labels: tuple[LabelRow, ...]
    unsaid: tuple[int, ...]
    perhaps: tuple[int, ...]


def trace_lot(ledger: Ledger, lot: str) -> Trace:
    """Trace a bag forwards to bars, or bars back to bags. Raises InputError for no such lot."""
    wanted = lot.strip().casefold()
    users = [use.run_id for use in ledger.uses if (use.lot or "").casefold() == wanted]
    made = [label.run_id for label in ledger.labels if label.lot.casefold() == wanted]
    bag = ledger.bag(wanted)
    if users or bag is not None:
        runs = ledger.downstream(users)
        names = {bag.name} if bag else {r.chocolate for r in ledger.runs if r.id in users}
        same = [run.id for run in ledger.runs if run.chocolate in names and not run.simulated]
        perhaps = [run_id for run_id in sorted(ledger.unsaid(same)) if run_id not in runs]
        return _trace(ledger, "bag", lot.strip(), runs, perhaps, (lot.strip(),))
    if not made:
        raise InputError(
            f'No bag and no bars are known by the lot "{lot.strip()}".',
            "List the bags: snapgloss bag. See one batch: snapgloss trace --run N.",
        )
    return _trace(ledger, "bars", lot.strip(), ledger.upstream(made), [], None)


def trace_run(ledger: Ledger, run_id: int) -> Trace:
    """Trace one run both ways: back to its bags, and on to all bars that hold some of it."""
    behind, ahead = ledger.upstream([run_id]), ledger.downstream([run_id])
    bags = tuple(ledger.lots_in(run_id))
    runs = sorted({*behind, *ahead})
    found = _trace(ledger, "run", str(run_id), runs, [], bags)
    kept = tuple(label for label in found.labels if label.run_id in ahead)
    unsaid = tuple(run for run in found.unsaid if run in behind)
    return Trace("run", found.lot, found.runs, bags, kept, unsaid, ())


def _trace(
    ledger: Ledger, asked: str, lot: str, runs: Sequence[int], perhaps: Sequence[int],
    bags: tuple[str, ...] | None,
) -> Trace:  # fmt: skip
    if bags is None:
        lots = [name for run_id in runs for name in ledger.lots_in(run_id)]
        bags = tuple({name.casefold(): name for name in lots}.values())
    labels = [label for label in ledger.labels if label.run_id in runs]
    if asked == "bars":
        labels = [label for label in labels if label.lot.casefold() == lot.casefold()]
    return Trace(
        asked, lot, tuple(runs), bags, tuple(labels), tuple(ledger.unsaid(runs)), tuple(perhaps)
    )


@dataclass(frozen=True)
class Allergens:
    """What the bags of a run bring with them.

    `unknown`: lots that nobody has entered, or of which nobody said what they contain.
    """

    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    unknown: tuple[str, ...]
    best_before: str | None
    """The earliest day of the bags; None when none has one."""


def allergens_of(ledger: Ledger, run_id: int) -> Allergens:
    """What a run's bars contain by their bags, over all re-melts."""
    lots = ledger.lots_in(run_id)
    bags = [bag for lot in lots if (bag := ledger.bag(lot)) is not None]
    contains = {word for bag in bags for word in without_none(bag.contains)}
    may = {word for bag in bags for word in without_none(bag.may_contain)} - contains
    days = [bag.best_before for bag in bags if bag.best_before]
    said = {bag.lot.casefold() for bag in bags if bag.contains}
    unknown = tuple(lot for lot in lots if lot.casefold() not in said)
    return Allergens(tuple(sorted(contains)), tuple(sorted(may)), unknown, min(days, default=None))


def without_none(words: Iterable[str]) -> tuple[str, ...]:
    """The allergens alone."""
    return tuple(word for word in words if word != NONE)


def missing_on(ledger: Ledger, label: LabelRow) -> list[str]:
    """What a label would say by what is known of its bags now, and does not; empty when right.

    Allergens that no bag has are no fault: they may have been added to the label.
    """
    now = allergens_of(ledger, label.run_id)
    contains = sorted({*now.contains} - {*label.contains})
    may = sorted({*now.may_contain} - {*label.may_contain, *label.contains})
    said = [f"Contains {', '.join(contains)}."] if contains else []
    said += [f"May contain {', '.join(may)}."] if may else []
    return said + [f"Nobody said what bag {lot} contains." for lot in now.unknown]
