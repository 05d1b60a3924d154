"""Heavy work in a process that ends with it: pictures and figures must not hold up the stream."""

import multiprocessing
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

if TYPE_CHECKING:
    from snapgloss.quality.gloss import Gloss
    from snapgloss.quality.snap_sound import Snap
    from snapgloss.rigs.description import RigDescription

Given = ParamSpec("Given")
Done = TypeVar("Done")


class Heavy:
    """One task at a time, the next after it. A context manager.

    A process ends after `tasks` of them, which gives its memory back; the next begins anew.
    """

    def __init__(self, tasks: int = 1) -> None:
        self._pool = ProcessPoolExecutor(
            1, multiprocessing.get_context("spawn"), max_tasks_per_child=tasks
        )

    def begin(
        self, work: Callable[Given, Done], *given: Given.args, **named: Given.kwargs
    ) -> "Future[Done]":
        """Begin a function of a module with what can be pickled; from any thread."""
        return self._pool.submit(work, *given, **named)

    def __enter__(self) -> "Heavy":
        return self

    def __exit__(self, *_fault: object) -> None:
        self._pool.shutdown(cancel_futures=True)


def write_report_of(folder: Path, run_id: int, fahrenheit: bool = False) -> str:
    """Write the report of a batch into the data folder; return the path of its page."""
    from snapgloss.base.addresses import record_address
    from snapgloss.report import write_report
    from snapgloss.store import open_store

    with open_store(record_address(folder), to_read=True) as store:
        return str(write_report(store, run_id, folder / "reports", fahrenheit).html)


def learn_of(address: str | Path, folder: Path, rig: "RigDescription", simulated: bool) -> int:
    """Learn a rig from its newest batches, keep it in the data folder; return of how many."""
    from snapgloss.runs.learning import learn_more
    from snapgloss.store import open_store

    with open_store(address, to_read=True) as store:
        return len(learn_more(store, folder, rig, simulated))


def window_picture_of(address: str | Path, chocolate: str, rig: str) -> bytes:
    """The map of a chocolate's window on a rig as PNG. Raises InputError when no batch of it was
    graded."""
    from snapgloss.report.window_picture import draw_window
    from snapgloss.report.write import png_of
    from snapgloss.runs.windows import windowed
    from snapgloss.store import open_store

    with open_store(address, to_read=True) as store:
        found = windowed(store, chocolate, rig or None)
    return png_of(draw_window(found))


def gloss_of_file(content: bytes) -> "Gloss":
    """What a photo of the line card says; a photo from outside is decoded there, not here."""
    from snapgloss.quality.gloss_photo import gloss_of_photo

    return gloss_of_photo(content)


def snap_of_file(content: bytes) -> "Snap":
    """What a recorded snap says; likewise."""
    from snapgloss.quality.snap_sound import snap_of_sound

    return snap_of_sound(content)
