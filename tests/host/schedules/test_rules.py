"""What a schedule may not say, and what it is only warned of."""

import re

import pytest
from pydantic import ValidationError

from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.maker import make
from snapgloss.schedules.model import ScheduleFile
from snapgloss.schedules.step_rules import RuleBroken
from snapgloss.schedules.unusual import warnings


def built(kind="dark", method="seeded", start="solid", milk_fat_permille=None):
    """Return a usual schedule as plain data, to be changed and built again."""
    milk_fat = {"milk_fat_permille": milk_fat_permille}
    schedule = make(TYPES[kind], BENCH_RIG, 2000, method, start, **milk_fat)
    data = schedule.model_dump()
    data["steps"] = [dict(step) for step in data["steps"]]
    return data


def refused(data):
    """Return the rule that refuses the data."""
    with pytest.raises(RuleBroken) as broken:
        ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    return broken.value


# step number counts from 1; 0 = the schedule as a whole
# seeded: 1 melt 2 rest 3 cool 4 seed 5 cool 6 work; cooled: 1 melt 2 rest 3 cool 4 cool 5 rewarm
CASES = [
    ("seeded", 1, {"target_mc": 39_000}, "target", "40 C"),
    ("seeded", 1, {"target_mc": 56_000}, "target", "55 C"),
    ("seeded", 1, {"wall_mc": 61_000}, "wall", "60 C"),
    ("seeded", 1, {"wall_mc": 47_000}, "wall", "48 C"),
    ("seeded", 3, {"target_mc": 28_000}, "target", "low point"),
    ("seeded", 4, {"target_mc": 34_100, "wall_mc": 34_100}, "target", "34 C"),
    ("seeded", 4, {"seed_g": 0}, "seed", "120 g"),
    ("seeded", 4, {"seed_g": 700}, "seed", "666 g"),
    ("seeded", 4, {"wall_mc": 34_001}, "wall", "34 C"),
    ("seeded", 5, {"wall_mc": 34_001}, "wall", "34 C"),
    ("seeded", 6, {"target_mc": 32_600}, "target", "32.5 C"),
    ("seeded", 6, {"target_mc": 29_900}, "target", "30 C"),
    ("seeded", 6, {"wall_mc": 34_001}, "wall", "34 C"),
    ("seeded", 6, {"seed_g": 10}, "seed", "leave it out"),
    ("seeded", 5, {"wait_s": 60}, "wait", "prompt"),
    ("seeded", 5, {"creep_mc_per_h": 500, "creep_to_mc": 32_000}, "creep", "leave creep"),
    ("seeded", 6, {"creep_mc_per_h": 500}, "creep_to", "32 C"),
    ("seeded", 6, {"creep_to_mc": 32_000}, "creep", "0.5 C/h"),
    ("seeded", 6, {"creep_mc_per_h": 500, "creep_to_mc": 31_500}, "creep_to", "more than 31.5 C"),
    ("seeded", 6, {"creep_mc_per_h": 500, "creep_to_mc": 32_001}, "creep_to", "at most 32 C"),
    (
        "seeded",
        6,
        {"creep_mc_per_h": 500, "creep_to_mc": 32_000, "wall_mc": 31_900},
        "wall",
        "at least 32 C",
    ),
    ("seeded", 6, {"kind": "rest"}, "kind", "work"),
    ("seeded", 1, {"kind": "rest"}, "kind", "melt"),
    ("cooled", 5, {"rate_mc_per_min": 1001}, "rate", "1 C/min"),
    ("seeded", 5, {"kind": "rest", "target_mc": 34_001, "wall_mc": 34_001}, "target", "34 C"),
    ("cooled", 5, {"target_mc": 32_501}, "target", "32.5 C"),
    ("cooled", 5, {"wall_mc": 34_001}, "wall", "34 C"),
    ("cooled", 3, {"kind": "seed", "seed_g": 5, "target_mc": 33_000}, "kind", "leave"),
]


