"""Makers, their rigs and days, and what goes wrong: every figure drawn from one seed.

A fault changes what is done in the kitchen or what the machines do (`Batches`' arrays), never a
symptom and never anything that the rules read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from snapgloss.chocolate.types import TYPES, ChocolateType

Array = NDArray[np.float64]
Random = np.random.Generator
KINDS = (TYPES["dark"], TYPES["milk"])


@dataclass
class Batches:
    """Lanes of what is true of each batch; figures carry their unit, `is_` are 0 or 1."""

    kind: Array
    is_seeded: Array
    mass_kg: Array
    heater_w: Array
    plate_w_per_k: Array
    loss_w_per_k: Array
    fan_w_per_k: Array
    grow: Array
    nucleate: Array
    room_c: Array
    humidity_percent: Array
    probe_k: Array
    fan_share: Array
    seed_given_share: Array
    seed_over_k: Array
    low_over_k: Array
    dwell_min: Array
    is_stirred: Array
    is_stop_seen: Array
    gun_w: Array
    gun_min: Array
    pour_min: Array
    is_heat_lost: Array
    mould_c: Array
    is_mould_wet: Array
    fridge_c: Array
    film_w_per_m2_k: Array
    trays: Array
    tray_min: Array
    turn_out_k: Array
    store_low_c: Array
    store_high_c: Array
    store_humidity_percent: Array

    def __len__(self) -> int:
        return len(self.kind)

    def of(self, names: Callable[[ChocolateType], float]) -> Array:
        """A figure of each lane's type of chocolate."""
        return np.array([names(kind) for kind in KINDS])[self.kind.astype(int)]

    def take(self, where: NDArray[np.int_]) -> Batches:
        """These lanes, copied."""
        return Batches(**{one.name: getattr(self, one.name)[where].copy() for one in fields(self)})


def healthy(random: Random, count: int) -> Batches:
    """Batches in which nothing is wrong beyond a kitchen's usual scatter."""
    even, near = random.uniform, random.normal
    ones, zeros = np.ones(count), np.zeros(count)
    room_c = even(19.5, 23.0, count)
    return Batches(
        kind=random.integers(0, 2, count).astype(float),
        is_seeded=random.integers(0, 2, count).astype(float),
        mass_kg=even(1.6, 2.4, count), heater_w=even(130, 170, count),
        plate_w_per_k=even(18, 30, count), loss_w_per_k=even(1.2, 1.8, count),
        fan_w_per_k=even(3.5, 5.5, count),
        grow=np.exp(near(0, 0.1, count)), nucleate=np.exp(near(0, 0.1, count)),
        room_c=room_c, humidity_percent=even(35, 52, count), probe_k=near(0, 0.1, count),
        fan_share=np.exp(near(0, 0.06, count)), seed_given_share=even(0.95, 1.05, count),
        seed_over_k=near(-0.2, 0.1, count), low_over_k=even(0.0, 0.15, count),
        dwell_min=even(7.0, 9.0, count), is_stirred=ones.copy(), is_stop_seen=zeros.copy(),
        gun_w=zeros.copy(), gun_min=zeros.copy(), pour_min=even(5, 15, count),
        is_heat_lost=zeros.copy(), mould_c=even(22, 26, count), is_mould_wet=zeros.copy(),
        fridge_c=even(10, 13, count), film_w_per_m2_k=even(18, 26, count),
        trays=random.integers(1, 4, count).astype(float), tray_min=even(28, 36, count),
        turn_out_k=even(4, 7, count),
        store_low_c=even(17, 18.5, count), store_high_c=even(18.8, 20.0, count),
        store_humidity_percent=even(35, 48, count),
    )  # fmt: skip


Spoil = Callable[[Batches, int, Random], None]


def _set(**ranges: tuple[float, float]) -> Spoil:
    def spoil(made: Batches, lane: int, random: Random) -> None:
        for name, (low, high) in ranges.items():
            getattr(made, name)[lane] = random.uniform(low, high)

    return spoil


def _probe(made: Batches, lane: int, random: Random) -> None:
    made.probe_k[lane] = random.choice([-1.0, 1.0]) * random.uniform(1.4, 2.5)


def _swings(made: Batches, lane: int, random: Random) -> None:
    made.store_low_c[lane] = random.uniform(12, 15)
    made.store_high_c[lane] = made.store_low_c[lane] + random.uniform(8.5, 10)


