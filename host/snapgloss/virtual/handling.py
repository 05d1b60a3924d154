"""Hands at the bowl by the clock: `lift@600-640; seed=25%/20C*3@900-960 declared`.

A script is a row of acts, each `name[=amount][/temperature][*parts]@begin[-end] [words]`, in
seconds after the press of start. How long an act takes and how much it moves when the script does
not say is common practice (no source). Nothing here knows the firmware.
"""

import re
from collections.abc import Callable
from typing import NamedTuple, Protocol

from rigwire.tables import ADDITIONS
from snapgloss.base.errors import InputError
from snapgloss.virtual.person import SEED_STABLE_FRACTION
from snapgloss.virtual.plant import Plant

HAND_STIR = 0.6
"""Scraping stirs about as well as the stirrer at this drive (assumption)."""
WALL_OF_SCRAPE = 0.6
"""While scraping, what the probe feels beside chocolate is this much wall, the rest air."""
CRUST_LAG_FACTOR = 4.0
"""A crust of set chocolate makes the probe so many times slower (assumption)."""
GULP_S = 3.0
"""One dip of a ladle."""

_REMEDY = (
    "Write lift, scrape, ladle, pedal, seed, topup, lumps or crust, then @second-second after "
    "the press of start, such as seed=25%/20C*3@900-960 declared; acts are parted by ;."
)
_ACT = re.compile(
    r"(?P<name>[a-z]+)(=(?P<amount>\d+(\.\d+)?)(?P<unit>%|g|x)?)?(/(?P<at_c>\d+(\.\d+)?)C)?"
    r"(\*(?P<parts>\d+))?@(?P<begin>\d+(\.\d+)?)(-(?P<end>\d+(\.\d+)?))?(?P<words>( [a-z_]+)*)"
)


class Kind(NamedTuple):
    """What an act is when the script does not say: seconds, amount in `unit`, degC."""

    span_s: float
    amount: float = 0.0
    unit: str = ""
    at_c: float | None = None  # None = of the room
    words: tuple[str, ...] = ()


KINDS = {
    "lift": Kind(30.0, words=("probe_out",)),
    "scrape": Kind(30.0, 30.0, "%"),  # of what the probe feels is wall and air
    "ladle": Kind(15.0, 10.0, "%", words=("declared",)),
    "pedal": Kind(20.0),
    "seed": Kind(10.0, 6.0, "%", words=("declared",)),
    "topup": Kind(20.0, 8.0, "%", 40.0, words=("declared",)),
    "lumps": Kind(0.0, 4.0, "x"),  # blocks that melt so many times more slowly
    "crust": Kind(120.0),
}
DECLARED = {"ladle": "pour", "seed": "seed", "topup": "top_up"}


class Act(NamedTuple):
    """One act. `amount` is in % of what is in the bowl then, in g, or a factor (`unit`)."""

    name: str
    amount: float
    unit: str
    at_c: float | None
    parts: int
    begin_s: float
    end_s: float
    words: tuple[str, ...]

    def text(self) -> str:
        """The act as a script says it."""
        amount = f"={self.amount:g}{self.unit}" if self.unit else ""
        at_c = "" if self.at_c is None else f"/{self.at_c:g}C"
        parts = f"*{self.parts}" if self.parts > 1 else ""
        span = f"@{self.begin_s:g}-{self.end_s:g}"
        return " ".join([f"{self.name}{amount}{at_c}{parts}{span}", *self.words])


def parse_handling(text: str) -> tuple[Act, ...]:
    """The acts of a script, in the order of their begin. Raises InputError."""
    acts = [_parse_act(part.strip()) for part in text.split(";") if part.strip()]
    return tuple(sorted(acts, key=lambda act: act.begin_s))


def _parse_act(text: str) -> Act:
    found = _ACT.fullmatch(text)
    kind = KINDS.get(found["name"]) if found else None
    words = tuple(found["words"].split()) if found else ()
    if not found or kind is None or any(word not in kind.words for word in words):
        raise InputError(f"The act {text!r} cannot be read.", _REMEDY)
    begin_s = float(found["begin"])
    end_s = float(found["end"] or begin_s + kind.span_s)
    unit = found["unit"] or ""
    known = unit == kind.unit or (unit == "g" and found["name"] in DECLARED)
    if end_s < begin_s:
        raise InputError(
            f"The act {text!r} ends at second {end_s:g}, before it has begun.",
            "Write the earlier second first, such as lift@600-640.",
        )
    if (found["amount"] and not known) or found["parts"] == "0":
        raise InputError(f"The act {text!r} cannot be read.", _REMEDY)
    return Act(
        found["name"],
        float(found["amount"] or kind.amount),
        unit or kind.unit,
        float(found["at_c"]) if found["at_c"] else kind.at_c,
        int(found["parts"] or 1),
        begin_s,
        end_s,
        words,
    )


