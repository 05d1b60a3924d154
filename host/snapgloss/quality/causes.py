"""From bad bars to what they come of: symptoms and a run's evidence, ranked by the rules of
causes.toml. What a rule says of a figure and of a mark is data with its source beside it; nothing
here knows any cause by name.

A cause counts by how well it explains the marks (0..1), times how strong its figure speaks, times
what the knife says. A figure that nobody measured speaks as the rule's `unknown`.
"""

import tomllib
from collections.abc import Collection, Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

from snapgloss.base.fahrenheit import in_fahrenheit
from snapgloss.base.units import show_difference, show_h_mm, show_temperature
from snapgloss.quality.causes_curve import Sign
from snapgloss.quality.grades import MARKS
from snapgloss.quality.temper_smear import Smear
from snapgloss.quality.words import show_minutes

LATE, THICK = "late bloom", "thick"
SYMPTOMS = (*MARKS, THICK, LATE)
BEST_WEIGHT = 3
SLOW_SAYS = 0.5
"""A knife that was only slow says less than one with streaks (own choice)."""
PLACES = {
    "bowl": "Look at the bowl",
    "refrigerator": "Look at the refrigerator, not at the bowl",
    "moulds": "Look at the moulds, not at the bowl",
    "store": "Look at the store, not at the bowl",
}
REMELT = "Melt the bars again: nothing is wrong with the chocolate."
NOT_REMELT = ("water",)
"""What no melt repairs."""
NOTHING = "Nothing in this record explains these bars."
ASK_KNIFE = "Dip a knife next time: without it nobody can tell the bowl from the refrigerator."


class Cause(NamedTuple):
    """One cause. `score` ranks it; `sign` is its figure and stretch of the curve, None where
    nothing was measured; `fits` are the marks it explains."""

    key: str
    place: str
    score: float
    what: str
    now: str
    source: str
    figure: str
    sign: Sign | None
    fits: tuple[str, ...]


class Rules(NamedTuple):
    """causes.toml: figures shared by all rules, and the rules in their order."""

    shared: dict[str, float]
    rules: tuple[dict[str, Any], ...]


class Answer(NamedTuple):
    """One sentence, then all causes ranked, what to measure to know better, and that the bars can
    be melted again ("" where they cannot, or none is bad)."""

    words: str
    causes: list[Cause]
    measure: list[str]
    remelt: str = ""


