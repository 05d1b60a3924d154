"""A coach for tempering by hand, on a stone or over water: the probe looks, a person does.

It follows the chocolate and says in a sentence what to do now. It drives nothing. What it asks is
what a rig asks; who does not answer is led on by the temperature. Temperatures are those of the
type, steps and times common practice, no source.
"""

from collections.abc import Callable
from typing import NamedTuple

from rigwire.tables import ADDITIONS, ANSWERED_BY, PROMPTS, STEP_KINDS
from snapgloss.base.units import show_mass, show_span, show_temperature
from snapgloss.chocolate.types import ChocolateType

SURE = 3
"""Readings in a row that must agree before a step is over: a splash is no temperature."""
NEAR_MC = 1500
SAID_AGAIN_MS = 60_000
SEED_SHARE = 0.06
SEED_MS = 6 * 60_000
"""Seed takes some minutes to melt in part; then work begins, if it is cool enough."""
STEPS = {
    "cooled": ("melting", "resting", "cooling", "rewarming", "working"),
    "seeded": ("melting", "resting", "cooling", "seeding", "working"),
    "kept": ("rewarming", "working"),
}


KINDS = dict(
    zip(("melting", "resting", "cooling", "seeding", "rewarming", "working"),
        range(len(STEP_KINDS)), strict=True)
)  # fmt: skip
KNIFE, LUMPS, SEED = (PROMPTS.index(name) for name in ("dip_knife", "lumps_gone", "seed_in"))
ASKED = {"resting": LUMPS, "seeding": SEED, "working": KNIFE}
"""What is asked as a step begins: the questions of a rig."""


class Told(NamedTuple):
    """Something for the record, as the rig tells it: kind, a and b of an event."""

    kind: str
    a: int
    b: int


class Said(NamedTuple):
    """Where the batch is now, its step from 1, what to tell the person and what the record; mostly
    nothing. `target_mc` is what the chocolate should come to."""

    state: str
    step_no: int
    words: list[str]
    told: list[Told]
    target_mc: int


