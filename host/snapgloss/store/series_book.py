"""A run's readings by column, for pictures: no object is made of each."""

from collections.abc import Sequence
from itertools import chain
from typing import Any

from snapgloss.store import parts
from snapgloss.store.ground import OpenRecord


class SeriesBook(OpenRecord):
    """The part of the store that gives readings by column."""

    def series(self, run_id: int, names: Sequence[str]) -> dict[str, tuple[Any, ...]]:
        """Columns of `readings` by their names in Reading, all of one length, in the same order;
        two names at least."""
        with self._reading() as connection:
            found = [
                parts.columns(connection, part, names) for part in parts.of_run(connection, run_id)
            ]
        if len(found) != 1:  # as after a reset
            found = [
                [tuple(chain(*pieces)) for pieces in zip(*found, strict=True)] or _none(names)
            ]
        return dict(zip(names, found[0], strict=True))


def _none(names: Sequence[str]) -> list[tuple[Any, ...]]:
    return [()] * len(names)
