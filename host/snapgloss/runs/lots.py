"""Bags, what went into a batch, labels, and traces between them."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.names import check_name
from snapgloss.base.units import show_mass
from snapgloss.quality.bar_counts import count_words
from snapgloss.quality.traces import Allergens, Ledger, Trace, allergens_of, trace_lot, trace_run

if TYPE_CHECKING:
    from snapgloss.store.rows import BagRow, LabelRow, RunRow, UseRow
    from snapgloss.store.store import Store

LOT_MOST = 40
_IN_A_NAME = re.compile(r"[^A-Za-z0-9]+")
_MONTHS = "January February March April May June July August September October November December"


class LabelText(NamedTuple):
    """What stands on a label. Allergens in small letters, the day as "2027-06-30"."""

    lot: str
    name: str
    best_before: str
    contains: tuple[str, ...]
    may_contain: tuple[str, ...]
    net_mg: int
    workshop: str
    simulated: bool


def ledger_of(store: "Store") -> Ledger:
    """All that the record knows of what went where."""
    return Ledger(store.runs(with_replaced=True), store.bags(), store.uses(), store.labels())


def enter_bag(
    store: "Store",
    lot: str,
    name: str,
    supplier: str = "",
    mass_g: int | None = None,
    best_before: str | None = None,
    contains: Sequence[str] = (),
    may_contain: Sequence[str] = (),
) -> None:
    """Keep a bag of chocolate; a second entry of a lot corrects the first.

    Raises InputError for names, days and lots that cannot be, and for a lot that is on bars.
    """
    lot = check_lot(lot)
    check_name(name, "The chocolate's name")
    if supplier:
        check_name(supplier, "The supplier's name")
    if any(label.lot.casefold() == lot.casefold() for label in store.labels()):
        raise InputError(f'"{lot}" is a lot of bars already.', "Read the bag's lot again.")
    row = {
        "lot": lot,
        "name": name,
        "supplier": supplier,
        "mass_g": mass_g,
        "best_before": None if best_before is None else check_day(best_before),
        "contains": check_words(contains),
        "may_contain": check_words(may_contain),
    }
    store.add_bag(row)


def use_bag(store: "Store", run_id: int, lot: str, mass_g: int | None = None) -> None:
    """Keep that a batch took chocolate of a bag; 0 g takes it back."""
    store.add_use(run_id, check_lot(lot), None, mass_g)


def use_bars(store: "Store", run_id: int, from_run_id: int, mass_g: int | None = None) -> None:
    """Keep that bars of an earlier batch were melted again in this one; 0 g takes it back."""
    store.run(from_run_id)
    if from_run_id in ledger_of(store).downstream([run_id]):
        raise InputError(
            f"Bars of run {from_run_id} cannot have gone into run {run_id}.",
            "Name the earlier batch, whose bars were melted again.",
        )
    store.add_use(run_id, None, from_run_id, mass_g)


def label_text(
    store: "Store",
    run_id: int,
    lot: str,
    net_mg: int,
    best_before: str,
    name: str = "",
    contains: Sequence[str] = (),
    may_contain: Sequence[str] = (),
) -> tuple[LabelText, list[str]]:
    """Make a label of a batch's bars; return it and cautions about it. Nothing is kept.

    Allergens are those of the bags, over re-melts, and whatever is added here. Raises InputError
    when nobody said what went in, or what a bag contains, for a lot that is a bag's, and for a day
    before the batch.
    """
    run, ledger = store.run(run_id), ledger_of(store)
    lot, day, name = check_lot(lot), check_day(best_before), name or run.chocolate
    check_name(name, "The name on the label")
    if ledger.bag(lot) is not None or any((u.lot or "").casefold() == lot.casefold()
                                          for u in ledger.uses):  # fmt: skip
        raise InputError(f'"{lot}" is the lot of a bag.', "Give the bars a lot of their own.")
    known = allergens_of(ledger, run_id)
    _refuse_unknown(ledger, run_id, known)
    if day < day_of(run):
        raise InputError(
            f"{show_day(day)} was before run {run_id} was made.", "Read the day again."
        )
    found = tuple(sorted({*known.contains, *check_words(contains)}))
    may = tuple(sorted({*known.may_contain, *check_words(may_contain)} - set(found)))
    text = LabelText(lot, name, day, found, may, net_mg, run.workshop, run.simulated)
    return text, _cautions(day, known)


def keep_label(store: "Store", run_id: int, text: LabelText) -> None:
    """Keep what stands on a label that was written."""
    kept = {**text._asdict()}
    del kept["workshop"], kept["simulated"]
    store.add_label(run_id, kept)


def _refuse_unknown(ledger: Ledger, run_id: int, known: Allergens) -> None:
    unsaid = ledger.unsaid(ledger.upstream([run_id]))
    if unsaid:
        raise InputError(
            f"Nobody said what went into run {unsaid[0]}, so its allergens are not known.",
            f"Say it: snapgloss used {unsaid[0]} --bag LOT.",
        )
    if known.unknown:
        lot = known.unknown[0]
        raise InputError(
            f"Nobody said what the bag of lot {lot} contains.",
            f'Read its label: snapgloss bag "{lot}" --name NAME --contains milk.',
        )


def _cautions(day: str, known: Allergens) -> list[str]:
    found = []
    if known.best_before is not None and day > known.best_before:
        found.append(f"A bag in it is best before {show_day(known.best_before)} already.")
    if not known.contains:
        found.append("No bag says that it contains an allergen: read their labels again.")
    return found


def trace(store: "Store", lot: str) -> Trace:
    """Trace a lot of a bag or of bars. Raises InputError when there is none."""
    return trace_lot(ledger_of(store), lot)


def trace_of_run(store: "Store", run_id: int) -> Trace:
    """Trace a batch both ways. Raises InputError when there is none."""
    store.run(run_id)
    return trace_run(ledger_of(store), run_id)


def trace_lines(store: "Store", found: Trace) -> list[str]:
    """A trace in sentences: bags, batches in between, bars, and what is not known."""
    ledger = ledger_of(store)
    lines = [_bag_line(ledger, lot) for lot in found.bags]
    for run_id in found.runs:
        lines += _run_lines(store, ledger, run_id)
    lines += [_label_line(row) for row in found.labels]
    if found.asked != "bars" and not found.labels:
        lines.append("No bars with a label hold it.")
    lines += [f"Nobody said what went into run {run_id}." for run_id in found.unsaid]
    if found.perhaps:
        runs = ", ".join(map(str, found.perhaps))
        lines.append(f"Of the same chocolate, and nobody said of which bag: run {runs}.")
    return lines


def source_lines(store: "Store", run_id: int) -> list[str]:
    """What went into one batch, and what stands on its bars."""
    ledger = ledger_of(store)
    lines = [_source(ledger, use) for use in ledger.sources(run_id)]
    return lines + [_label_line(row) for row in ledger.labels if row.run_id == run_id]


def _source(ledger: Ledger, use: "UseRow") -> str:
    mass = "" if use.mass_g is None else f", {show_mass(use.mass_g)}"
    if use.lot is None:
        return f"Made with bars of run {use.from_run_id}, melted again{mass}."
    bag = ledger.bag(use.lot)
    return f"Made with bag {use.lot}{f' ({bag.name})' if bag else ''}{mass}."


def _bag_line(ledger: Ledger, lot: str) -> str:
    bag = ledger.bag(lot)
    if bag is None:
        return f"Bag {lot}: nobody has entered it."
    return f"Bag {bag.lot}: {bag_words(bag)}"


def bag_words(bag: "BagRow") -> str:
    """Name, supplier, mass, day and allergens of a bag."""
    parts = [bag.name, bag.supplier, "" if bag.mass_g is None else show_mass(bag.mass_g)]
    if bag.best_before:
        parts.append(f"best before {show_day(bag.best_before)}")
    said = f"{', '.join(part for part in parts if part)}."
    if bag.contains:
        said += f" Contains {', '.join(bag.contains)}."
    return said + (f" May contain {', '.join(bag.may_contain)}." if bag.may_contain else "")


def _run_lines(store: "Store", ledger: Ledger, run_id: int) -> list[str]:
    run = store.run(run_id)
    day = day_of(run)
    simulated = ", simulated" if run.simulated else ""
    head = f"Run {run_id}, {show_day(day)}, {run.chocolate}, {show_mass(run.mass_g)}{simulated}."
    sources = (_source(ledger, use) for use in ledger.sources(run_id))
    counts = store.bars(run_id).counts
    bars = count_words(counts[-1]._asdict()) if counts else ""
    return [" ".join(filter(None, [head, *sources, bars]))]


def day_of(run: "RunRow") -> str:
    """The day a batch began, by this computer's zone, as "2026-11-25"."""
    return datetime.fromtimestamp(run.started_utc_ms / 1000, UTC).astimezone().date().isoformat()