@pytest.mark.parametrize(("method", "step_no", "change", "field", "right"), CASES)
def test_step_rules(method, step_no, change, field, right):
    """Each broken rule names its step and field, and says what would be right."""
    data = built(method=method)
    data["steps"][step_no - 1].update(change)
    broken = refused(data)
    assert (broken.step_no, broken.field) == (step_no, field)
    assert right in broken.message


# Common practice, no source: wall limit and cap per type in degC.
@pytest.mark.parametrize(
    ("kind", "wall_c", "cap_c"), [("dark", 34, 32.5), ("milk", 32.5, 31), ("white", 31.5, 30)]
)
def test_wall_and_cap_of_each_type(kind, wall_c, cap_c):
    """At the limit a work step is allowed, a thousandth of a degree above it is refused."""
    data = built(kind)
    data["steps"][-1].update(target_mc=round(cap_c * 1000), wall_mc=round(wall_c * 1000))
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    data["steps"][-1]["wall_mc"] += 1
    assert refused(data).field == "wall"
    data["steps"][-1].update(target_mc=round(cap_c * 1000) + 1, wall_mc=round(wall_c * 1000))
    assert refused(data).field == "target"


# Common practice, no source: hard limit of the chocolate per type in degC.
@pytest.mark.parametrize(("kind", "hard_c"), [("dark", 55), ("milk", 50), ("white", 48)])
def test_ceiling_of_each_type(kind, hard_c):
    """The schedule's ceiling may not pass the type's hard limit."""
    data = built(kind)
    assert data["ceiling_mc"] == hard_c * 1000
    data["ceiling_mc"] += 1
    assert refused(data).field == "ceiling"


def test_melt_comes_first():
    """A melt after cooling would kill the seed."""
    data = built()
    data["steps"].insert(5, dict(data["steps"][0]))
    broken = refused(data)
    assert (broken.step_no, broken.field) == (6, "kind")


def test_nothing_but_work_and_rewarm_after_work():
    """A cool after work is refused, a second work step is not."""
    data = built()
    data["steps"].insert(5, dict(data["steps"][5]))
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    data["steps"].insert(6, dict(data["steps"][4]))
    assert refused(data).step_no == 7


def test_seeded_needs_a_seed_step():
    """The method says seeded, so there must be seed."""
    data = built()
    del data["steps"][3]
    assert refused(data).field == "method"


def test_cooled_needs_a_low_point():
    """Cooling alone without cooling is refused."""
    data = built(method="cooled")
    del data["steps"][2:4]
    assert refused(data).field == "method"


def test_cooled_needs_a_rewarm():
    """Without a rewarm after it the low point is named."""
    data = built(method="cooled")
    data["steps"][4]["kind"] = "rest"
    broken = refused(data)
    assert (broken.step_no, broken.field) == (4, "kind")
    assert "add a rewarm step" in broken.message


@pytest.mark.parametrize(
    ("step_no", "target_mc", "right"),
    [
        (5, 28_000, "the rewarm target 28 C is not above the low point 28 C; rewarm to about "
         "31 C to 32 C"),
        (5, 27_000, "the rewarm target 27 C is not above the low point 28 C; rewarm to about "
         "31 C to 32 C"),
        (6, 27_000, "the work target 27 C is not above the low point 28 C; work at about "
         "31 C to 32 C"),
    ],
)  # fmt: skip
def test_a_rewarm_below_the_usual_is_what_is_wrong(step_no, target_mc, right):
    """The low point is as usual (28, of dark): the later step is named, with the usual range."""
    data = built(method="cooled")
    data["steps"][step_no - 1]["target_mc"] = target_mc
    broken = refused(data)
    assert (broken.step_no, broken.field) == (step_no, "target")
    assert right in broken.message


def test_a_cool_step_does_not_warm():
    """31 C, then `cool` to 31.5 C: a contradiction, named with what would be right; a cool step
    that only stays is allowed."""
    data = built(method="cooled")
    data["steps"][2]["target_mc"] = 30_000
    data["steps"].insert(3, {**data["steps"][2], "target_mc": 30_500})
    broken = refused(data)
    assert (broken.step_no, broken.field) == (4, "target")
    assert "30.5 C is warmer than the 30 C of the step before" in broken.message
    assert 'cool to 30 C or below, or make it a step of kind "rewarm"' in broken.message
    data["steps"][3]["target_mc"] = 30_000
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})


