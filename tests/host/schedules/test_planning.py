"""Plans: seed by the balance of heat, reasons, and what would work instead."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.base.fields import FieldRefused
from snapgloss.chocolate.description import ChocolateDescription, check_together
from snapgloss.chocolate.types import DARK, MILK, TYPES, WHITE
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.files import from_text, to_text
from snapgloss.schedules.forecast import course, forecast
from snapgloss.schedules.planning import Plan, Wish, alternatives, plan, wish_of
from snapgloss.schedules.reasons import aside, limits, reasons
from snapgloss.schedules.seeding import SHARES, landing_c, weigh_seed
from snapgloss.schedules.step_rules import RuleBroken

# The reference of the hand-worked balances: 1600 J/kg K and 46 kJ/kg.
BY_HAND = replace(DARK, own_specific_heat=1600.0, own_latent_heat=46e3)


@pytest.mark.parametrize(("melting", "landed"), [(0.0, 31.20), (0.5, 28.325), (1.0, 25.45)])
def test_seed_by_the_balance_of_heat(melting, landed):
    """1 kg at 34 and 0.25 kg at 20 degC with none, half and all melting: worked by hand."""
    found = landing_c(BY_HAND, 1000, 34.0, 250, 20.0, melting)
    assert found == pytest.approx(landed, abs=0.01)


def test_plate_and_bowl_count_as_more_chocolate():
    """By hand: 800 J/K are 0.5 kg more; (1.5*34 + 0.25*20) / 1.75 = 32.0 without melting."""
    assert landing_c(BY_HAND, 1000, 34.0, 250, 20.0, 0.0, 800.0) == pytest.approx(32.0)


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
def test_reasons_and_picture_land_the_seed_at_one_point(kind):
    """The course that is drawn ends its seeding where the reasons say, plate and bowl counted."""
    found = plan(Wish(kind, 2000), BENCH_RIG, 21.0)
    minutes, degrees = course(found.schedule, BENCH_RIG, 21.0, kind)
    number = next(n for n, step in enumerate(found.schedule.steps) if step.kind == "seed")
    ends_min = sum(row.minutes for row in found.rows[: number + 1])
    drawn_c = [c for m, c in zip(minutes, degrees, strict=True) if abs(m - ends_min) < 1e-6]
    assert drawn_c[0] == pytest.approx(found.seeding.landing_c, abs=0.01)


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
def test_usual_seed_lies_in_the_usual_range_and_lands_at_work(kind):
    """5-8 % chopped, 0.5-1 % of crystals (common practice); from a room of 20 degC the bowl comes
    down to no less than the working temperature."""
    chopped = weigh_seed(kind, 2000, 20.0)
    assert 0.05 <= chopped.share <= 0.08
    assert kind.work.default_mc / 1000 <= chopped.landing_c <= kind.seed_at_mc / 1000 - 1.0
    crystals = weigh_seed(kind, 2000, 20.0, "crystals")
    assert 0.005 <= crystals.share <= 0.01
    assert crystals.landing_c > kind.seed_at_mc / 1000 - 0.3  # powder hardly cools


def test_colder_seed_is_weighed_less():
    """From the refrigerator less goes in; never under the least share."""
    warm, cold = weigh_seed(DARK, 2000, 20.0), weigh_seed(DARK, 2000, -20.0)
    assert SHARES["chopped"].least <= cold.share < warm.share


@pytest.mark.parametrize(
    ("mass_g", "seed_c", "words"),
    [(2000, 33.5, "does not go into a bowl"), (2000, 40.0, "does not go into a bowl"),
     (2000, 31.0, "soft and has lost"), (0, 20.0, "nothing in the bowl"),
     (2000, math.nan, "does not go"), (2000, -60.0, "does not go")],
)  # fmt: skip
def test_seed_that_cannot_work_is_refused(mass_g, seed_c, words):
    """Hotter than the bowl, soft, nothing to seed: a sentence."""
    with pytest.raises(InputError) as refused:
        weigh_seed(DARK, mass_g, seed_c)
    assert words in refused.value.message


@given(
    st.sampled_from(list(TYPES.values())), st.integers(100, 15_000), st.floats(-25, 27),
    st.sampled_from(["chopped", "crystals"]), st.floats(0, 3000),
)  # fmt: skip
def test_any_seed_is_within_its_shares_or_refused(kind, mass_g, seed_c, seed_kind, bowl):
    """Shares to the rounding of the scale; the bowl lands between seed and seeding point."""
    try:
        found = weigh_seed(kind, mass_g, seed_c, seed_kind, bowl)
    except InputError:
        return
    share, step = SHARES[seed_kind], SHARES[seed_kind].round_g
    assert share.least * mass_g - step <= found.seed_g <= share.usual * mass_g + step
    assert kind.work_low_mc / 1000 <= found.landing_c < found.at_c


def test_seeded_is_the_first_choice():
    """On a fan-cooled rig: seeded, kept for what is in temper, anything else as wished."""
    assert plan(Wish(DARK, 2000), BENCH_RIG, 21.0).schedule.method == "seeded"
    kept = plan(Wish(DARK, 2000, start="in_temper"), BENCH_RIG, 21.0)
    assert (kept.schedule.method, kept.seeding, kept.seed_at_min) == ("kept", None, None)


@pytest.mark.parametrize("kind", TYPES.values(), ids=TYPES)
@pytest.mark.parametrize("method", ["seeded", "cooled", "kept"])
def test_a_plan_has_a_reason_for_every_step(kind, method):
    """One sentence for the method and one for each step with its target; limits with the cap."""
    start = "in_temper" if method == "kept" else "solid"
    made = plan(Wish(kind, 2000, method, start), BENCH_RIG, 20.0)
    words = reasons(made)
    assert len(words) == 1 + len(made.schedule.steps)
    for step, sentence in zip(made.schedule.steps, words[1:], strict=True):
        assert f"{step.target_mc / 1000:.1f} °C" in sentence
        assert sentence.endswith(".")
    assert f"{kind.cap_mc / 1000:.1f} °C" in limits(made)[0]
    assert f"{kind.wall_mc / 1000:.1f} °C" in limits(made)[1]
    assert "°F" in reasons(made, fahrenheit=True)[1]


def test_minutes_of_a_plan_are_the_forecasts():
    """Seed when the seeding temperature is reached, pour when the last step's is."""
    made = plan(Wish(DARK, 2000), BENCH_RIG, 21.0)
    rows = forecast(made.schedule, BENCH_RIG, 21.0)
    assert [row.minutes for row in made.rows] == [row.minutes for row in rows]
    assert made.seed_at_min == pytest.approx(sum(r.minutes for r in rows[:3]) + rows[3].reach_min)
    assert made.pour_at_min == pytest.approx(sum(r.minutes for r in rows[:5]) + rows[5].reach_min)
    told = aside(made)
    assert [minute for minute, _ in told] == sorted(minute for minute, _ in told)
    assert "120 g of seed. Refrigerator to 12.0 °C." in told[0][1]
    assert told[0][0] == pytest.approx(made.pour_at_min - 60.0)


