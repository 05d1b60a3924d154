"""Every question that can be put to a record, with what to ask it; none can be forgotten."""

from collections.abc import Callable, Iterator
from typing import Any

from snapgloss.base.records import Reading
from snapgloss.store.store import Store

from .filled import BOARDS

Arguments = list[tuple[Any, ...]]

NO_QUESTIONS = {
    "at_once", "begin_run", "boot_id", "checked", "close", "copy_to", "end_run", "give_back_room",
    "pack_run", "save_all_figures", "save_figures", "set_words", "take_room", "told",
}  # fmt: skip
"""What writes, beside all that begins with add_; and what is of a file alone."""


def _none(_runs: list[int], _boots: list[int]) -> Arguments:
    return [()]


def _each_run(runs: list[int], _boots: list[int]) -> Arguments:
    return [(run,) for run in runs]


def _all_and_each(runs: list[int], _boots: list[int]) -> Arguments:
    return [(), *((run,) for run in runs)]


def _each_boot(_runs: list[int], boots: list[int]) -> Arguments:
    return [(boot,) for boot in boots]


def _boards(_runs: list[int], _boots: list[int]) -> Arguments:
    return [(board,) for board in (*BOARDS, "logger", "bench-2")]


QUESTIONS: dict[str, Callable[[list[int], list[int]], Arguments]] = {
    "bags": lambda _r, _b: [(), (["l-1"],), (["none"],)],
    "bars": _each_run,
    "boards": _each_run,
    "console": _each_boot,
    "events": _each_run,
    "figures": _each_run,
    "figures_named": lambda _r, _b: [(["lowest_c", "peak"],), (["Überlauf"],), ([],)],
    "firmwares": _all_and_each,
    "gaps": _each_run,
    "glosses": _all_and_each,
    "grades": _all_and_each,
    "heater_w": _each_run,
    "labels": _all_and_each,
    "last_seq": _each_boot,
    "logs": _none,
    "next_own_seq": _each_boot,
    "notes": _each_run,
    "open_run": lambda _r, _b: [(BOARDS[0], "0badf00d"), (BOARDS[0], "none")],
    "open_runs": _boards,
    "parts": _each_run,
    "probes": _each_run,
    "readings": _each_run,
    "replaced_by": _none,
    "run": _each_run,
    "runs": lambda _r, _b: [(), (True,)],
    "series": lambda runs, _b: [(run, Reading._fields) for run in runs],
    "set_ratios": _none,
    "silent_ms": _each_run,
    "smears": _all_and_each,
    "snaps": _all_and_each,
    "sources_entered": _each_run,
    "trays": _each_run,
    "unheard_ms": _each_run,
    "unsure_clocks": _none,
    "uses": _all_and_each,
    "words_of_notes": _none,
}


def names_of_questions() -> set[str]:
    """What a Store can be asked, as the class stands."""
    public = {name for name in dir(Store) if not name.startswith("_")}
    return {name for name in public - NO_QUESTIONS if not name.startswith("add_")}


def answers(store: Store) -> Iterator[tuple[str, tuple[Any, ...], Any]]:
    """Each question, what it was asked, and the answer."""
    runs = [run.id for run in store.runs(with_replaced=True)]
    boots = sorted({part.boot_id for run in runs for part in store.parts(run)})
    for name, arguments in QUESTIONS.items():
        for given in arguments(runs, boots):
            yield name, given, getattr(store, name)(*given)
