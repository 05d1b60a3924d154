"""Causes: what each figure is read from, and what the rules make of it."""

from types import SimpleNamespace

import numpy as np
import pytest

from snapgloss.base.errors import InputError
from snapgloss.base.units import f_from_c
from snapgloss.chocolate.types import DARK
from snapgloss.quality import causes
from snapgloss.quality.causes import SYMPTOMS, causes_of, rules, show_figure
from snapgloss.quality.causes_curve import READERS, Curve, Sign, Usual, habits, signs_of
from snapgloss.quality.causes_told import Told, signs_told
from snapgloss.quality.columns import Columns
from snapgloss.quality.grades import Standing
from snapgloss.quality.trays import Tray
from snapgloss.runs.why import is_alike, symptoms_of

from .build import Run

AGAINST = {"probe_high_k", "probe_low_k", "gap_share", "fan_lost_share"}
TOLD = {
    "fridge_c", "mould_c", "store_high_c", "store_humidity_percent", "remelt_share",
    "store_swing_k", "mould_dew_k", "bar_dew_k", "trays_at_once", "tray_least_min",
    "crystals_share",
}  # fmt: skip


def curve(run: Run, low_mc: int | None = None, stir: float = 900.0) -> Curve:
    """A dark bowl of 2 kg as recorded."""
    stirred = np.full(len(run.readings), stir)
    return Curve(Columns(run.readings), stirred, run.events, DARK, low_mc, 2000)


def cooled(lowest_mc: int = 28_000, dwell_s: int = 480) -> Run:
    """Melt, a fall, a dwell at the lowest, a rewarm, work."""
    return (
        Run().stay("melting", 900, 48_000).stay("cooling", 300, 34_000)
        .stay("seeding", dwell_s, lowest_mc).stay("rewarming", 240, 30_000)
        .stay("working", 600, 31_500)
    )  # fmt: skip


def keys(symptoms, signs, smear=None):
    """The causes named, in their order."""
    return [one.key for one in causes_of(symptoms, signs, smear)]


def test_every_figure_of_a_rule_is_read_somewhere():
    """A figure that nothing gives would never count; every mark a rule names is one."""
    for rule in rules().rules:
        assert set(rule["symptoms"]) <= set(SYMPTOMS)
        assert rule["place"] in causes.PLACES
        for sign in rule["signs"]:
            assert sign["figure"] in {*READERS, *AGAINST, *TOLD}
        assert set(rule.get("ahead_of", ())) <= {one["key"] for one in rules().rules}


def test_a_good_batch_gives_no_cause_whatever_is_complained_of():
    """Each mark by itself: nothing is named by a figure."""
    signs = signs_of(curve(cooled(), 28_000), None)
    for mark in SYMPTOMS:
        assert not [one for one in causes_of([mark], signs, "good") if one.sign]


def test_no_symptom_no_cause():
    """Whatever the figures say."""
    assert causes_of([], {"low_over_k": Sign(3.0)}) == []


def test_the_low_point_missed_is_seen_and_where():
    """1.5 °C over it: the stretch is the dwell, minutes 20 to 28."""
    found = causes_of(["film", "soft"], signs_of(curve(cooled(29_500), 28_000), None))
    assert found[0].key == "low_missed"
    assert found[0].sign == Sign(1.5, 1_200_000, 1_920_000)  # the rewarm lies within 0.5 °C


def test_a_short_dwell_is_counted_in_minutes():
    """2 min: named; 8 min: not."""
    short = signs_of(curve(cooled(dwell_s=120), 28_000), None)
    assert short["dwell_min"].value == pytest.approx(2.0)
    assert keys(["film", "streaks"], short) == ["dwell_short"]