@cache
def rules() -> Rules:
    """Return the rules as read from the package."""
    text = files("snapgloss.quality").joinpath("causes.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    rows = tuple(data.pop("rule"))
    return Rules({name: value for name, value in data.items() if name != "format"}, rows)


def causes_of(
    symptoms: Collection[str],
    signs: Mapping[str, Sign],
    smear: Smear | None = None,
    fahrenheit: bool = False,
) -> list[Cause]:
    """Return the causes that explain the symptoms (of SYMPTOMS), the likeliest first.

    `signs` are figures by name, those unknown left out; `smear` what the knife said. Without a
    symptom there is no cause.
    """
    shared, rows = rules()
    found = [_cause(row, symptoms, signs, smear, fahrenheit) for row in rows] if symptoms else []
    named = [one for one in found if one.score >= shared["least"]]
    behind = {key for row in rows if _holds(row["key"], named) for key in row.get("ahead_of", ())}
    ranked = [
        one._replace(score=one.score * shared["behind"]) if one.key in behind else one
        for one in named
    ]
    return sorted(ranked, key=lambda one: -one.score)


def answer(
    symptoms: Collection[str],
    signs: Mapping[str, Sign],
    smear: Smear | None = None,
    fahrenheit: bool = False,
) -> Answer:
    """Return the sentence for a bad batch, its causes, and what was not measured."""
    if not symptoms:
        return Answer("Nothing is to be explained: no bar has a fault.", [], [])
    found = causes_of(symptoms, signs, smear, fahrenheit)
    measure = list(_to_measure(symptoms, signs, smear))
    if not found:
        return Answer(NOTHING, [], measure, REMELT)
    first = found[0]
    words = f"{PLACES[first.place]}: {first.what[:1].lower()}{first.what[1:]} {first.now}"
    return Answer(words, found, measure, "" if first.key in NOT_REMELT else REMELT)


def _holds(key: str, named: list[Cause]) -> bool:
    """True for a cause that is named by a figure, not by what is unknown."""
    return any(one.key == key and one.sign is not None for one in named)


def _cause(
    rule: dict[str, Any], symptoms: Collection[str], signs: Mapping[str, Sign],
    smear: Smear | None, fahrenheit: bool,
) -> Cause:  # fmt: skip
    row, strength = _strongest(rule, signs)
    fits = tuple(one for one in SYMPTOMS if one in symptoms and one in rule["symptoms"])
    score = strength * _fit(rule["symptoms"], symptoms) * _knife(rule["knife"], smear)
    figure = str(row.get("figure", ""))
    sign = signs.get(figure)
    if sign is None:
        what = rule.get("unmeasured", rule["what"])
    else:
        shown = show_sign(figure, sign, fahrenheit)
        what = row.get("what", rule["what"]).format(value=shown)
    now, source = (in_fahrenheit(rule[n]) if fahrenheit else rule[n] for n in ("now", "source"))
    return Cause(rule["key"], rule["place"], score, what, now, source, figure, sign, fits)


def _strongest(rule: dict[str, Any], signs: Mapping[str, Sign]) -> tuple[dict[str, Any], float]:
    """The rule's sign that speaks loudest, and how loud; {} where none speaks."""
    most, floor = rules().shared["most"], float(rule.get("otherwise", 0.0))
    heard = [
        (min(most, _share(signs[row["figure"]].value, row["from"], row["full"])), row)
        for row in rule["signs"] if row["figure"] in signs
    ]  # fmt: skip
    if not heard:
        return {}, float(rule["unknown"])
    strength, row = max(heard, key=lambda one: one[0])
    return (row, strength) if strength > floor else ({}, floor)


def _share(value: float, begin: float, full: float) -> float:
    return (value - begin) / (full - begin)


def _fit(weights: Mapping[str, int], symptoms: Collection[str]) -> float:
    """How much of the symptoms is explained, 0..1."""
    return sum(weights.get(one, 0) for one in symptoms) / (BEST_WEIGHT * len(symptoms))


def _knife(says: str, smear: Smear | None) -> float:
    """What the smear test makes of a rule."""
    if says == "any" or smear is None or smear == "unsure":
        return 1.0
    is_good = smear in ("good", "early")
    shared = rules().shared
    factor = shared["knife_with"] if is_good == (says == "good") else shared["knife_against"]
    return float(factor**SLOW_SAYS) if smear == "slow" else factor


MEASURES = {
    "fridge_c": 'the refrigerator: snapgloss why N --refrigerator "12 C"',
    "mould_c": 'the moulds as they were filled: snapgloss why N --moulds "24 C"',
    "store_high_c": 'the store\'s coolest and warmest: snapgloss why N --store "18 C" "20 C"',
}


def _to_measure(
    symptoms: Collection[str], signs: Mapping[str, Sign], smear: Smear | None
) -> Iterator[str]:
    """What nobody measured and would tell these causes apart."""
    if smear is None:
        yield ASK_KNIFE
    for name, words in MEASURES.items():
        asks = (row for row in rules().rules if any(s["figure"] == name for s in row["signs"]))
        if name not in signs and any(_fit(row["symptoms"], symptoms) >= 0.5 for row in asks):
            yield f"Not known: {words}."


def show_sign(name: str, sign: Sign, fahrenheit: bool = False) -> str:
    """Return a figure as a person reads it; kelvin times minutes as how much and how long."""
    if not name.endswith("_k_min") or sign.from_ms is None or sign.to_ms is None:
        return show_figure(name, sign.value, fahrenheit)
    minutes = max((sign.to_ms - sign.from_ms) / 60_000, 1 / 60)
    mean = show_difference(sign.value / minutes, fahrenheit)
    return f"by {mean} on average for {show_minutes(minutes)}"


def show_figure(name: str, value: float, fahrenheit: bool = False) -> str:
    """Return a figure as a person reads it, by the unit that its name ends in."""
    unit = name.rpartition("_")[2]
    if unit == "c":
        return show_temperature(round(value * 1000), fahrenheit)
    if unit == "k":
        return show_difference(abs(value), fahrenheit)
    if unit == "min":
        return show_minutes(value)
    if unit in ("share", "percent"):
        return f"{round(value * 100 if unit == 'share' else value)} %"
    return f"{value:g}"


def stretch_words(cause: Cause, zero_ms: int) -> str:
    """Where on the curve the cause is seen, as "on the curve from 0:48 to 0:56"; "" nowhere."""
    sign = cause.sign
    if sign is None or sign.from_ms is None or sign.to_ms is None:
        return ""
    begin, end = (show_h_mm(max(0, at - zero_ms) / 1000) for at in (sign.from_ms, sign.to_ms))
    return f"on the curve from {begin} to {end}"