def _label_line(row: "LabelRow") -> str:
    return (
        f"Bars {row.lot}: {row.name}, run {row.run_id}, best before {show_day(row.best_before)}."
    )


def label_file(run_id: int, lot: str) -> str:
    """The name of a label's file, one for each lot of a batch."""
    plain = _IN_A_NAME.sub("-", lot).strip("-")
    return f"run-{run_id}-{plain}.pdf" if plain else f"run-{run_id}.pdf"


def check_lot(lot: str) -> str:
    """Return a lot without blanks around it. Raises InputError unless it is 1 to 40 characters."""
    lot = lot.strip()
    if not 1 <= len(lot) <= LOT_MOST or not lot.isprintable():
        raise InputError(
            "The lot is empty, too long, or not one line.", f"Write 1 to {LOT_MOST} characters."
        )
    return lot


def check_day(text: str) -> str:
    """Return a day as "2027-06-30". Raises InputError for anything else: 6/7 may be June."""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError(
            f'"{text[:20]}" is not a day.', "Write year, month, day: 2027-06-30."
        ) from None


def check_words(words: Sequence[str]) -> tuple[str, ...]:
    """Return allergens in small letters, sorted, each once. Raises InputError for no word."""
    for word in words:
        check_name(word, "An allergen")
    return tuple(sorted({word.strip().lower() for word in words}))


def show_day(day: str) -> str:
    """Return "30 June 2027" for "2027-06-30"."""
    found = date.fromisoformat(day)
    return f"{found.day} {_MONTHS.split()[found.month - 1]} {found.year}"