def test_old_blocks_rest_longer():
    """10-20 min, old or bloomed the longer (common practice, no source)."""
    usual, old = (plan(Wish(DARK, 2000, old=old), BENCH_RIG, 21.0) for old in (False, True))
    assert (usual.schedule.steps[1].hold_s, old.schedule.steps[1].hold_s) == (600, 1200)
    assert "old or bloomed" in reasons(old)[2]


def test_own_heats_of_a_chocolate_count():
    """A chocolate with twice the latent heat melts later on the same rig."""
    usual = plan(Wish(DARK, 2000), BENCH_RIG, 21.0).rows[0].minutes
    rich = plan(Wish(replace(DARK, own_latent_heat=98e3), 2000), BENCH_RIG, 21.0).rows[0].minutes
    assert rich > usual + 10


def instead(wish: Wish, room_c: float) -> str:
    """What the refusal says would work."""
    with pytest.raises(InputError) as refused:
        plan(wish, BENCH_RIG, room_c)
    return refused.value.remedy


def test_a_warm_room_names_the_seeded_method_and_a_cooler_room():
    """28 degC does not reach the low point of 28; seeded does, and so does a room of 27."""
    remedy = instead(Wish(DARK, 2000, "cooled"), 28.0)
    assert "the seeded method" in remedy
    assert "a room of at most 27.0 °C" in remedy
    assert plan(Wish(DARK, 2000, "seeded"), BENCH_RIG, 28.0)
    assert plan(Wish(DARK, 2000, "cooled"), BENCH_RIG, 27.0)
    assert "seeded" not in instead(Wish(DARK, 2000, "cooled"), 34.0)  # that would not work either


def test_a_room_too_warm_for_the_seed_names_cooler_seed():
    """At 30.5 degC the seed is soft; kept at 20 it works in the same room."""
    assert "seed kept at 20.0 °C" in instead(Wish(DARK, 2000), 30.5)
    assert plan(Wish(DARK, 2000, seed_c=20.0), BENCH_RIG, 30.5)


@pytest.mark.parametrize(
    ("kind", "room_c", "most_c"),
    [(DARK, 31.0, 30.0), (DARK, 35.0, 30.0), (DARK, 45.0, 30.0), (MILK, 35.0, 28.0),
     (WHITE, 35.0, 27.0)],
)  # fmt: skip
def test_a_room_hotter_than_the_target_is_named_with_the_warmest_that_works(kind, room_c, most_c):
    """The room is the cause, not the seed in it; what is named works, 0.1 degC more does not."""
    with pytest.raises(InputError) as refused:
        plan(Wish(kind, 2000), BENCH_RIG, room_c)
    assert refused.value.message.startswith(f"A room of {room_c:.1f} °C is too warm")
    assert f"a room of at most {most_c:.1f} °C" in refused.value.remedy
    assert plan(Wish(kind, 2000), BENCH_RIG, most_c)
    with pytest.raises(InputError):
        plan(Wish(kind, 2000), BENCH_RIG, most_c + 0.1)


