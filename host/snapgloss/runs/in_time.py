"""The runs of a record in the order in which they were made."""

from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError

if TYPE_CHECKING:
    from snapgloss.store.rows import RunRow
    from snapgloss.store.store import Store


def in_order_of_time(store: "Store", with_replaced: bool = False) -> list["RunRow"]:
    """All runs as they were made: a log goes where its own times put it, however late it was read.

    Runs of a rig stay in the order in which they were recorded, also when this computer's clock
    was wrong for one of them: none counts as made before the run that was recorded before it.
    Logs that were read wrongly are among them only if asked.
    """
    logs = store.logs()
    keyed, latest_ms = [], 0
    for run in reversed(store.runs(with_replaced)):
        if run.id not in logs:
            latest_ms = max(latest_ms, run.started_utc_ms)
        made_ms = run.started_utc_ms if run.id in logs else latest_ms
        keyed.append((made_ms, run.id, run))
    return [run for _, _, run in sorted(keyed, key=lambda one: one[:2])]


def newest_first(store: "Store", with_replaced: bool = False) -> list["RunRow"]:
    """The same for a list that a person reads: the newest on top."""
    return in_order_of_time(store, with_replaced)[::-1]


def refuse_bars_of_later(store: "Store", run_id: int, earlier: "RunRow") -> None:
    """Raise InputError unless the bars of `earlier` can have gone into a run: it was made before
    that one, and did not outlast it."""
    run, order = store.run(run_id), [one.id for one in in_order_of_time(store, True)]
    is_later = order.index(earlier.id) > order.index(run_id)
    if is_later or _ended_in(run, earlier):
        raise InputError(
            f"Run {earlier.id} was made after run {run_id}: its bars cannot have gone into that.",
            "Name the earlier batch, whose bars were melted again.",
        )


def _ended_in(run: "RunRow", other: "RunRow") -> bool:
    """Whether a run began and ended while another went on, whose bars came later."""
    if run.ended_utc_ms is None or other.ended_utc_ms is None:
        return False
    return other.started_utc_ms <= run.started_utc_ms and run.ended_utc_ms < other.ended_utc_ms
