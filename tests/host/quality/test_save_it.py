"""The save-it card: each sign by hand-made readings, each figure by hand."""

import re
from pathlib import Path
from string import Formatter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigwire.states import STATES
from rigwire.tables import ADDITIONS, ANSWERED_BY, EVENT_NAMES, PROMPTS
from snapgloss.base.records import Event, Reading
from snapgloss.chocolate.crystals import Crystals
from snapgloss.chocolate.types import DARK, MILK, TYPES, WHITE
from snapgloss.quality.save_it import card_after, card_now, rules
from snapgloss.quality.save_it_bowl import gaps_of
from snapgloss.quality.save_it_signs import SIGNS

from .build import Run

SEED, TOP_UP, POUR = (ADDITIONS.index(name) for name in ("seed", "top_up", "pour"))
SEED_IN = PROMPTS.index("seed_in")
BY_DEFAULT, BY_PRESS = (ANSWERED_BY.index(name) for name in ("safe_default", "press"))


def now(run, thick=False, kind=DARK, work_mc=31_500, **more):
    """The card of 2 kg on the way."""
    return card_now(run.readings, run.events, kind, 2000, work_mc, thick=thick, **more)


def after(run, **more):
    """The card of 2 kg of dark, when all is over."""
    return card_after(run.readings, run.events, DARK, 2000, 31_500, **more)


def seeded():
    """A batch with its seed in, and a minute of good work."""
    run = Run().stay("melting", 60, 48_000).stay("seeding", 60, 33_500)
    return run.tell("added", SEED, 120).stay("working", 60, 31_500)


def test_a_good_batch_has_no_card():
    """Nothing is said where nothing is wrong, on the way and afterwards; nor of no batch."""
    run = seeded().stay("working", 2400, 31_600, plate_mc=33_000)
    assert now(run) is None
    assert after(run) is None
    assert now(Run()) is None


def test_over_the_cap_for_a_short_time():
    """33.0 for 95 s: by hand 0.5 and 1 % of 2000 + 120 g are 10.6 and 21.2 g of seed."""
    card = now(seeded().stay("working", 95, 33_000).stay("working", 30, 31_900))
    assert card.key == "over_cap_short"
    assert card.what == (
        "The chocolate was up to 33.0 °C, for 95 s over the 32.5 °C that dark chocolate bears in "
        "temper."
    )
    assert card.now == (
        "When it is back at 31.5 °C, stir in 11 g to 21 g of grated seed for 5 min, then dip a "
        "knife."
    )
    assert card.give_up == (
        "If the knife has not set in 5 min, start again from the melt at 48.0 °C; nothing is "
        "wrong with the chocolate."
    )
    assert card.source == "common practice, no source"
    assert card.figures == {
        "peak_mc": 33_000, "over_s": 95.0, "cap_mc": 32_500, "work_mc": 31_500,
        "seed_least_g": 11, "seed_most_g": 21, "mix_s": 300, "knife_s": 300, "melt_mc": 48_000,
    }  # fmt: skip


@pytest.mark.parametrize(("seconds", "key"), [(59, None), (60, "over_cap_short")])
def test_a_minute_over_the_cap_counts(seconds, key):
    """59 s is noise, 60 s is told; the cap itself is no overshoot."""
    run = seeded().stay("working", 900, 32_500).stay("working", seconds, 32_501)
    card = now(run.stay("working", 10, 31_500))
    assert (card.key if card else None) == key


@pytest.mark.parametrize(
    ("product_mc", "seconds", "key"),
    [
        (34_501, 149, "over_cap_short"),
        (34_501, 150, "over_cap_far"),
        (34_500, 599, "over_cap_short"),  # more than 34.5 counts as far
        (34_001, 600, "over_cap_long"),
        (34_000, 1100, "over_cap_short"),
    ],
)
def test_when_seed_is_past_saving(product_mc, seconds, key):
    """2.0 over the cap of 32.5 for 2.5 min, or 1.5 over for 10 min, is a melt; less is seed."""
    card = now(seeded().stay("working", seconds, product_mc).stay("working", 10, 31_500))
    assert card.key == key
    if key != "over_cap_short":
        assert "melt at 48.0 °C, rest 10 min" in card.now
        assert card.give_up == "Nothing is wrong with the chocolate."