@pytest.mark.parametrize("room_c", [-40.0, 60.0, math.nan])
def test_a_room_that_cannot_be_is_named_as_one(room_c):
    """Not as seed, which is as cold or as hot."""
    with pytest.raises(InputError, match="A room of"):
        plan(Wish(DARK, 2000), BENCH_RIG, room_c)


def test_too_much_for_the_fan_names_less():
    """What is named works, and 100 g more does not."""
    wish = Wish(DARK, 6000, "cooled")
    weak = BENCH_RIG.model_copy(update={"fan_loss_w_per_k": 1.0})
    with pytest.raises(InputError) as refused:
        plan(wish, weak, 25.0)
    words = next(w for w in alternatives(wish, weak, 25.0) if "at a time" in w)
    assert words in refused.value.remedy
    most_g = round(float(words.split()[2]) * (1000 if "kg" in words else 1))
    assert plan(replace(wish, mass_g=most_g), weak, 25.0)
    with pytest.raises(InputError):
        plan(replace(wish, mass_g=most_g + 100), weak, 25.0)


def test_too_much_for_the_bowl_names_what_fits():
    """6 kg is what the bench rig holds."""
    assert "at most 6 kg at a time" in instead(Wish(DARK, 12_000), 21.0)


@given(
    st.builds(
        ChocolateDescription,
        name=st.just("x"),
        type=st.sampled_from(list(TYPES)),
        fat_permille=st.none() | st.integers(150, 650),
        milk_fat_permille=st.none() | st.integers(0, 400),
        milk_powder_permille=st.none() | st.integers(0, 400),
        butter_oil_permille=st.none() | st.integers(0, 150),
        depression_mk=st.none() | st.integers(0, 5000),
        work_cap_mc=st.none() | st.integers(25_000, 33_800),
        wall_cap_mc=st.none() | st.integers(25_000, 34_000),
        latent_heat_j_per_kg=st.none() | st.integers(20_000, 110_000),
    ),
    st.sampled_from(["seeded", "cooled"]),
)
@settings(deadline=None, max_examples=100)
def test_any_description_gives_a_schedule_within_its_own_caps(chocolate, method):
    """From the seed or the low point on, no target and no wall above what the description says;
    what the file says of it is refused by no rule."""
    try:
        check_together(chocolate)
        made = plan(wish_of(chocolate, 2000, method=method), BENCH_RIG, 18.0)
    except (FieldRefused, InputError) as refused:
        assert not isinstance(refused, RuleBroken)
        return
    kind = chocolate.chocolate_type
    for step in made.schedule.steps:
        if step.kind in ("rewarm", "work"):
            assert step.target_mc <= kind.cap_mc
            assert step.wall_mc <= kind.wall_mc
    assert from_text(to_text(made.schedule)) == made.schedule


@pytest.mark.parametrize(
    ("wish", "room_c"),
    [(Wish(DARK, 0), 21.0), (Wish(DARK, 2000), 40.0), (Wish(DARK, 2000), math.nan),
     (Wish(WHITE, 2000, seed_c=32.0), 21.0), (Wish(MILK, 2000, "seeded", "in_temper"), 21.0),
     (Wish(DARK, 2000, "cooled"), 45.0)],
)  # fmt: skip
def test_what_cannot_work_is_refused(wish, room_c):
    """Zero mass, a room hotter than the target, seed hotter than the bowl: a sentence."""
    with pytest.raises(InputError):
        plan(wish, BENCH_RIG, room_c)


@given(
    st.sampled_from(list(TYPES.values())), st.integers(-100, 20_000),
    st.sampled_from([None, "seeded", "cooled", "kept"]),
    st.sampled_from(["solid", "liquid", "in_temper", "hot"]),
    st.floats(-20, 50), st.none() | st.floats(-40, 50),
)  # fmt: skip
@settings(deadline=None, max_examples=60)
def test_any_wish_gives_a_plan_or_a_refusal(kind, mass_g, method, start, room_c, seed_c):
    """Nothing but a Plan or an InputError; minutes in order and finite."""
    try:
        made = plan(Wish(kind, mass_g, method, start, seed_c=seed_c), BENCH_RIG, room_c)
    except InputError as refused:
        assert refused.message
        return
    assert isinstance(made, Plan)
    assert 0 <= made.aside_min <= made.pour_at_min < 16 * 60
    if made.seed_at_min is not None:
        assert made.seed_at_min < made.pour_at_min
