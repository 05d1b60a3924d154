"""The save-it card: what to do now for a batch that went wrong, or nothing.

What is said, when, and by what source is data, save_it.toml beside this file; the signs are in
save_it_signs. A card speaks of temperatures, times and what a person said; whether the chocolate
is in temper is for the knife to say.
"""

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

from snapgloss.base.records import Event, Reading
from snapgloss.base.units import show_difference, show_mass, show_temperature
from snapgloss.chocolate.types import ChocolateType
from snapgloss.quality.save_it_bowl import Bowl, Gap, gaps_of
from snapgloss.quality.save_it_signs import SIGNS, Figures
from snapgloss.quality.words import show_minutes


class Card(NamedTuple):
    """One card. `what` happened, what to do `now`, when to `give_up`: a sentence each.

    `figures` are those in the sentences, by names that end in their unit (_mc, _s, _g, _k);
    `source` is where the advice comes from.
    """

    key: str
    what: str
    now: str
    give_up: str
    source: str
    figures: dict[str, int | float]

    @property
    def words(self) -> str:
        """The three sentences, one after another."""
        return f"{self.what} {self.now} {self.give_up}"


class Rules(NamedTuple):
    """save_it.toml: figures that several rules share, and the rules in their order."""

    shared: dict[str, float]
    rules: tuple[dict[str, Any], ...]


@cache
def rules() -> Rules:
    """Return the rules as read from the package."""
    text = files("snapgloss.quality").joinpath("save_it.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    rows = tuple(data.pop("rule"))
    return Rules({name: value for name, value in data.items() if name != "format"}, rows)


def card_now(
    readings: Sequence[Reading],
    events: Sequence[Event],
    kind: ChocolateType,
    mass_g: int,
    work_mc: int,
    *,
    thick: bool = False,
    simulated: bool = False,
    gaps: Sequence[Gap] | None = None,
    fahrenheit: bool = False,
) -> Card | None:
    """Return the card of a batch under way, at most one; None when nothing is wrong.

    Readings and events in order, times in device ms of the run; `mass_g` what the bowl began
    with; `work_mc` the schedule's working target; `thick` what a person says; `gaps` where the
    rig stood still, found from the rest when None; for how long a `simulated` one lost its power
    is not said. What is long well again is not spoken of.
    """
    found = gaps_of(readings, events) if gaps is None else gaps
    shared = rules().shared
    bowl = Bowl(readings, events, found, kind, mass_g, work_mc, thick, shared["fades_s"],
                shared["merge_s"], simulated)  # fmt: skip
    return card_of(bowl, fahrenheit)


def card_after(
    readings: Sequence[Reading],
    events: Sequence[Event],
    kind: ChocolateType,
    mass_g: int,
    work_mc: int,
    *,
    thick: bool = False,
    simulated: bool = False,
    gaps: Sequence[Gap] | None = None,
    fahrenheit: bool = False,
) -> Card | None:
    """Return the card of a batch that is over: as card_now, and nothing is too long ago."""
    found = gaps_of(readings, events) if gaps is None else gaps
    merge_s = rules().shared["merge_s"]
    bowl = Bowl(readings, events, found, kind, mass_g, work_mc, thick, None, merge_s, simulated)
    return card_of(bowl, fahrenheit)


def card_of(bowl: Bowl, fahrenheit: bool = False) -> Card | None:
    """Return the card of the first rule whose sign is there, and whose advice is right for a
    bowl that a person calls thick, if so it is.
    """
    shared, rows = rules()
    for rule in (row for row in rows if row["thick"] or not bowl.thick):
        found = SIGNS[rule["key"]](bowl, {**shared, **rule})
        if found is not None:
            return _card(rule, {**_usual(bowl, shared), **found}, bowl.kind.key, fahrenheit)
    return None


def _usual(bowl: Bowl, shared: dict[str, float]) -> Figures:
    """Return the figures that any sentence may use."""
    kind, product_mc = bowl.kind, bowl.product_mc
    figures: Figures = {
        "work_mc": bowl.work_mc,
        "cap_mc": kind.cap_mc,
        "wall_mc": kind.wall_mc,
        "work_low_mc": kind.work_low_mc,
        "seed_high_mc": kind.seed_high_mc,
        "melt_mc": kind.melt.default_mc,
        "melt_out_s": kind.melt_out_s,
        "seed_least_g": max(1, round(bowl.left_g * shared["seed_least_share"])),
        "seed_most_g": max(1, round(bowl.left_g * shared["seed_most_share"])),
        **{name: shared[name] for name in ("mix_s", "knife_s", "top_up_mc", "rewarm_k")},
    }
    return figures if product_mc is None else {**figures, "product_mc": product_mc}


def _card(rule: dict[str, Any], figures: Figures, kind: str, fahrenheit: bool) -> Card:
    shown = {name: _show(name, value, fahrenheit) for name, value in figures.items()}
    shown.setdefault("product_mc", show_temperature(None))
    shown.setdefault("still_s", "a while")
    sentences = {n: str(rule[n]).format(type=kind, **shown) for n in ("what", "now", "give_up")}
    text = "".join(str(rule[name]) for name in sentences)
    used = {name: value for name, value in figures.items() if f"{{{name}}}" in text}
    return Card(rule["key"], **sentences, source=rule["source"], figures=used)


def _show(name: str, value: float, fahrenheit: bool) -> str:
    """Return a figure as a person reads it, by the unit its name ends in."""
    unit = name.rpartition("_")[2]
    if unit == "mc":
        return show_temperature(round(value), fahrenheit)
    if unit == "s":
        return show_minutes(value / 60)
    return show_difference(value, fahrenheit) if unit == "k" else show_mass(round(value))
