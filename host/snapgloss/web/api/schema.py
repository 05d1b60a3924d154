"""What goes in and out of the API, as models; `schemas` gives them as JSON Schema."""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from snapgloss.base.fahrenheit import in_fahrenheit
from snapgloss.runs.live.moment import Moment
from snapgloss.runs.live.pour_count import MOULDS_MOST
from snapgloss.runs.touches import MOMENTS

MOMENT: TypeAdapter[Moment] = TypeAdapter(Moment)
SENTENCES = ("step_words", "now", "withheld", "card", "ended", "trouble", "staged")


class Body(BaseModel):
    """The body of a command: no field but its own, no type but the right one."""

    model_config = ConfigDict(extra="forbid", strict=True)


class Nothing(Body):
    """A command that says all by its path."""


class NoteBody(Body):
    """A note on the batch under way, or the last one."""

    words: str = Field(min_length=1, max_length=400)


class MomentBody(Body):
    """A moment of one touch."""

    key: Literal[tuple(MOMENTS)]  # type: ignore[valid-type]


class AnswerBody(Body):
    """What the rig asks is answered from here."""

    prompt: Literal["lumps_gone", "seed_in", "dip_knife", "pour"]


class MouldsBody(Body):
    """A mould more or fewer (`by`), or how many there are to fill (`moulds`)."""

    by: Literal[-1, 1] | None = None
    moulds: int | None = Field(default=None, ge=0, le=MOULDS_MOST)


class StageBody(Body):
    """A batch to send: a schedule file's text, or the sample batch of a simulated rig.

    `room_c` in degC, for the forecast; `moulds` 0 where nobody said how many. It asks for the
    start; a person presses at the rig.
    """

    schedule: str = Field(default="", max_length=60_000)
    sample: bool = False
    room_c: float = Field(default=21.0, ge=-10, le=45)
    workshop: str = Field(default="", max_length=60)
    moulds: int = Field(default=0, ge=0, le=MOULDS_MOST)


class ReportBody(Body):
    """Make the report of a batch; its sentence is where it is then."""

    run: int = Field(ge=1, le=2**31 - 1)
    fahrenheit: bool = False


class ProveBody(Body):
    """Begin steps of commissioning: those named, or all that are open. `name` signs each."""

    name: str = Field(min_length=1, max_length=60)
    only: list[str] = Field(default_factory=list, max_length=40)


class ProveAnswerBody(Body):
    """The answer to question `number` of a step: a word, or a figure."""

    number: int = Field(ge=1)
    answer: Literal["done", "yes", "no", "skip"] | None = None
    figure: float | None = Field(default=None, gt=-1e9, lt=1e9)


class Answer(BaseModel):
    """What a command says: a sentence, maybe empty."""

    words: str


class Problem(BaseModel):
    """Why nothing was done, and what to do."""

    error: str
    remedy: str


class Last(BaseModel):
    """The last command of all pages: when (UTC), who, what, and how it ended."""

    at: str
    who: str
    what: str
    result: str


class Live(BaseModel):
    """One message of the stream, and the answer of `readings`.

    Points are [seconds since the start, chocolate, target, plate (milli-degC or null), heat
    (thousandths)], from number `next` minus their count on; `anew`: forget all before. `state`
    is a Moment whose sentences stand once more in `fahrenheit`. `age_s` is how old its reading
    is, -1 for none; `sent_ms` the server's clock. `lead`: this page may command.
    """

    epoch: str
    next: int
    anew: bool
    points: list[tuple[float, int | None, int | None, int | None, int]]
    state: dict[str, Any]
    age_s: float
    sent_ms: int
    lead: bool
    pages: int
    last: Last | None


COMMANDS: dict[str, type[Body]] = {
    "off": Nothing, "lead": Nothing, "note": NoteBody, "moment": MomentBody,
    "answer": AnswerBody, "moulds": MouldsBody, "stage": StageBody, "report": ReportBody,
    "learn": Nothing, "prove": ProveBody, "prove_answer": ProveAnswerBody,
    "prove_end": Nothing,
}  # fmt: skip
"""The body of each command, by the last part of its path."""


def state_data(moment: Moment) -> dict[str, Any]:
    """Return a moment as JSON data; sentences with a temperature once more in °F."""
    data: dict[str, Any] = MOMENT.dump_python(moment, mode="json")
    data["fahrenheit"] = {
        name: in_fahrenheit(data[name]) for name in SENTENCES if "°C" in data[name]
    }
    for part in (*data["said"], data["ahead"], data["pouring"]):
        part["fahrenheit"] = in_fahrenheit(part["words"])
    return data


def schemas() -> dict[str, Any]:
    """Return the JSON Schema of everything, by name."""
    bodies: dict[str, type[BaseModel]] = {f"POST /api/{n}": body for n, body in COMMANDS.items()}
    answers: dict[str, type[BaseModel]] = {"answer": Answer, "problem": Problem, "live": Live}
    models = {**bodies, **answers}
    found = {name: model.model_json_schema() for name, model in models.items()}
    return {**found, "moment": MOMENT.json_schema(mode="serialization")}
