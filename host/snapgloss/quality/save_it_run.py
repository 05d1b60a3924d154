"""The save-it card of a batch in the record."""

from typing import TYPE_CHECKING

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import ChocolateType, type_of
from snapgloss.quality.save_it import Card, card_after, card_now
from snapgloss.quality.save_it_bowl import gaps_of
from snapgloss.store import RunRow

if TYPE_CHECKING:
    from snapgloss.store.store import Store


def card_of_run(
    store: "Store", run_id: int, thick: bool = False, fahrenheit: bool = False
) -> Card | None:
    """Return the card of a run, at most one; of one under way, as it is at its newest record.

    Raises StoreError when there is no run of that number.
    """
    run = store.run(run_id)
    make = card_now if run.ended_utc_ms is None else card_after
    readings, events = store.readings(run_id), store.events(run_id)
    return make(
        readings,
        events,
        kind_of(run),
        run.mass_g,
        run.work_mc,
        thick=thick,
        gaps=gaps_of(readings, events, store.unheard_ms(run_id)),
        simulated=run.simulated,
        fahrenheit=fahrenheit,
    )


def kind_of(run: RunRow) -> ChocolateType:
    """Return the type of the run's chocolate with its milk fat, as far as its schedule says it."""
    from snapgloss.schedules import files

    try:
        return files.from_text(run.schedule_toml).chocolate_type
    except InputError:  # written by another version: its type is still known
        return type_of(run.type)