def test_seed_goes_in_over_the_cap_and_that_is_no_overshoot():
    """33.5 °C before it comes down is where seed goes in; 3 K over the cap for 4 min later is."""
    run = Run().stay("cooling", 60, 34_000).tell("added", 1, 120).stay("seeding", 300, 33_500)
    run.stay("working", 60, 31_500)
    assert signs_of(curve(run), None)["over_cap_k_min"].value == 0.0
    run.stay("working", 240, 35_500)
    run.stay("working", 1, 31_500)
    sign = signs_of(curve(run), None)["over_cap_k_min"]
    assert sign == Sign(pytest.approx(12.0), 420_000, 660_000)


@pytest.mark.parametrize(
    ("grams", "named"), [(150, []), (30, ["seed_short"]), (0, ["seed_short"])]
)
def test_seed_is_held_against_what_was_asked(grams, named):
    """150 g asked: all of it is no cause, a fifth or none is."""
    run = Run().stay("cooling", 60, 34_000).tell("prompt", 2, 150).stay("seeding", 60, 33_400)
    if grams:
        run.tell("added", 1, grams)
    run.stay("working", 60, 31_500)
    assert keys(["film", "streaks"], signs_of(curve(run), None)) == named


def test_no_stirrer_at_all_is_no_stirrer_stopped():
    """Never on: on a stone. Off from the low point on: 12 min unstirred."""
    run = cooled()
    assert "still_min" not in signs_of(curve(run, 28_000, stir=0.0), None)
    stopped = curve(run, 28_000)
    stopped.stir_permille[1200:] = 0
    assert signs_of(stopped, None)["still_min"].value == pytest.approx(12.0)


def test_probe_against_probe_and_fan_against_good_batches():
    """The chocolate's probe 1 K higher against the plate, and half the fan, come out as such."""
    good, bad = _rig(0), _rig(1000, fan=0.5)
    usual = habits(good)
    assert usual is not None
    signs = signs_of(bad, usual[0])
    assert signs["probe_high_k"].value == pytest.approx(1.0, abs=0.02)
    assert signs["fan_lost_share"].value == pytest.approx(0.5, abs=0.03)
    assert signs["gap_share"].value == pytest.approx(0.0, abs=0.02)
    assert not AGAINST & set(signs_of(bad, None))


def _rig(probe_mc: int, fan: float = 1.0) -> Curve:
    """A fall by Newton's law from 48 °C in a room of 20, then work, the plate over it by heat."""
    run = Run()
    for second in range(300):
        product_mc = 20_000 + 28_000 * np.exp(-fan * second / 1500) + 0.0
        run.stay("cooling", 1, round(product_mc))
    for second in range(600):
        heat = 100 + second % 3 * 100
        plate_mc = 31_500 + heat * 6
        run.stay("working", 1, 31_500 + probe_mc, plate_mc=plate_mc, heat=heat)
    run.readings = [reading._replace(room_mc=20_000) for reading in run.readings]
    return curve(run, 28_000)


def test_a_knife_parts_bowl_from_refrigerator():
    """The same marks and figures: a good knife puts the refrigerator first, a bad one the bowl."""
    signs = {"fridge_c": Sign(17.0), "low_over_k": Sign(1.0)}
    assert keys(["soft", "no release"], signs, "good")[0] == "fridge_warm"
    assert keys(["soft", "no release"], signs, "streaks")[0] == "low_missed"


def test_what_came_of_a_cause_stands_behind_it():
    """A room of 29 °C before the low point that was missed in it."""
    signs = {"room_c": Sign(29.0), "low_over_k": Sign(2.0)}
    assert keys(["film"], signs, "not set") == ["room_warm", "low_missed"]


def test_what_is_told_becomes_figures():
    """Dew point of 22 °C and 60 %, 13.9 °C (Magnus, Sonntag 1990), against moulds and bars."""
    told = Told(fridge_c=4.0, mould_c=12.0, room_c=22.0, humidity_percent=60.0,
                store_low_c=18.0, store_high_c=27.0)  # fmt: skip
    signs = {name: sign.value for name, sign in signs_told(told).items()}
    assert signs["mould_dew_k"] == pytest.approx(1.9, abs=0.1)
    assert signs["bar_dew_k"] == pytest.approx(8.9, abs=0.1)
    assert signs["store_swing_k"] == 9.0
    assert keys(["late bloom"], signs_told(told))[0] in {"store_warm", "store_swings"}
    assert signs_told(Told()) == {}