# The own crystal model of the kind in snapgloss.chocolate.crystals; it checks that card and model
# agree, not nature.
@pytest.mark.parametrize(
    ("at_c", "minutes", "most", "least"),
    [(34.5, 2.5, 0.009, 0.0), (34.0, 10, 0.008, 0.0), (33.5, 10, 1.0, 0.019)],
)
def test_the_model_agrees_on_what_is_past_saving(at_c, minutes, most, least):
    """Of 2 % of seed less than half is left at the bounds, and all of it a little below them."""
    crystals = Crystals(0.02)
    for _ in range(round(minutes * 60)):
        crystals.step(1.0, at_c, 1.0)
    assert least <= crystals.v <= most


def test_seed_after_the_overshoot_closes_the_card():
    """What was put right is not spoken of again, on the way or afterwards."""
    run = seeded().stay("working", 95, 33_000).stay("working", 60, 31_500)
    assert now(run).key == after(run).key == "over_cap_short"
    run.tell("added", SEED, 20).stay("working", 60, 31_500)
    assert now(run) is None
    assert after(run) is None


def test_a_card_fades_on_the_way_and_not_afterwards():
    """20 min after all is well again the live card is gone; the record still has it."""
    run = seeded().stay("working", 95, 33_000).stay("working", 1200, 31_500)
    assert now(run).key == "over_cap_short"
    run.stay("working", 2, 31_500)
    assert now(run) is None
    assert after(run).key == "over_cap_short"


def test_the_way_down_from_the_seed_is_no_overshoot():
    """In `working` the bowl may still come down from 33.5: the cap counts from when it was met."""
    run = Run().stay("seeding", 60, 33_500).tell("added", SEED, 120)
    run.stay("working", 300, 33_200).stay("working", 600, 31_500)
    assert now(run) is None


def test_chocolate_kept_in_temper_is_judged_from_its_first_minute():
    """Said to be in temper and put in at 40: its seed is gone, however well it is held after."""
    run = Run().stay("working", 180, 40_000).stay("working", 600, 31_500)
    assert now(run).key == "over_cap_far"
    assert after(run).key == "over_cap_far"


def test_each_type_has_its_own_cap():
    """31.6 for 10 min is work for dark, over the cap of 31 for milk, 1.6 over 30 for white."""
    run = Run().stay("working", 60, 29_000).stay("working", 601, 31_600)
    assert now(run) is None
    assert now(run, kind=MILK, work_mc=29_800).key == "over_cap_short"
    assert now(run, kind=WHITE, work_mc=28_800).key == "over_cap_long"
    lowered = DARK.with_milk_fat(0.12)  # 32.5 - 0.96 = 31.54
    assert now(run, kind=lowered).key == "over_cap_short"


def test_hands_in_the_bowl_and_gaps_do_not_count():
    """A scraped wall reads warm, a gap reads nothing: neither is an overshoot."""
    run = seeded().stay("hands_in", 300, 34_800).stay("working", 30, 31_500)
    assert now(run) is None
    run = seeded().stay("working", 1, 33_000).lose(300).stay("working", 30, 31_500)
    assert now(run) is None


def test_too_cold_for_too_long():
    """11 min at 29.4, under the 30 where dark thickens."""
    card = now(seeded().stay("working", 660, 29_400).stay("working", 5, 30_500))
    assert card.key == "too_cold_long"
    assert card.what == (
        "The chocolate was down to 29.4 °C, for 11 min under the 30.0 °C where dark chocolate "
        "thickens."
    )
    assert "warm to 31.5 °C by 1.0 °C a minute at most, stir 5 min" in card.now
    assert now(seeded().stay("working", 599, 29_400)) is None


