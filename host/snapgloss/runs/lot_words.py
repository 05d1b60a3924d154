"""What is said of bags, batches and bars: where each came from and went, in sentences."""

from typing import TYPE_CHECKING

from snapgloss.base.units import show_mass
from snapgloss.quality.bar_counts import count_words
from snapgloss.quality.traces import NONE, Ledger, Trace, missing_on, without_none
from snapgloss.runs.lots import day_of, ledger_of, show_day

if TYPE_CHECKING:
    from snapgloss.store.rows import BagRow, LabelRow, UseRow
    from snapgloss.store.store import Store


def trace_lines(store: "Store", found: Trace) -> list[str]:
    """A trace in sentences: bags, batches in between, bars, and what is not known."""
    ledger = ledger_of(store)
    lines = [_bag_line(ledger, lot) for lot in found.bags]
    for run_id in found.runs:
        lines += _run_lines(store, ledger, run_id)
    lines += [_label_line(ledger, row) for row in found.labels]
    if found.asked != "bars" and not found.labels:
        lines.append("No bars with a label hold it.")
    lines += [f"Nobody said what went into run {run_id}." for run_id in found.unsaid]
    if found.perhaps:
        runs = ", ".join(map(str, found.perhaps))
        lines.append(f"Of the same chocolate, and nobody said of which bag: run {runs}.")
    return lines


def source_lines(store: "Store", run_id: int) -> list[str]:
    """What went into one batch, and what stands on its bars."""
    # Other runs say nothing here.
    uses, labels = store.uses(run_id), store.labels(run_id)
    ledger = Ledger((), store.bags(use.lot for use in uses if use.lot), uses, labels)
    lines = [_source(ledger, use) for use in ledger.sources(run_id)]
    return lines + [_label_line(ledger, row) for row in labels]


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
    if bag.contains == (NONE,):
        said += " Contains no allergen."
    elif bag.contains:
        said += f" Contains {', '.join(bag.contains)}."
    else:
        said += " Nobody said what it contains."
    may = without_none(bag.may_contain)
    return said + (f" May contain {', '.join(may)}." if may else "")


def _run_lines(store: "Store", ledger: Ledger, run_id: int) -> list[str]:
    run = store.run(run_id)
    day = day_of(run)
    simulated = ", simulated" if run.simulated else ""
    head = f"Run {run_id}, {show_day(day)}, {run.chocolate}, {show_mass(run.mass_g)}{simulated}."
    sources = (_source(ledger, use) for use in ledger.sources(run_id))
    counts = store.bars(run_id).counts
    bars = count_words(counts[-1]._asdict()) if counts else ""
    return [" ".join(filter(None, [head, *sources, bars]))]


def _label_line(ledger: Ledger, row: "LabelRow") -> str:
    day = show_day(row.best_before)
    line = f"Bars {row.lot}: {row.name}, run {row.run_id}, best before {day}."
    missing = missing_on(ledger, row)
    if not missing:
        return line
    return (
        f"{line} Its label is out of date, as by its bags now: {' '.join(missing)} "
        f"Write it again: snapgloss label {row.run_id}."
    )