def _gun(made: Batches, lane: int, random: Random) -> None:
    made.gun_w[lane] = random.uniform(140, 220)
    made.gun_min[lane] = random.uniform(2.5, 4.5)


SEEDED, COOLED, BOTH = 1.0, 0.0, None
FAULTS: dict[str, tuple[str, float | None, Spoil]] = {
    "no_seed": ("seed_short", SEEDED, _set(seed_given_share=(0.0, 0.0))),
    "little_seed": ("seed_short", SEEDED, _set(seed_given_share=(0.03, 0.2))),
    "seed_hot": ("seed_hot", SEEDED, _set(seed_over_k=(5.0, 9.0))),
    "probe_offset": ("probe_off", BOTH, _probe),
    "warm_room": ("room_warm", COOLED, _set(room_c=(28.0, 31.0))),
    "fan_clogged": ("fan_clogged", COOLED, _set(fan_share=(0.02, 0.25))),
    "low_missed": ("low_missed", COOLED, _set(low_over_k=(1.3, 3.0))),
    "dwell_short": ("dwell_short", COOLED, _set(dwell_min=(0.0, 1.5))),
    "stirrer_stopped": ("stirring", COOLED, _set(is_stirred=(0.0, 0.0), is_stop_seen=(0.0, 1.0))),
    "overshot": ("overshot", BOTH, _gun),
    "worked_cold": ("worked_cold", BOTH, _set(is_heat_lost=(1.0, 1.0), pour_min=(45, 60))),
    "worked_long": ("worked_long", BOTH, _set(pour_min=(80, 100))),
    "moulds_cold": ("moulds_cold", BOTH, _set(mould_c=(8.0, 15.0))),
    "moulds_warm": ("moulds_warm", BOTH, _set(mould_c=(48.0, 58.0))),
    "moulds_wet": ("moulds_damp", BOTH, _set(is_mould_wet=(1.0, 1.0))),
    "refrigerator_warm": ("fridge_warm", BOTH, _set(fridge_c=(17.0, 20.0))),
    "refrigerator_full": ("fridge_full", BOTH, _set(trays=(9.0, 14.0))),
    "refrigerator_cold": ("fridge_cold", BOTH, _set(fridge_c=(-2.0, 4.0))),
    "out_early": ("out_early", BOTH, _set(tray_min=(5.0, 11.0))),
    "turned_out_wet": (
        "turned_out_wet", BOTH,
        _set(humidity_percent=(65, 80), room_c=(22.0, 24.5), turn_out_k=(0.0, 1.5)),
    ),
    "store_warm": ("store_warm", BOTH, _set(store_high_c=(25.0, 30.0), store_low_c=(22.0, 24.0))),
    "store_swings": ("store_swings", BOTH, _swings),
    "store_damp": ("store_damp", BOTH, _set(store_humidity_percent=(75, 90))),
}  # fmt: skip
"""What goes wrong: the rule that is to be found, the method it is for, and what it changes."""


def spoilt(random: Random, made: Batches, names: list[tuple[str, ...]]) -> Batches:
    """The batches with these faults; a fault of one method makes its batch one of that method."""
    changed = replace(made.take(np.arange(len(made))))
    for lane, own in enumerate(names):
        for name in own:
            _, method, spoil = FAULTS[name]
            if method is not None:
                changed.is_seeded[lane] = method
            spoil(changed, lane, random)
    return changed


def draw_names(random: Random, count: int, two_share: float = 0.25) -> list[tuple[str, ...]]:
    """One fault for each batch, in one of four two; two go together where both have a method."""
    found: list[tuple[str, ...]] = []
    keys = list(FAULTS)
    while len(found) < count:
        own = tuple(random.choice(keys, 2 if random.random() < two_share else 1, replace=False))
        methods = {FAULTS[one][1] for one in own} - {None}
        rules = {FAULTS[one][0] for one in own}
        if len(methods) < 2 and len(rules) == len(own) and not _clash(own):
            found.append(own)
    return found


def _clash(own: tuple[str, ...]) -> bool:
    """True for two faults that set the same figure: the second would undo the first."""
    return any(set(own) <= set(group) for group in _SAME) and len(own) == 2


_SAME = (
    ("refrigerator_warm", "refrigerator_cold"), ("moulds_cold", "moulds_warm"),
    ("store_warm", "store_swings"), ("warm_room", "turned_out_wet"),
    ("worked_cold", "worked_long"),
)  # fmt: skip