def test_a_cold_low_point_is_meant():
    """Cooling alone goes down to 28 on purpose, in `cooling`: no card."""
    run = Run().stay("melting", 60, 48_000).stay("cooling", 1200, 28_000)
    assert now(run.stay("rewarming", 200, 30_500).stay("working", 60, 31_500)) is None


def test_too_thick():
    """By hand: 1820 g left, 5 % is 91 g; (40 - 31.5) 91 / 1911 = 0.405 K; next time 31.8."""
    run = seeded().tell("added", POUR, 200).tell("added", POUR, 100).stay("working", 5, 31_500)
    assert now(run) is None
    card = now(run, thick=True)
    assert card.key == "too_thick"
    assert card.what == "It is thick at 31.5 °C: crystals have grown."
    assert card.now == (
        "Stir in 91 g of melted chocolate at 40.0 °C, which warms the bowl by about 0.4 °C, wait "
        "5 min, and dip a knife; next time work at 31.8 °C."
    )
    assert card.figures["rise_k"] == pytest.approx(0.4047, abs=0.0001)


def test_a_top_up_never_passes_the_cap():
    """At 32.3: 1000 (32.5 - 32.3) / (40 - 32.5) = 26.7 g lands at the cap, not 50 g."""
    run = Run().stay("working", 60, 32_300)
    card = card_now(run.readings, run.events, DARK, 1000, 31_500, thick=True)
    assert (card.key, card.figures["top_up_g"]) == ("too_thick", 26)
    assert 32_300 + 1000 * card.figures["rise_k"] <= 32_500


def test_raising_ends_at_the_cap():
    """Milk at 30.8 would be worked at 31.1 next; its cap is 31."""
    run = Run().stay("working", 60, 30_800)
    card = now(run, thick=True, kind=MILK, work_mc=30_800)
    assert card.figures["raised_mc"] == 31_000


def test_thick_because_it_is_cold():
    """A bowl that has set at 22.8: no 5 % of warm chocolate thins it, and the card says why. From
    28.0 on, two degrees under the 30 of dark, it is thick from crystals."""
    card = now(Run().stay("off", 60, 22_800), thick=True)
    assert card.key == "set_cold"
    assert card.what == (
        "It is at 22.8 °C, far below the 30.0 °C where dark chocolate is worked: it is thick "
        "because it is cold."
    )
    assert card.now.startswith("Start again: melt at 48.0 °C")
    assert now(Run().stay("off", 60, 22_800)) is None
    assert now(Run().stay("working", 60, 27_900), thick=True).key == "set_cold"
    assert now(Run().stay("working", 60, 28_000), thick=True).key == "too_thick"


def test_thick_at_the_cap():
    """Nothing warm goes in at 32.4: down to work first; then 5 % of 2120 g is 106 g."""
    card = now(seeded().stay("working", 30, 32_400), thick=True)
    assert card.key == "thick_at_cap"
    assert card.now.startswith(
        "Let it come down to 31.5 °C, then stir in 106 g of melted chocolate at 40.0 °C"
    )
    assert "water" in card.give_up


@pytest.mark.parametrize(
    "run",
    [
        seeded().stay("working", 900, 24_000),
        seeded().stay("hands_in", 900, 24_000),
        seeded().stay("hands_in", 900, 24_000).stay("working", 60, 26_000),
        seeded().stay("hands_in", 1800, 28_500).stay("working", 540, 28_000),
        seeded().stay("seeding", 1200, 26_000),
        seeded().stay("cooling", 660, 27_000),
        Run().stay("cooling", 600, 28_000, target_mc=28_000).stay("rewarming", 1200, 27_000),
    ],
)
def test_too_cold_in_whatever_state(run):
    """Seed is in, or the low point is passed: pause, seed, cooling after it, a rewarm that stands
    still."""
    card = now(run)
    assert card.key == "too_cold_long"
    assert card.figures["lowest_mc"] == min(r.product_mc for r in run.readings[120:])