def test_trays_are_counted_while_they_are_in():
    """Two at once of three; one still in; the shortest stay 10 min."""
    minute = 60_000
    trays = [
        Tray(1, 0, 20 * minute),
        Tray(2, 10 * minute, 20 * minute),
        Tray(3, 20 * minute, None),
    ]
    signs = signs_told(Told(), trays)
    assert (signs["trays_at_once"].value, signs["tray_least_min"].value) == (2.0, 10.0)


@pytest.mark.parametrize("wrong", [{"fridge_c": 90.0}, {"humidity_percent": float("nan")},
                                   {"store_low_c": 25.0, "store_high_c": 20.0}])  # fmt: skip
def test_what_cannot_be_is_refused(wrong):
    """A sentence, not a figure."""
    with pytest.raises(InputError):
        Told(**wrong)


def test_water_is_not_melted_away():
    """Seized chocolate is not called fit for the melt; all else is."""
    assert causes.answer(["thick"], {}, "good").remelt == ""
    assert "nothing is wrong with the chocolate" in causes.answer(["film"], {}, "good").remelt


def test_figures_are_shown_with_their_unit():
    """By the end of the name."""
    assert show_figure("fridge_c", 4.0) == "4.0 °C"
    assert show_figure("fridge_c", 4.0, fahrenheit=True) == f"{f_from_c(4.0):.1f} °F"
    assert show_figure("seed_share", 0.2) == "20 %"
    assert show_figure("trays_at_once", 9.0) == "9"


def test_usual_is_three_figures():
    """What a rig is compared by; a run without a plate probe has none."""
    assert Usual._fields == ("plate_k", "gap_k", "fan_share")
    assert habits(curve(cooled(), 28_000)) is None


def test_a_warm_room_is_no_fault_of_a_seeded_bowl():
    """29 °C keeps a bowl from its low point; a seeded one has none to come to."""
    run = cooled()
    run.readings = [reading._replace(room_mc=29_000) for reading in run.readings]
    assert signs_of(curve(run, 28_000), None)["room_c"].value == 29.0
    assert "room_c" not in signs_of(curve(run), None)


def test_the_fan_is_held_against_the_mass_it_cools():
    """3 kg fall two thirds as fast as 2 kg with the same fan: nothing is lost."""
    usual, heavy = habits(_rig(0)), _rig(0, fan=2 / 3)._replace(mass_g=3000)
    assert usual is not None
    assert signs_of(heavy, usual[0])["fan_lost_share"].value == pytest.approx(0.0, abs=0.02)


def _standing(look, verdict, *marks):
    return Standing(look, verdict, marks, 0)


@pytest.mark.parametrize(
    ("looks", "symptoms"),
    [
        ([_standing("first", "sell")], set()),
        ([_standing("first", "seconds", "film")], {"film"}),
        ([_standing("first", "sell"), _standing("week", "seconds", "film")], {"late bloom"}),
        ([_standing("month", "remelt")], {"late bloom"}),
        ([_standing("first", "remelt", "soft"), _standing("week", "remelt", "film")], {"soft"}),
        ([_standing("first", "seconds")], set()),
    ],
)
def test_good_at_first_and_bad_later_is_bloom(looks, symptoms):
    """Marks of the first look that is bad; a later one alone is bloom, whatever its mark."""
    assert symptoms_of(looks) == symptoms