class Declare(Protocol):
    """Tells the rig what goes in or out: the number of an addition, and its grams."""

    def __call__(self, addition_no: int, grams: int) -> None:
        """Say so now."""
        ...


class Hands:
    """Carries a script out. Call `act` once a tick; `.pedal_down` and `.bowl_off` are contacts.

    Without a bowl switch no contact tells of a lifted bowl.
    `.busy` is True while an act goes on. An act that is `declared` is told to `declare` as it
    begins; without one nobody is told.
    """

    def __init__(
        self,
        acts: tuple[Act, ...],
        plant: Plant,
        declare: Declare | None = None,
        has_bowl_switch: bool = True,
    ) -> None:
        self._plant = plant
        self._has_bowl_switch = has_bowl_switch
        self._declare = declare
        self._active: list[Act] = []
        self._due: list[tuple[float, int, Callable[[], None]]] = []
        self.pedal_down = self.bowl_off = self.busy = False
        for act in acts:
            self._plan(act)
        self._due.sort(key=lambda due: due[:2])

    def act(self, since_start_s: float) -> None:
        """Do all that is due this long after the press of start."""
        while self._due and self._due[0][0] <= since_start_s:
            self._due.pop(0)[2]()

    def _plan(self, act: Act) -> None:
        self._at(act.begin_s, lambda: self._begin(act))
        self._at(act.end_s, lambda: self._end(act))
        if act.name in ("seed", "topup"):
            self._portions(act, act.parts, self._add)
        elif act.name == "ladle":
            self._portions(act, max(1, int((act.end_s - act.begin_s) / GULP_S)), self._take)

    def _at(self, at_s: float, do: Callable[[], None]) -> None:
        self._due.append((at_s, len(self._due), do))

    def _portions(self, act: Act, count: int, move: Callable[[float, Act], None]) -> None:
        """Plan `count` equal portions over the act; its grams are known as it begins."""
        portion: list[float] = []

        def weigh() -> None:
            whole_g = act.amount if act.unit == "g" else act.amount / 100 * self._plant.mass_g
            portion.append(whole_g / count)
            if "declared" in act.words and self._declare is not None:
                self._declare(ADDITIONS.index(DECLARED[act.name]), round(whole_g))

        self._at(act.begin_s, weigh)
        for number in range(count):
            at_s = act.begin_s + (act.end_s - act.begin_s) * number / count
            self._at(at_s, lambda: move(portion[0], act))

    def _add(self, grams: float, act: Act) -> None:
        set_part = SEED_STABLE_FRACTION if act.name == "seed" else 0.0
        at_c = self._plant.room_c if act.at_c is None else act.at_c
        self._plant.add(grams, at_c, set_part)

    def _take(self, grams: float, _act: Act) -> None:
        self._plant.remove(grams)

    def _begin(self, act: Act) -> None:
        self._active.append(act)
        if act.name == "lumps":
            self._plant.pieces.lag_factor = act.amount
        self._touch()

    def _end(self, act: Act) -> None:
        self._active.remove(act)
        self._touch()

    def _touch(self) -> None:
        """What all that goes on now makes of contacts, bowl and probe."""
        touch, going_on = self._plant.touch, {act.name: act for act in self._active}
        lift, scrape = going_on.get("lift"), going_on.get("scrape")
        self.pedal_down = "pedal" in going_on
        touch.bowl_off = lift is not None
        self.bowl_off = touch.bowl_off and self._has_bowl_switch
        touch.probe_out = lift is not None and "probe_out" in lift.words
        share = scrape.amount / 100 if scrape else 0.0
        touch.wall_share = share * WALL_OF_SCRAPE
        touch.air_share = share - touch.wall_share
        touch.stir = HAND_STIR if scrape else 0.0
        self._plant.faults.probe_lag_factor = CRUST_LAG_FACTOR if "crust" in going_on else 1.0
        self.busy = any(name not in ("crust", "lumps") for name in going_on)