@pytest.mark.parametrize(
    "run",
    [
        seeded().stay("hands_in", 900, 22_000).stay("working", 30, 31_000),  # the probe was out
        seeded().stay("hands_in", 590, 24_000),
        Run().stay("melting", 60, 48_000).stay("hands_in", 1800, 24_000),
        Run().stay("rewarming", 1200, 25_000).stay("working", 60, 31_500),  # kept, from cold
        Run().stay("cooling", 900, 28_000, target_mc=28_000).stay("rewarming", 600, 29_000),
        Run().tell("added", SEED, 50).stay("cooling", 900, 28_000, target_mc=28_000),
        seeded().stay("melting", 900, 25_000),  # it is melted again
    ],
)
def test_cold_that_is_meant_or_not_the_chocolate(run):
    """No card: no crystals yet, a step that goes so low, a probe in the air, or not for long."""
    assert now(run) is None


def test_thick_is_answered_by_what_thins_it():
    """More seed makes it thicker: neither an overshoot nor a blip hides the card of thickness."""
    over = seeded().stay("working", 90, 33_300).stay("working", 60, 31_500)
    assert (now(over).key, now(over, thick=True).key) == ("over_cap_short", "too_thick")
    back = blip(seeded(), 70, 31_400)
    assert (now(back).key, now(back, thick=True).key) == ("power_warm", "too_thick")
    wall = seeded().stay("working", 120, 31_500, plate_mc=35_200).stay("working", 5, 31_500)
    assert (now(wall).key, now(wall, thick=True).key) == ("wall_hot", "too_thick")
    unseeded = forgotten(BY_DEFAULT)
    assert now(unseeded, thick=True).key == "thick_at_cap"
    late = blip(seeded(), 1560, 29_200)
    assert now(late, thick=True).key == "power_cold"


def test_what_made_it_thick_comes_first():
    """Too cold for long explains thick: one card, and it is that one."""
    assert now(seeded().stay("working", 660, 29_400), thick=True).key == "too_cold_long"


def forgotten(how):
    """A batch whose prompt for 120 g of seed was answered in a way."""
    run = (
        Run().stay("seeding", 60, 33_500).tell("prompt", SEED_IN, 120).stay("seeding", 600, 33_500)
    )
    return run.tell("answered", SEED_IN, how).stay("cooling", 60, 32_900)


def test_seed_forgotten():
    """Asked, waited, nobody: the grams of the schedule, and how warm the bowl may be for them."""
    card = now(forgotten(BY_DEFAULT))
    assert card.key == "seed_forgotten"
    assert card.what == (
        "The rig asked for 120 g of seed and nobody put any in; the chocolate is at 32.9 °C."
    )
    assert card.now == (
        "Put 120 g of grated or chopped seed in at 34.0 °C or below, stir 5 min, then dip a knife."
    )


def test_seed_that_came_is_not_forgotten():
    """Answered by a press, added late, or noticed as a dip: no card."""
    assert now(forgotten(BY_PRESS)) is None
    assert now(forgotten(BY_DEFAULT).tell("added", SEED, 120).stay("working", 5, 31_500)) is None
    assert now(forgotten(BY_DEFAULT).tell("dip", 600, 32_300).stay("working", 5, 31_500)) is None


def blip(run, seconds, product_mc, state="working"):
    """The rig starts anew, offers, is started again, and goes on."""
    run.lose(seconds).tell("boot").tell("offer", 5, product_mc)
    return (
        run.stay("off", 20, product_mc)
        .tell("carried_on", 5, product_mc)
        .stay(state, 30, product_mc)
    )


def test_power_came_back_in_time():
    """70 s without power and 20 s of offer: 31.5 to 31.1, where seed lives."""
    card = now(blip(seeded(), 70, 31_100))
    assert card.key == "power_warm"
    # 1 s of the last reading, 70 s lost, 20 s in `off`
    assert card.what == (
        "The rig stood still for 91 s, and the chocolate went from 31.5 °C to 31.1 °C, where its "
        "seed lives."
    )
    assert "11 g to 21 g of grated seed" in card.give_up


