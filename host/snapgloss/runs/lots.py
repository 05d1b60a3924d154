"""Bags, what went into a batch, labels, and traces between them.

What is said of them is in `lot_words`.
"""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from snapgloss.base.errors import InputError
from snapgloss.base.names import check_name
from snapgloss.base.units import show_mass
from snapgloss.quality.traces import (
    NONE,
    Allergens,
    Ledger,
    Trace,
    allergens_of,
    trace_lot,
    trace_run,
    without_none,
)
from snapgloss.runs.in_time import refuse_bars_of_later

if TYPE_CHECKING:
    from snapgloss.store.rows import RunRow, UseRow
    from snapgloss.store.store import Store

LOT_MOST = 40
BESIDE_SHARE = 0.25
"""How much more than a batch weighs can have gone into it: seed beside it (own choice)."""
_IN_A_NAME = re.compile(r"[^A-Za-z0-9]+")
_MONTHS = "January February March April May June July August September October November December"


_NEW_BAG: dict[str, Any] = {
    "name": "", "supplier": "", "mass_g": None, "best_before": None,
    "contains": (), "may_contain": (),
}  # fmt: skip


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
    name: str | None = None,
    supplier: str | None = None,
    mass_g: int | None = None,
    best_before: str | None = None,
    contains: Sequence[str] = (),
    may_contain: Sequence[str] = (),
) -> str:
    """Keep a bag of chocolate and return its lot; a second entry of a lot corrects the first.

    What is None or empty stays as it was, the spelling of the lot, too. Supplier, day and
    allergens are taken back by "none", the mass by 0 g; `contains` "none" is also what says that
    there is no allergen. Raises InputError for names, days and lots that cannot be, for a new bag
    without a name, and for a lot that is on bars.
    """
    lot = check_lot(lot)
    if any(label.lot.casefold() == lot.casefold() for label in store.labels()):
        raise InputError(f'"{lot}" is a lot of bars already.', "Read the bag's lot again.")
    told = _told(name, supplier, mass_g, best_before, contains, may_contain)
    old = ledger_of(store).bag(lot)
    if old is None and name is None:
        raise InputError("The chocolate's name is missing.", "Give it with --name.")
    if not told:
        raise InputError(f"Nothing new is said of bag {lot}.", "Say what to correct.")
    row = {"lot": lot, **_NEW_BAG} if old is None else old._asdict()
    row = {key: value for key, value in {**row, **told}.items() if key in ("lot", *_NEW_BAG)}
    store.add_bag(row)
    return str(row["lot"])


def _told(
    name: str | None, supplier: str | None, mass_g: int | None, best_before: str | None,
    contains: Sequence[str], may_contain: Sequence[str],
) -> dict[str, Any]:  # fmt: skip
    """What is said of a bag, checked, as it is kept."""
    told: dict[str, Any] = {}
    if name is not None:
        check_name(name, "The chocolate's name")
        told["name"] = name
    if supplier:
        check_name(supplier, "The supplier's name")
        told["supplier"] = "" if _is_none(supplier) else supplier
    if mass_g is not None:
        told["mass_g"] = mass_g or None
    if best_before is not None:
        told["best_before"] = None if _is_none(best_before) else check_day(best_before)
    if contains:
        told["contains"] = check_allergens(contains)
    if may_contain:
        told["may_contain"] = check_allergens(may_contain)
    return told


def _is_none(word: str) -> bool:
    return word.strip().lower() == NONE


def use_bag(store: "Store", run_id: int, lot: str, mass_g: int | None = None) -> None:
    """Keep that a batch took chocolate of a bag; 0 g takes it back.

    Raises InputError for more than the batch weighs, with all else that went in.
    """
    lot = check_lot(lot)
    sources = ledger_of(store).sources(run_id)
    beside = [use for use in sources if (use.lot or "").casefold() != lot.casefold()]
    _refuse_more(store.run(run_id), mass_g, beside)
    store.add_use(run_id, lot, None, mass_g)


def use_bars(store: "Store", run_id: int, from_run_id: int, mass_g: int | None = None) -> None:
    """Keep that bars of an earlier batch were melted again in this one; 0 g takes it back.

    Raises InputError for a batch that was not made before it, and for more than either weighs.
    """
    earlier = store.run(from_run_id)
    if from_run_id in ledger_of(store).downstream([run_id]):
        raise InputError(
            f"Bars of run {from_run_id} cannot have gone into run {run_id}.",
            "Name the earlier batch, whose bars were melted again.",
        )
    sources = ledger_of(store).sources(run_id)
    beside = [use for use in sources if use.from_run_id != from_run_id]
    if mass_g != 0:  # what was said wrongly is taken back all the same
        refuse_bars_of_later(store, run_id, earlier)
    _refuse_more(store.run(run_id), mass_g, beside)
    _refuse_more(earlier, mass_g)
    store.add_use(run_id, None, from_run_id, mass_g)


def _refuse_more(run: "RunRow", mass_g: int | None, beside: Sequence["UseRow"] = ()) -> None:
    """Seed may be weighed beside a batch, so a part more than it weighs can be."""
    whole_g = (mass_g or 0) + sum(use.mass_g or 0 for use in beside)
    if mass_g and whole_g > run.mass_g * (1 + BESIDE_SHARE):
        said = f"{show_mass(whole_g)}{'' if whole_g == mass_g else ' in all'}"
        raise InputError(
            f"Run {run.id} weighs {show_mass(run.mass_g)}: {said} is too much.",
            "Read the amount again.",
        )


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
    found = tuple(sorted({*known.contains, *without_none(check_words(contains))}))
    may = tuple(sorted({*known.may_contain, *without_none(check_words(may_contain))} - set(found)))
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
            f'Read its label: snapgloss bag "{lot}" --name NAME --contains milk (or none).',
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


def day_of(run: "RunRow") -> str:
    """The day a batch began, by this computer's zone, as "2026-11-25"."""
    return datetime.fromtimestamp(run.started_utc_ms / 1000, UTC).astimezone().date().isoformat()


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


def check_allergens(words: Sequence[str]) -> tuple[str, ...]:
    """Return what a bag is said to contain, ("none",) for nothing. Raises InputError for both."""
    found = check_words(words)
    if NONE in found and len(found) > 1:
        raise InputError("None and an allergen cannot both be.", "Say one of them.")
    return found


def show_day(day: str) -> str:
    """Return "30 June 2027" for "2027-06-30"."""
    found = date.fromisoformat(day)
    return f"{found.day} {_MONTHS.split()[found.month - 1]} {found.year}"
