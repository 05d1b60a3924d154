"""What goes into a batch: bags by their lots, bars of earlier batches that are melted again."""

import time
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.quality import grades
from snapgloss.quality.traces import allergens_of, without_none
from snapgloss.runs import lots

if TYPE_CHECKING:
    from snapgloss.chocolate.description import ChocolateDescription
    from snapgloss.quality.traces import Ledger
    from snapgloss.store.rows import BagRow, RunRow
    from snapgloss.store.store import Store

MILKY = ("milk", "white")
REMELT_DAYS = 180
"""Bars for a re-melt are offered for so long (own choice)."""


class Sources(NamedTuple):
    """Bags by lot, batches whose bars go in again, and what was checked before the start."""

    lots: tuple[str, ...] = ()
    remelts: tuple[int, ...] = ()
    note: str = ""


NOTHING = Sources()


class Contents(NamedTuple):
    """Allergens of a batch by all that is known; `unknown` what nobody has said."""

    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    unknown: tuple[str, ...]


def check(store: "Store", sources: Sources) -> Sources:
    """Return the sources with lots as they are kept. Raises InputError for what cannot be."""
    found = tuple(lots.check_lot(lot) for lot in sources.lots)
    for run_id in sources.remelts:
        store.run(run_id)
    return sources._replace(lots=found)


def keep(store: "Store", run_id: int, sources: Sources) -> None:
    """Keep what went into a run. Bars of the run itself cannot be among it: InputError."""
    for lot in sources.lots:
        lots.use_bag(store, run_id, lot)
    for from_run_id in sources.remelts:
        lots.use_bars(store, run_id, from_run_id)
    if sources.note:
        store.add_note(run_id, sources.note)


def bags_for(store: "Store", chocolate: str) -> list["BagRow"]:
    """The bags that may be meant: those of this chocolate, the newest first; else all."""
    bags = sorted(store.bags(), key=lambda bag: -bag.id)
    own = [bag for bag in bags if bag.name.casefold() == chocolate.casefold()]
    return own or bags


def remelts(store: "Store", simulated: bool, now_utc_ms: int | None = None) -> list["RunRow"]:
    """Batches with bars to be melted again that went into no other batch yet, newest first."""
    now_utc_ms = time.time_ns() // 1_000_000 if now_utc_ms is None else now_utc_ms
    since_utc_ms = now_utc_ms - REMELT_DAYS * grades.DAY_MS
    used = {use.from_run_id for use in store.uses()}
    graded = {row.run_id for row in store.grades() if row.verdict == "remelt"}
    return [
        run
        for run in store.runs()
        if run.simulated == simulated
        and run.started_utc_ms >= since_utc_ms
        and run.id in graded - used
    ]


def contents(
    store: "Store", chocolate: "ChocolateDescription | None", kind: str, sources: Sources
) -> Contents:
    """Say what a batch of a chocolate from these sources contains."""
    ledger = lots.ledger_of(store)
    found, may, unknown = _of_chocolate(chocolate, kind)
    for lot in sources.lots:
        bag = ledger.bag(lot)
        found |= set(without_none(bag.contains)) if bag else set()
        may |= set(without_none(bag.may_contain)) if bag else set()
        unknown += () if bag and bag.contains else (f"bag {lot}",)
    for run_id in sources.remelts:
        known = allergens_of(ledger, run_id)
        found |= set(known.contains)
        may |= set(known.may_contain)
        unknown += _unsaid(ledger, run_id) + tuple(f"bag {lot}" for lot in known.unknown)
    if not (sources.lots or sources.remelts or (chocolate and chocolate.allergens)):
        unknown = (*unknown, chocolate.name if chocolate else "the chocolate")
    return Contents(tuple(sorted(found)), tuple(sorted(may - found)), unknown)


def _of_chocolate(
    chocolate: "ChocolateDescription | None", kind: str
) -> tuple[set[str], set[str], tuple[str, ...]]:
    found = {"milk"} if kind in MILKY else set()
    if chocolate is None:
        return found, set(), ()
    named = {word.lower() for word in chocolate.allergens}
    return found | named, {word.lower() for word in chocolate.may_contain}, ()


def _unsaid(ledger: "Ledger", run_id: int) -> tuple[str, ...]:
    missing = ledger.unsaid(ledger.upstream([run_id]))
    return (f"bars of batch {run_id}",) if missing else ()


def last_contents(
    store: "Store", known: "dict[str, ChocolateDescription]", simulated: bool
) -> tuple["RunRow", Contents] | None:
    """The batch before, and what it contained; None when there was none. `known` by name."""
    run = next((one for one in store.runs() if one.simulated == simulated), None)
    if run is None:
        return None
    ledger = lots.ledger_of(store)
    used = ledger.sources(run.id)
    sources = Sources(
        tuple(use.lot for use in used if use.lot is not None),
        tuple(use.from_run_id for use in used if use.from_run_id is not None),
    )
    return run, contents(store, known.get(run.chocolate.casefold()), run.type, sources)


def out_of_date(bags: "list[BagRow]", today: str | None = None) -> list[str]:
    """A sentence for each bag whose day is past."""
    today = today or date.today().isoformat()
    return [
        f"Bag {bag.lot} was best before {lots.show_day(bag.best_before)}."
        for bag in bags
        if bag.best_before and bag.best_before < today
    ]