class Coach:
    """Takes one reading after another. `method` is one of STEPS; `liquid`: melted already."""

    def __init__(
        self, kind: ChocolateType, method: str, mass_g: int, liquid: bool = False,
        fahrenheit: bool = False,
    ) -> None:  # fmt: skip
        self._kind, self._mass_g, self._fahrenheit = kind, mass_g, fahrenheit
        steps = STEPS[method]
        self._steps = tuple(s for s in steps if not liquid or s not in ("melting", "resting"))
        self._method, self._at = method, 0
        self._entered_ms: int | None = None
        self._agreed = 0
        self._nearly = False
        self._told_ms: dict[str, int] = {}
        self._told: list[Told] = []
        self.asks = 0
        """The number of the question that waits, in rigwire.tables.PROMPTS; 0 = none."""

    @property
    def state(self) -> str:
        """The step it is in, by its state."""
        return self._steps[self._at]

    def take(self, at_ms: int, product_mc: int | None) -> Said:
        """Take a reading (device ms, milli-degC; None where missing)."""
        words: list[str] = []
        self._told = []
        if self._entered_ms is None:
            words += self._enter(at_ms)
        if product_mc is None:
            words += self._again(at_ms, "No reading: is the probe in the chocolate?")
        else:
            words += self._judge(at_ms, product_mc)
        # Named after judging: the reading that ends a step belongs to the next.
        return self._said(words)

    def answer(self, at_ms: int) -> Said:
        """The person says that it is done: what was asked; or, when nothing is asked in the work,
        that a mould was poured."""
        words: list[str] = []
        self._told = []
        if self.asks:
            self._told.append(Told("answered", self.asks, ANSWERED_BY.index("host")))
        if self.asks == SEED:
            self._told.append(Told("added", ADDITIONS.index("seed"), self._seed_g))
            words.append("Seed is in. Stir until it is smooth.")
        elif self.state == "working" and not self.asks:
            self._told.append(Told("added", ADDITIONS.index("pour"), 0))
        if self.asks in (SEED, LUMPS):
            self._entered_ms = at_ms  # it is done now: its minutes count from here
        self.asks = 0
        return self._said(words)

    def _said(self, words: list[str]) -> Said:
        return Said(self.state, self._at + 1, words, self._told, self._target_mc)

    def _enter(self, at_ms: int) -> list[str]:
        """Begin the step that it is at."""
        self._entered_ms, self._agreed, self._nearly = at_ms, 0, False
        self._told.append(Told("step", self._at + 1, KINDS[self.state]))
        self.asks = ASKED.get(self.state, 0)
        if self.asks:
            self._told.append(Told("prompt", self.asks, self._seed_g if self.asks == SEED else 0))
        return [self._begin_words()]

    def _judge(self, at_ms: int, product_mc: int) -> list[str]:
        self._agreed = self._agreed + 1 if self._is_over(at_ms, product_mc) else 0
        if self._agreed >= SURE and self._at + 1 < len(self._steps):
            if self.state in ("melting", "cooling", "rewarming"):
                self._told.append(Told("reached", self._at + 1, product_mc))
            self._at += 1
            return self._enter(at_ms)
        warning = self._warning(product_mc)
        return self._again(at_ms, warning) if warning else self._heads_up(product_mc)

    def _is_over(self, at_ms: int, product_mc: int) -> bool:
        kind, began_ms = self._kind, at_ms if self._entered_ms is None else self._entered_ms
        if self.state == "melting":
            return product_mc >= kind.melt.default_mc
        if self.state == "resting":
            return at_ms - began_ms >= kind.melt_out_s * 1000
        if self.state == "cooling":
            return product_mc <= self._goal_mc
        if self.state == "seeding":
            return at_ms - began_ms >= SEED_MS and product_mc <= kind.work.high_mc
        return self.state == "rewarming" and product_mc >= kind.work.low_mc

    @property
    def _seed_g(self) -> int:
        return round(self._mass_g * SEED_SHARE)

    @property
    def _target_mc(self) -> int:
        if self.state in ("melting", "resting"):
            return self._kind.melt.default_mc
        return (
            self._goal_mc if self.state in ("cooling", "seeding") else self._kind.work.default_mc
        )

    @property
    def _goal_mc(self) -> int:
        kind = self._kind
        return kind.seed_at_mc if self._method == "seeded" else kind.cool.default_mc

    def _begin_words(self) -> str:
        kind, at = self._kind, self._show
        words: dict[str, Callable[[], str]] = {
            "melting": lambda: (
                f"Melt it over warm water to {at(kind.melt.default_mc)}, never over "
                f"{at(kind.hard_mc)}. Keep water and steam out."
            ),
            "resting": lambda: (
                f"All lumps gone? Keep it warm and stir for {show_span(kind.melt_out_s)}."
            ),
            "cooling": self._cool_words,
            "seeding": lambda: (
                f"Seed in now: {show_mass(self._seed_g)}. Stir until it is "
                f"smooth and under {at(kind.work.high_mc)}."
            ),
            "rewarming": lambda: (
                f"Warm it gently to {at(kind.work.default_mc)}, not over {at(kind.cap_mc)}."
            ),
            "working": lambda: (
                f"Dip a knife, then pour. Keep it between {at(kind.work.low_mc)} and "
                f"{at(kind.work.high_mc)}."
            ),
        }
        return words[self.state]()

    def _cool_words(self) -> str:
        goal = self._show(self._goal_mc)
        if self._method == "seeded":
            return f"Take it off the warmth and stir. Seed goes in at {goal}."
        return f"Cool it on the stone or over cold water to {goal}; keep it moving."

    def _warning(self, product_mc: int) -> str:
        kind, now = self._kind, self._show(product_mc)
        if product_mc > kind.hard_mc:
            return f"Too hot: {now}. Take it off now."
        if self.state in ("rewarming", "working") and product_mc > kind.cap_mc:
            return (
                f"Too warm: {now}. Over {self._show(kind.cap_mc)} the crystals melt: seed it, or "
                "begin cooling again."
            )
        if self.state == "working" and product_mc < kind.work_low_mc:
            return f"Getting cool: {now}. Warm it a little."
        if self.state == "cooling" and product_mc < kind.cool.low_mc:
            return f"Too cold: {now}. It thickens; warm it now."
        return ""

    def _heads_up(self, product_mc: int) -> list[str]:
        """Once, near the goal of cooling: a hand and a stone need a moment to stop."""
        if self.state == "cooling" and not self._nearly and product_mc <= self._goal_mc + NEAR_MC:
            self._nearly = True
            return [f"Nearly: {self._show(product_mc)}. Stop at {self._show(self._goal_mc)}."]
        return []

    def _again(self, at_ms: int, words: str) -> list[str]:
        """The words, unless the like was said within the last minute."""
        kind = words.partition(":")[0]
        told_ms = self._told_ms.get(kind)
        if told_ms is not None and at_ms - told_ms < SAID_AGAIN_MS:
            return []
        self._told_ms[kind] = at_ms
        return [words]

    def _show(self, mc: int) -> str:
        return show_temperature(mc, self._fahrenheit)