def test_what_stands_in_the_bowl_after_the_last_pour_is_nobodys_fault():
    """30 °C for 10 min after the pour counts nothing; before it, 1 K for 10 min."""
    run = cooled().tell("added", 3, 1500).stay("working", 600, 30_000)
    signs = signs_of(curve(run, 28_000), None)
    assert signs["under_work_k_min"].value == pytest.approx(0.0, abs=0.02)
    assert signs["work_min"].value == pytest.approx(10.0, abs=0.02)
    run.tell("added", 3, 200).stay("working", 1, 30_000)
    assert signs_of(curve(run, 28_000), None)["under_work_k_min"].value == pytest.approx(
        10, abs=0.1
    )


@pytest.mark.parametrize(
    ("other", "alike"),
    [({}, True), ({"mass_g": 2500}, True), ({"mass_g": 2600}, False), ({"type": "milk"}, False),
     ({"method": "cooled"}, False), ({"rig": "other"}, False), ({"simulated": True}, False)],
)  # fmt: skip
def test_only_batches_alike_are_compared(other, alike):
    """One rig, method and type, mass within a quarter; simulated ones with such alone."""
    own = {"rig": "bench", "simulated": False, "method": "seeded", "type": "dark", "mass_g": 2000}
    assert is_alike(SimpleNamespace(**{**own, **other}), SimpleNamespace(**own)) is alike


def _seeded(fall_mc: int, how: int) -> Run:
    """120 g asked of a bowl of 2 kg, answered so; the chocolate falls so far at once by the lag,
    its plate with it, and 0.3 K a minute all the while."""
    run = Run().stay("cooling", 60, 34_000).tell("prompt", 2, 120)
    for second in range(240):
        if second == 100:
            run.tell("answered", 2, how)
        drop_mc = fall_mc * (1 - np.exp(-max(0, second - 90) / 8)) + 5 * second
        product_mc = round(33_600 - drop_mc)
        run.stay("seeding", 1, product_mc, plate_mc=product_mc + 300 + second % 7 * 40)
    return run.stay("working", 60, 31_500)


def test_a_press_says_that_seed_is_in_not_how_much():
    """By press, or on the page: no share, unlike a prompt that nobody answered."""
    for how in (1, 2):
        signs = signs_of(curve(_seeded(1500, how)), None)
        assert "seed_share" not in signs
        assert keys(["film", "streaks"], signs) == []
    assert signs_of(curve(_seeded(0, 4)), None)["seed_share"].value == 0.0


def test_a_dip_that_was_noticed_says_no_grams():
    """The rig writes the grams asked for; who declares 30 of 120 g is believed."""
    noticed = Run().stay("cooling", 60, 34_000).tell("prompt", 2, 120)
    noticed.tell("dip", 400, 33_000).tell("added", 1, 120).stay("working", 60, 31_500)
    assert "seed_share" not in signs_of(curve(noticed), None)
    told = Run().stay("cooling", 60, 34_000).tell("prompt", 2, 120).tell("added", 1, 30)
    assert signs_of(curve(told.stay("working", 60, 31_500)), None)["seed_share"].value == 0.25


def test_little_seed_is_seen_by_the_heat_it_drew():
    """No fall as the press came: named. By hand: 120 g of 20 °C in 2 kg take 0.77 °C to warm,
    and its fat (36 %, 137 kJ/kg, over 1.65 kJ/kg K) 1.69 °C more to melt."""
    signs = signs_of(curve(_seeded(0, 1)), None)
    assert signs["seed_drawn_share"].value == pytest.approx(0.0, abs=0.02)
    assert keys(["film", "streaks"], signs) == ["seed_short"]
    whole = signs_of(curve(_seeded(2470, 1)), None)["seed_drawn_share"].value
    assert whole == pytest.approx(1.0, abs=0.15)


def test_without_a_plate_probe_nobody_knows_how_much_seed():
    """Nothing is said of the heat drawn."""
    run = _seeded(0, 1)
    run.readings = [reading._replace(plate_mc=None) for reading in run.readings]
    assert "seed_drawn_share" not in signs_of(curve(run), None)
