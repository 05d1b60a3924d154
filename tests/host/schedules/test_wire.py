"""From a schedule to what the rig is given."""

import pytest

from rigwire.schedule import from_body, to_body
from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.demo import demo
from snapgloss.schedules.maker import make, seed_for
from snapgloss.schedules.reader import from_text
from snapgloss.schedules.wire import plain_name, to_wire
from snapgloss.schedules.writer import to_text

# Written by hand from the wire's description and the demo file.
LANTERN_BODY = (
    b"1|Lantern 72 seeded 2 kg|seeded|solid|2000|55000"
    b"|melt,48000,300,3000,60000,1,300,0"
    b"|rest,48000,600,3000,60000,0,0,0"
    b"|cool,33500,0,2000,60000,0,0,0"
    b"|seed,33500,360,500,34000,2,600,120"
    b"|cool,31500,0,500,34000,0,0,0"
    b"|work,31500,2700,500,34000,3,0,0"
)


def test_lantern_on_the_wire():
    """The demo's body is the one written by hand, and the wire reads it back."""
    assert to_body(to_wire(demo())) == LANTERN_BODY
    assert from_body(LANTERN_BODY).steps[3].grams == 120


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize(
    ("method", "start"),
    [("seeded", "solid"), ("seeded", "liquid"), ("cooled", "solid"), ("kept", "in_temper")],
)
def test_everything_the_maker_makes_passes_the_wire(kind, method, start):
    """The wire's own check accepts each usual schedule."""
    assert to_body(to_wire(make(TYPES[kind], BENCH_RIG, 2000, method, start)))


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("Lantern 72", "Lantern 72"),
        ("Crème brûlée", "Creme brulee"),
        ('a|b,c;d"e\\f', "a b c d e f"),
        ("黑巧克力", "schedule"),
        ("x" * 60, "x" * 40),
    ],
)
def test_plain_name(name, plain):
    """Accents fall, the wire's marks become spaces, nothing left becomes "schedule"."""
    assert plain_name(name) == plain


def test_seed_share():
    """Common practice, no source: 5-8 % grated or chopped seed."""
    for mass_g in (500, 1000, 2000, 5000):
        assert 0.05 <= seed_for(mass_g) / mass_g <= 0.08


def test_what_the_wire_refuses_is_an_input_error():
    """A schedule changed behind the model's back is refused before it travels."""
    broken = demo().model_copy(update={"mass_g": 1})
    with pytest.raises(InputError, match="the mass is out of range"):
        to_wire(broken)


def test_a_creep_reaches_the_wire():
    """The file's half degree an hour up to 32 is the last two values of the step of work."""
    text = to_text(make(TYPES["dark"], BENCH_RIG, 2000, "seeded", "solid"))
    text = text.rstrip() + '\ncreep = "0.5 C/h"\ncreep_to = "32 C"\n'
    schedule = from_text(text)
    assert from_text(to_text(schedule)) == schedule
    body = to_body(to_wire(schedule))
    assert (
        body
        == to_body(to_wire(make(TYPES["dark"], BENCH_RIG, 2000, "seeded", "solid")))
        + b",500,32000"
    )
    assert from_body(body).steps[-1].creep_to_mc == 32_000
