"""What a person says of cooling, moulds, room and store, as figures for the rules of causes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace

from snapgloss.base.errors import InputError
from snapgloss.chocolate.moist_air import dew_point_c
from snapgloss.quality.causes_curve import Sign
from snapgloss.quality.trays import Tray

BAR_OVER_K = 1.0
"""A bar straight from the refrigerator is about so much warmer than its air (own choice)."""
RANGES = {
    "fridge_c": (-30.0, 40.0), "mould_c": (-10.0, 90.0), "store_low_c": (-40.0, 60.0),
    "store_high_c": (-40.0, 60.0), "room_c": (0.0, 45.0), "humidity_percent": (1.0, 100.0),
    "store_humidity_percent": (1.0, 100.0), "bar_c": (-30.0, 40.0), "remelt_share": (0.0, 1.0),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """Temperatures in degC, humidity in percent, None for what nobody measured.

    `fridge_c` the refrigerator's air, `mould_c` the moulds as they were filled, `bar_c` the bars
    as they were turned out; `room_c` and `humidity_percent` where that was done; `store_low_c` and
    `store_high_c` of a day; `remelt_share` of the bowl tempered before, 0..1. InputError for what
    cannot be.
    """

    fridge_c: float | None = None
    mould_c: float | None = None
    bar_c: float | None = None
    room_c: float | None = None
    humidity_percent: float | None = None
    store_low_c: float | None = None
    store_high_c: float | None = None
    store_humidity_percent: float | None = None
    remelt_share: float | None = None

    def __post_init__(self) -> None:
        for one in fields(self):
            value, (low, high) = getattr(self, one.name), RANGES[one.name]
            if value is not None and not low <= value <= high:  # NaN fails this too
                raise InputError(
                    f"{value:g} cannot be measured there.", f"Give {low:g} to {high:g}."
                )
        if None not in (self.store_low_c, self.store_high_c) and self.swing_k < 0:
            raise InputError("The store's coolest is warmer than its warmest.", "Swap them.")

    @property
    def swing_k(self) -> float:
        """Between the store's coolest and warmest; both are known."""
        return (self.store_high_c or 0.0) - (self.store_low_c or 0.0)

    def filled(self, **known: float | None) -> "Told":
        """Return the same with what is None taken from `known`."""
        return replace(self, **{
            name: value for name, value in known.items() if getattr(self, name) is None
        })  # fmt: skip


def signs_told(told: Told, trays: Sequence[Tray] = ()) -> dict[str, Sign]:
    """Return the figures by name, those that cannot be told left out."""
    return {**{name: Sign(value) for name, value in _told(told)}, **_of_trays(trays)}


def _told(told: Told) -> Iterator[tuple[str, float]]:
    for name in ("fridge_c", "mould_c", "store_high_c", "store_humidity_percent",
                 "remelt_share"):  # fmt: skip
        value = getattr(told, name)
        if value is not None:
            yield name, value
    if told.store_low_c is not None and told.store_high_c is not None:
        yield "store_swing_k", told.swing_k
    if told.room_c is None or told.humidity_percent is None:
        return
    dew_c = float(dew_point_c(told.room_c, told.humidity_percent))
    if told.mould_c is not None:
        yield "mould_dew_k", dew_c - told.mould_c
    if told.bar_c is not None:
        yield "bar_dew_k", dew_c - told.bar_c
    elif told.fridge_c is not None:
        yield "bar_dew_k", dew_c - told.fridge_c - BAR_OVER_K


def _of_trays(trays: Sequence[Tray]) -> dict[str, Sign]:
    """How many trays were in at once at most, and the least time that one was in."""
    stays = [one.minutes for one in trays if one.minutes is not None]
    moves = [(one.in_utc_ms, 1) for one in trays]
    moves += [(one.out_utc_ms, -1) for one in trays if one.out_utc_ms is not None]
    inside = most = 0
    for _, step in sorted(moves):
        inside += step
        most = max(most, inside)
    found = {"trays_at_once": Sign(float(most))} if trays else {}
    return {**found, "tray_least_min": Sign(float(min(stays)))} if stays else found
