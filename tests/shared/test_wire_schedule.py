"""The schedule's text: vectors, limits and canonical form."""

from rigwire import schedule
from rigwire.errors import ScheduleRefused
from rigwire.schedule import Schedule, Step
from wire_vectors import load, raises


def test_vectors():
    """Good texts parse and come back byte for byte under their digest; bad ones are refused."""
    rows = load("schedules.json")
    assert len(rows) >= 30
    for row in rows:
        body = row["text"].encode()
        assert schedule.digest(body) == row["digest"]
        if row["good"]:
            assert schedule.to_body(schedule.from_body(body)) == body, row["what"]
        else:
            assert raises(ScheduleRefused, schedule.from_body, body), row["what"]


def test_values_stand_where_the_text_says():
    """Each figure of a step is read into its own name."""
    read = schedule.from_body(
        b"1|Lantern 72|seeded|solid|2000|55000|seed,33500,360,900,34000,2,600,120"
    )
    step = read.steps[0]
    assert (read.name, read.method, read.start_state) == ("Lantern 72", "seeded", "solid")
    assert (read.mass_g, read.ceiling_mc) == (2000, 55000)
    assert (step.kind, step.target_mc, step.hold_s) == ("seed", 33500, 360)
    assert (step.rate_mc_per_min, step.wall_mc) == (900, 34000)
    assert (step.prompt, step.wait_s, step.grams) == (2, 600, 120)


def test_writer_refuses_what_the_reader_would():
    """A schedule outside the limits never becomes text."""
    step = Step("work", 29800, 60, 100, 30000)
    assert schedule.to_body(Schedule("a", "kept", "in_temper", 1000, 50000, [step]))
    for bad in (
        Schedule("a|b", "kept", "in_temper", 1000, 50000, [step]),
        Schedule("a", "kept", "in_temper", 1000, 29000, [step]),
        Schedule("a", "kept", "in_temper", 1000, 50000, []),
        Schedule("a", "kept", "in_temper", 1000, 50000, [step] * 17),
        Schedule("a", "kept", "in_temper", 1000, 50000, [Step("work", 29800.0, 60, 100, 30000)]),
    ):
        assert raises(ScheduleRefused, schedule.to_body, bad)


def test_every_byte_flip_is_refused_or_changes_the_digest():
    """No damaged text passes for the original."""
    body = b"1|a|kept|in_temper|1000|50000|work,29800,60,100,30000,0,0,0"
    wanted = schedule.digest(body)
    for at in range(len(body)):
        for bit in range(8):
            damaged = bytearray(body)
            damaged[at] ^= 1 << bit
            damaged = bytes(damaged)
            assert schedule.digest(damaged) != wanted
            try:
                schedule.from_body(damaged)
            except ScheduleRefused:
                pass