def test_how_long_a_simulated_rig_was_without_power_is_not_said():
    """The host's clock times it, and a simulated rig's runs faster. A stop within one boot is
    timed by the rig itself."""
    card = now(blip(seeded(), 70, 31_100), simulated=True)
    assert card.what.startswith("The rig stood still for a while, and the chocolate went from")
    assert "still_s" not in card.figures
    stopped = seeded().tell("stop", 8, 0).stay("stopped", 600, 29_000)
    assert "stood still for 10 min" in now(stopped, simulated=True).what


def test_power_came_back_late():
    """26 min without power: 29.2 is below the 30 where it thickens."""
    card = now(blip(seeded(), 1560, 29_200))
    assert card.key == "power_cold"
    assert "stood still for 26 min, and the chocolate went from 31.5 °C to 29.2 °C" in card.what


def test_power_came_back_before_the_seed():
    """In the melt nothing is lost once the rig goes on: no card."""
    run = Run().stay("melting", 60, 44_000)
    assert now(blip(run, 70, 43_500, "melting")) is None


def test_the_offer_stands():
    """110 s of the 120 are left: press start; and the card of a batch that is over says other."""
    run = seeded().lose(60).tell("boot").tell("offer", 5, 31_000).stay("off", 11, 31_000)
    card = now(run)
    assert card.key == "carry_on"
    assert card.now == "Press start on the rig within 110 s."
    assert after(run).key == "power_off"
    assert now(run.stay("off", 110, 30_800)).key == "power_off"


@pytest.mark.parametrize(
    ("state", "key"), [("melting", "power_melting"), ("working", "power_off")]
)
def test_nothing_is_said_before_the_rig_knows_whether_it_can_carry_on(state, key):
    """Just back from a power cut: no card that says to start anew, for an offer may come; after
    20 s without one the card comes, and at once for a batch that is over."""
    run = Run().stay(state, 60, 31_500).lose(60).tell("boot").stay("off", 15, 31_000)
    assert now(run) is None
    assert after(run).key == key
    assert now(run.stay("off", 7, 31_000)).key == key


def test_stopped_in_the_melt():
    """A stop before any seed costs time only."""
    run = Run().stay("melting", 60, 44_000).tell("stop", 8, 0).stay("stopped", 600, 41_000)
    card = now(run)
    assert card.key == "power_melting"
    assert card.what == (
        "The rig stands still, and no seed was in yet; the chocolate is at 41.0 °C."
    )


def test_stopped_at_work():
    """A stop with seed in the bowl: the method kept, from where the chocolate is now."""
    card = now(seeded().tell("stop", 3, 0).stay("stopped", 600, 28_700))
    assert card.key == "power_off"
    assert "went from 31.5 °C to 28.7 °C" in card.what
    assert "a schedule of the method kept, which warms it to 31.5 °C" in card.now


def test_just_stopped():
    """A second after the stop nothing has cooled: no time, no two equal temperatures."""
    run = seeded().tell("stop", 3, 0).stay("stopped", 2, 31_100)
    card = now(run)
    assert (card.key, card.what) == (
        "power_stop", "The rig stands still; the chocolate is at 31.1 °C.",
    )  # fmt: skip
    assert "a schedule of the method kept, which warms it to 31.5 °C" in card.now
    assert now(run.stay("stopped", 60, 30_900)).key == "power_off"


def test_readings_that_are_missing_are_no_power_cut():
    """When only the record has a gap the rig went on: nothing is said."""
    run = seeded().lose(600).stay("working", 30, 31_500)
    assert gaps_of(run.readings, run.events) == []
    assert now(run) is None


def test_the_end_is_no_power_cut():
    """Turned off or finished by itself after good work: no card."""
    for state in ("off", "finished"):
        assert after(seeded().tell("done").stay(state, 60, 31_000)) is None


