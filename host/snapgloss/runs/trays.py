"""Trays of a batch: in and out with one word, and what the record says of them."""

import time
from datetime import datetime
from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.quality.trays import LOOK_AFTER_MIN, Tray, check_move, trays_of, which

if TYPE_CHECKING:
    from snapgloss.store.store import Store


def move(
    store: "Store", run_id: int, place: str, tray_no: int | None = None, ago_s: int = 0,
    now_utc_ms: int | None = None,
) -> Tray:  # fmt: skip
    """Keep that a tray went "in" or came "out", `ago_s` seconds ago, and return how it stands.

    Without a number the next one goes in, and the one that is in for longest comes out. Raises
    InputError for what cannot be.
    """
    run, held = store.run(run_id), trays_of(store.trays(run_id))
    now_utc_ms = time.time_ns() // 1_000_000 if now_utc_ms is None else now_utc_ms
    moved_utc_ms = now_utc_ms - ago_s * 1000
    number = which(held, place) if tray_no is None else tray_no
    if moved_utc_ms < run.started_utc_ms:
        raise InputError(
            f"That was before run {run_id} began.", "Give a shorter --ago, or another batch."
        )
    check_move(held, number, place, moved_utc_ms)
    store.add_tray(run_id, number, place, moved_utc_ms)
    return next(tray for tray in trays_of(store.trays(run_id)) if tray.tray_no == number)


def tray_lines(store: "Store", run_id: int) -> list[str]:
    """Each tray of a run in a sentence, times by this computer's clock and zone."""
    return [words_of(tray) for tray in trays_of(store.trays(run_id))]


def words_of(tray: Tray) -> str:
    """ "Tray 1: in at 14:10, out at 14:32, after 22 min." """
    begun = f"Tray {tray.tray_no}: in at {_clock(tray.in_utc_ms)}"
    if tray.out_utc_ms is None:
        return f"{begun}."
    return f"{begun}, out at {_clock(tray.out_utc_ms)}, after {tray.minutes} min."


def look_words(tray: Tray) -> str:
    """When to look underneath at a tray that is in; nothing for one that is out."""
    if tray.out_utc_ms is not None:
        return ""
    at = _clock(tray.in_utc_ms + LOOK_AFTER_MIN * 60_000)
    return f"Look underneath at {at}: evenly pale = released."


def _clock(utc_ms: int) -> str:
    return f"{datetime.fromtimestamp(utc_ms / 1000).astimezone():%H:%M}"