def test_a_hot_bowl_that_begins_wrongly_is_told_what_to_write():
    """One sentence that cannot be read the other way round."""
    data = built(start="hot")
    data["steps"][0]["kind"] = "melt"
    assert '"melt" cannot be the first step of a bowl that is fed hot; begin with a step of ' in (
        refused(data).message
    )


def test_low_point_must_be_below_work():
    """A lowest cool step at the work target makes no crystals; the lowest of them is named."""
    data = built(method="cooled")
    data["steps"][2]["target_mc"] = 33_000
    data["steps"][3]["target_mc"] = 31_500
    broken = refused(data)
    assert (broken.step_no, broken.field) == (4, "target")
    assert "about 28 C" in broken.message


@pytest.mark.parametrize(
    ("method", "start"),
    [("kept", "solid"), ("kept", "hot"), ("seeded", "in_temper"), ("cooled", "in_temper")],
)
def test_in_temper_and_kept_go_together(method, start):
    """Only chocolate still in temper is kept, and it is not melted."""
    data = built(method=method, start="in_temper" if method == "kept" else "solid")
    data["start"] = start
    assert refused(data).field == "start"


@pytest.mark.parametrize(
    ("window", "words"), [((32_000, 31_000), "below"), ((31_000, 32_501), "32.5 C")]
)
def test_window(window, words):
    """A window is low to high and ends at the cap."""
    data = built()
    data["window"] = {"low_mc": window[0], "high_mc": window[1]}
    assert words in refused(data).message


def test_a_rest_in_temper_stays_under_the_cap():
    """Chocolate still in temper loses it in a rest above the cap as in work."""
    data = built(method="kept", start="in_temper")
    data["steps"].insert(0, {**data["steps"][0], "kind": "rest", "target_mc": 32_501})
    broken = refused(data)
    assert (broken.step_no, broken.field) == (1, "target")
    assert "at or below 32.5 C" in broken.message


def test_a_rest_after_the_low_point_stays_under_the_cap():
    """Crystals made by cooling alone are in the bowl from the low point on."""
    data = built(method="cooled")
    rest = {**data["steps"][3], "kind": "rest", "target_mc": 32_501, "wall_mc": 34_000}
    data["steps"].insert(4, rest)
    broken = refused(data)
    assert (broken.step_no, broken.field) == (5, "target")


# By hand: 10 % of milk fat in dark takes 0.8 off 32.5 and 34.
@pytest.mark.parametrize(
    ("change", "field", "right"),
    [
        ({"target_mc": 31_701, "wall_mc": 33_000}, "target", "at or below 31.7 C"),
        ({"target_mc": 31_700, "wall_mc": 33_201}, "wall", "at or below 33.2 C"),
    ],
)
def test_milk_fat_lowers_cap_and_wall(change, field, right):
    """A dark with a tenth of milk fat in its fat is held to lower limits than a plain one."""
    data = built(milk_fat_permille=100)
    data["steps"][-1].update(target_mc=31_700, wall_mc=33_200)
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    data["steps"][-1].update(change)
    assert (refused(data).field, right in refused(data).message) == (field, True)


@pytest.mark.parametrize("kind", TYPES)
def test_hot_is_an_explicit_choice(kind):
    """A ceiling of 60 is for `start = "hot"` alone; 60.001 is for nobody."""
    data = built(kind, start="hot")
    assert data["ceiling_mc"] == 60_000
    data["start"] = "liquid"
    assert 'start = "hot"' in refused(data).message
    with pytest.raises(ValidationError):
        ScheduleFile.model_validate({**data, "start": "hot", "ceiling_mc": 60_001})


def test_a_bowl_fed_hot_begins_with_cooling():
    """The first step of a hot start is a cool or a rest, never heat; the message says which."""
    data = built(start="hot")
    data["steps"][0]["kind"] = "rest"
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    data["steps"][0]["kind"] = "melt"
    broken = refused(data)
    assert (broken.step_no, broken.field) == (1, "kind")
    assert 'begin with a step of kind "cool"' in broken.message