def test_a_hot_wall():
    """The plate 2 min at 35.2, half a degree and more over the 34 of dark."""
    card = now(seeded().stay("working", 120, 31_500, plate_mc=35_200).stay("working", 5, 31_500))
    assert card.key == "wall_hot"
    assert card.what == (
        "The plate was up to 35.2 °C, for 2 min over the 34.0 °C where the seed at the wall of "
        "dark chocolate dies."
    )
    assert now(seeded().stay("working", 120, 31_500, plate_mc=34_500)) is None
    assert now(seeded().stay("working", 59, 31_500, plate_mc=35_200)) is None


def test_in_fahrenheit():
    """33.0 °C is 91.4 °F; a rise of 0.4 K is 0.7 °F; figures for programs stay in mC."""
    card = now(seeded().stay("working", 95, 33_000), fahrenheit=True)
    assert "up to 91.4 °F" in card.what
    assert card.figures["peak_mc"] == 33_000
    assert "by about 0.7 °F" in now(seeded(), thick=True, fahrenheit=True).now
    assert "°C" not in now(seeded().stay("working", 660, 29_400), fahrenheit=True).words


def test_every_rule_is_whole():
    """Each rule has a sign, three sentences that end, a source; nothing else, and none twice."""
    rows = rules().rules
    assert sorted(row["key"] for row in rows) == sorted(SIGNS)
    for row in rows:
        for name in ("what", "now", "give_up"):
            assert re.fullmatch(r"[A-Z{].*\.", row[name])
        assert re.search("nothing is wrong with the chocolate", row["give_up"], re.I)
        assert "common practice, no source" in row["source"]
        rest = set(row) - {"key", "what", "now", "give_up", "source"}
        assert all(isinstance(row[name], int | float) for name in rest)


def test_temperatures_in_sentences_are_figures():
    """No sentence carries a bare number: each comes from a figure with its unit."""
    for row in rules().rules:
        for name in ("what", "now", "give_up"):
            plain = "".join(text for text, *_ in Formatter().parse(row[name]))
            assert not re.search(r"\d", plain)


def test_the_page_lists_the_cards_in_their_order():
    """host/docs/save-it.md has a row for each rule, in the order in which they are tried."""
    page = Path(__file__).parents[3] / "host" / "docs" / "save-it.md"
    listed = re.findall(r"^\| `(\w+)` \|", page.read_text(encoding="utf-8"), re.M)
    assert listed == [row["key"] for row in rules().rules]


def test_shared_figures():
    """Common practice, no source: 0.5-1 % of seed, 5-10 % of top-up at about 40."""
    shared = rules().shared
    assert (shared["seed_least_share"], shared["seed_most_share"]) == (0.005, 0.01)
    assert 0.05 <= shared["top_up_share"] <= 0.10
    assert shared["top_up_mc"] == 40_000


_READINGS = st.builds(
    Reading, st.integers(0, 9), st.integers(1, 400_000), st.sampled_from(STATES),
    st.integers(0, 6), st.none(), st.none() | st.integers(20_000, 50_000),
    st.none() | st.integers(20_000, 50_000), st.none(), st.just(0), st.just(0), st.just(0),
    st.just(0),
)  # fmt: skip
_EVENTS = st.builds(
    Event, st.integers(0, 9), st.integers(0, 400_000), st.sampled_from(EVENT_NAMES),
    st.integers(0, 8), st.integers(0, 4000),
)  # fmt: skip


@given(st.lists(_READINGS, max_size=12), st.lists(_EVENTS, max_size=6), st.booleans(),
       st.sampled_from(sorted(TYPES)))  # fmt: skip
@settings(deadline=None)
def test_any_record_gives_a_whole_card_or_none(readings, events, thick, kind):
    """Whatever was recorded, a card has three sentences with no figure missing."""
    readings.sort(key=lambda r: r.at_ms)
    events.sort(key=lambda e: e.at_ms)
    for make in (card_now, card_after):
        card = make(readings, events, TYPES[kind], 2000, 29_000, thick=thick)
        assert card is None or (card.words.count("{") == 0 and card.what.endswith("."))