def test_no_step_of_a_hot_start_keeps_it_hot():
    """The ceiling of 60 is for the feeding; targets stay at the type's hard limit of 50."""
    data = built("milk", start="hot")
    data["steps"][0].update(target_mc=50_001)
    broken = refused(data)
    assert (broken.step_no, broken.field) == (1, "target")
    assert "50.001 C spoils milk chocolate; keep it at or below 50 C" in broken.message


def test_total_is_at_most_twelve_hours():
    """Holds and waits together are at most 12 h."""
    data = built()
    for step in data["steps"]:
        step["hold_s"] = 7000
    ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})  # 42,000 + 900 s
    data["steps"][0]["hold_s"] += 301
    assert "12 h" in refused(data).message


def test_python_values_are_strict():
    """A text, a truth value or a part of a milli-degree is no temperature."""
    for value in ("31500", True, 31_500.5, float("nan"), None):
        data = built()
        data["steps"][5]["target_mc"] = value
        with pytest.raises(ValidationError):
            ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})


def test_usual_schedules_have_no_warnings():
    """What the maker makes is never called unusual."""
    for kind in TYPES.values():
        assert warnings(make(kind, BENCH_RIG, 2000)) == []
        assert warnings(make(kind, BENCH_RIG, 2000, "cooled")) == []
        assert warnings(make(kind, BENCH_RIG, 2000, "kept", "in_temper")) == []


@pytest.mark.parametrize(
    ("method", "step_no", "change", "words"),
    [
        ("seeded", 1, {"target_mc": 44_000}, "outside the usual 45 C to 55 C"),
        ("seeded", 6, {"target_mc": 30_500}, "window"),
        ("seeded", 4, {"seed_g": 250}, "10 %"),
        ("seeded", 4, {"target_mc": 32_500}, "outside the usual 33 C to 34 C"),
        ("cooled", 4, {"target_mc": 26_500}, "outside the usual 27 C to 29 C"),
        ("cooled", 4, {"rate_mc_per_min": 600}, "0.5 C/min"),
    ],
)
def test_warnings(method, step_no, change, words):
    """What is allowed but unusual is said once, with the figure."""
    data = built(method=method)
    data["steps"][step_no - 1].update(change)
    schedule = ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    assert any(words in warning for warning in warnings(schedule))
    told = " ".join(warnings(schedule, fahrenheit=True))
    assert not re.search(r"\d C\b|°C", told)


def test_warnings_in_fahrenheit():
    """44 °C is 111.2 °F, 45 to 55 are 113 to 131; 0.6 °C a minute is 1.08 °F."""
    data = built(method="cooled")
    data["steps"][0]["target_mc"] = 44_000
    data["steps"][3]["rate_mc_per_min"] = 600
    schedule = ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    melt, cool = warnings(schedule, fahrenheit=True)
    assert "at 111.2 °F is outside the usual 113 °F to 131 °F" in melt
    assert "at up to 1.08 °F/min; above 0.9 °F/min" in cool


def test_a_hot_ceiling_is_told_twice():
    """What only a bowl fed hot may do is pointed out, with both figures."""
    (warning,) = warnings(make(TYPES["white"], BENCH_RIG, 2000, "seeded", "hot"))
    assert "up to 60 C" in warning
    assert "48 C" in warning


def test_a_liquid_start_that_is_never_melted_out():
    """A liquid start straight into cooling may carry old crystals: allowed, and said."""
    data = built(start="liquid")
    data["steps"] = data["steps"][2:]
    schedule = ScheduleFile.model_validate({**data, "steps": tuple(data["steps"])})
    assert any("No step reaches 40 C" in warning for warning in warnings(schedule))


def test_rule_broken_is_an_input_error():
    """A broken rule ends the command with exit code 2."""
    assert issubclass(RuleBroken, InputError)
    assert RuleBroken(3, "target", "read", "right").message == "step 3, target: read; right."
