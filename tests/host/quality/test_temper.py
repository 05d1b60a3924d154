"""Bands, verdict, knife and files of the temper check; figures worked out by hand beside them."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.chocolate.curve import CurveFeatures
from snapgloss.quality.temper_bands import Bands, GradedBar, bands_of, method_key
from snapgloss.quality.temper_file import own_bars, read_bars, read_curve
from snapgloss.quality.temper_smear import SmearTest, agreement, guide_lines, smear_sentence
from snapgloss.quality.temper_verdict import (
    caution_of,
    details_of,
    sentence_of,
    strip_of,
    strip_share,
    verdict_of,
)

FEATURES = CurveFeatures(1.03, 0.012, 440.0, 21.5, 0.10, 240.0, 12.0, 12.0, 0.02, 1500)


def at(ratio, **changes):
    """The features of a curve with this set ratio."""
    return dataclasses.replace(FEATURES, set_ratio=ratio, **changes)


def bars(*pairs, method="seeded"):
    """Graded bars from pairs of ratio and grade."""
    return [GradedBar(ratio, grade, method) for ratio, grade in pairs]


@pytest.mark.parametrize(
    ("ratio", "place", "near"),
    [
        (1.30, "under", None),
        (1.15, "under", "in"),
        (1.11, "in", "under"),
        (1.03, "in", None),
        (0.96, "in", "over"),
        (0.92, "over", "in"),
        (0.85, "over", None),
    ],
)
def test_bands_and_shade(ratio, place, near):
    """Edges 1.13 and 0.94, shade 0.03: from our own model, not from a measurement."""
    verdict = verdict_of(at(ratio), Bands())
    assert (verdict.place, verdict.near, verdict.borderline) == (place, near, near is not None)


def test_bands_without_bars_give_no_verdict():
    """Every sentence says "looks" and "not calibrated yet"; none says it is in temper."""
    for ratio in (1.3, 1.15, 1.11, 1.03, 0.96, 0.92, 0.85):
        said = sentence_of(verdict_of(at(ratio), bands_of([])))
        assert said.startswith("The curve looks ")
        assert said.endswith("; not calibrated yet.")
    assert sentence_of(verdict_of(at(1.11), Bands())) == (
        "The curve looks in temper, close to under: set as it should; not calibrated yet."
    )


def test_own_bars_move_an_edge_and_make_it_count():
    """Bars sell up to 1.18 and fail from 1.24: the upper edge goes between, the lower stays."""
    own = bars(
        *((r, "sell") for r in (0.99, 1.02, 1.05, 1.12, 1.15, 1.17, 1.18)),
        *((r, "remelt") for r in (1.24, 1.25, 1.28)),
    )
    moved = bands_of(own)
    assert 1.18 < moved.under_above < 1.24
    assert moved.over_below == pytest.approx(0.94, abs=0.01)
    assert (moved.sold, moved.under_calibrated, moved.over_calibrated) == (7, True, False)
    assert verdict_of(at(1.16), moved).place == "in"
    assert sentence_of(verdict_of(at(1.05), moved)).endswith("not calibrated yet.")
    both = bands_of([*own, *bars(*((r, "remelt") for r in (0.85, 0.86, 0.88)))])
    assert sentence_of(verdict_of(at(1.05), both)) == (
        "In temper, by 7 of your own bars that sold: set as it should."
    )
    assert sentence_of(verdict_of(at(1.30), moved)).startswith("Under, by 7 of your own")
    assert sentence_of(verdict_of(at(0.85), moved)).endswith("not calibrated yet.")


def test_bars_of_another_method_count_for_nothing():
    """Fine powder reads as under: its bars move only its own bands."""
    own = bars(*((1.25, "sell") for _ in range(9)), *((1.4, "remelt") for _ in range(3)))
    powder = [dataclasses.replace(bar, method="kept") for bar in own]
    assert bands_of(powder, "seeded") == Bands()
    assert bands_of(powder, "kept").under_above > 1.2


def test_one_odd_bar_moves_little_and_few_bars_calibrate_nothing():
    """A single bar graded badly in the middle is not the bowl's; four sold are too few."""
    odd = bands_of(bars((1.03, "seconds"), *((1.05, "sell") for _ in range(8))))
    assert abs(odd.over_below - 0.94) < 0.03
    assert not odd.is_calibrated("in")
    few = bands_of(bars(*((1.0, "sell"),) * 4, *((1.3, "remelt"),) * 3))
    assert not few.under_calibrated


@given(
    st.lists(
        st.tuples(st.floats(0.5, 1.8), st.sampled_from(["sell", "seconds", "remelt"])), max_size=30
    )
)
def test_edges_stay_in_order(pairs):
    """Whatever the grades: over ends below where under begins, both within 0.2 of the first."""
    found = bands_of(bars(*pairs))
    assert 0.74 <= found.over_below <= 1.14
    assert 0.93 <= found.under_above <= 1.33
    assert found.over_below < found.under_above


@pytest.mark.parametrize("fault", ["dull", "streaks", "soft", "no_release"])
def test_bars_that_failed_below_the_sold_ones_move_the_low_edge(fault):
    """All that failed lies under 1.09, all that sold over 1.12: the low edge goes between, though
    both lie above the middle of the first bands; the upper stays and is not calibrated."""
    sold = bars(*((r, "sell") for r in (1.12, 1.13, 1.14, 1.15, 1.16, 1.17)))
    failed = [GradedBar(r, "remelt", faults=frozenset({fault})) for r in (1.05, 1.06, 1.07, 1.08)]
    moved = bands_of([*sold, *failed])
    assert 1.08 < moved.over_below < 1.12
    assert moved.under_above >= 1.17
    assert (moved.under_calibrated, moved.over_calibrated) == (False, True)
    assert moved.place(1.06) == "over"


def test_among_the_sold_ones_the_fault_says_the_side():
    """Streaks at 1.02 between bars that sold from 0.98 to 1.12 count for the upper edge; dull
    ones there, which come of too many crystals as well, for the nearer, the lower."""
    sold = bars(*((r, "sell") for r in (0.98, 1.05, 1.06, 1.07, 1.08, 1.12)))
    for fault, calibrated in (("streaks", (True, False)), ("dull", (False, True))):
        failed = [GradedBar(1.02, "remelt", faults=frozenset({fault}))] * 3
        found = bands_of([*sold, *failed])
        assert (found.under_calibrated, found.over_calibrated) == calibrated


def test_nothing_is_in_temper_where_own_bars_failed():
    """Sold at 0.98 and 1.09, failed all around 1.035 between two calibrated edges: no answer
    there; away from it the bars that sold stand."""
    own = bars(
        *((0.97, "sell"),) * 6, *((1.10, "sell"),) * 6, *((1.035, "remelt"),) * 4,
        *((0.80, "remelt"),) * 6, *((1.28, "remelt"),) * 6,
    )  # fmt: skip
    found = bands_of(own)
    assert found.place(1.035) == "in" and found.is_calibrated("in")
    said = verdict_of(at(1.035), found)
    assert (said.calibrated, said.failed_near) == (False, 4)
    assert sentence_of(said) == (
        "No answer from the curve: 4 of your own bars with one like it did not sell. Go by the "
        "knife."
    )
    assert sentence_of(verdict_of(at(1.10), found)).startswith("In temper")


def test_grades_that_leave_no_room_calibrate_nothing():
    """Bars that all failed at 1.03, with streaks and without: no edge, and no answer there."""
    dull = frozenset({"dull"})
    failed = [GradedBar(1.03, "remelt", faults=frozenset({"streaks"}))] * 9
    failed += [GradedBar(1.03, "remelt", faults=dull)] * 9
    found = bands_of(failed)
    assert not any(found.is_calibrated(place) for place in ("under", "in", "over"))
    assert "In temper" not in sentence_of(verdict_of(at(1.03), found))
    assert "looks in temper" not in sentence_of(verdict_of(at(1.03), found))


def test_chopped_seed_and_crystals_have_bands_of_their_own():
    """Bars of one move nothing of the other; by its grams a batch is one or the other."""
    own = bars(*((1.25, "sell"),) * 9, *((1.4, "remelt"),) * 3, method="crystals")
    assert bands_of(own, "seeded") == Bands()
    assert bands_of(own, "crystals").under_above > 1.2
    assert method_key("seeded", 120, 2000) == "seeded"
    assert method_key("seeded", 20, 2000) == "crystals"
    assert method_key("cooled", 0, 2000) == "cooled"


def test_wrong_bars_are_refused():
    """A set ratio that is none, and an unknown method."""
    for ratio in (0.0, 3.0, float("nan"), -1.0):
        with pytest.raises(InputError, match="no set ratio"):
            bands_of(bars((ratio, "sell")))
    with pytest.raises(InputError, match="no method"):
        bands_of([], "magic")


def test_the_strip_runs_from_under_to_over():
    """More crystals further to the right; beyond its ends the mark stays on it."""
    places = [strip_of(verdict_of(at(r), Bands())).index("●") for r in (1.6, 1.2, 1.0, 0.9, 0.5)]
    assert places == sorted(places)
    assert places[0] == len("under ")
    assert strip_of(verdict_of(at(0.5), Bands())).endswith("● over")
    assert (strip_share(1.30), strip_share(0.80)) == (0.0, 1.0)
    plain = strip_of(verdict_of(at(0.5), Bands()))
    assert plain.count("▒") > 0 < plain.count("█")


def test_cautions_about_the_cold():
    """Silent when curve and word agree; else both figures, in the scale that is asked for."""
    assert caution_of(verdict_of(at(1.0), Bands())) == ""
    wrong = verdict_of(at(1.0, stated_bath_c=14.5), Bands())
    assert caution_of(wrong) == (
        "The cold was stated as 14.5 °C, but the curve heads for 12.0 °C: measure it again."
    )
    assert "58.1 °F" in caution_of(wrong, fahrenheit=True)
    unknown = verdict_of(at(1.0, stated_bath_c=None), Bands())
    assert caution_of(unknown) == "The cold was not measured; the curve heads for 12.0 °C."


def test_details_carry_their_units():
    """0.10 °C a minute is 0.18 °F a minute; 21.5 °C is 70.7 °F."""
    rows = dict(details_of(verdict_of(FEATURES, Bands())))
    assert rows["Set ratio"] == "1.03 ± 0.02"
    assert rows["Slope there"] == "0.10 °C a minute"
    shown = dict(details_of(verdict_of(FEATURES, Bands()), fahrenheit=True))
    assert shown["Slope there"] == "0.18 °F a minute"
    assert shown["Turn"].startswith("70.7 °F, 7.3 min")


@pytest.mark.parametrize(
    ("room_mc", "set_s", "streaks", "result"),
    [
        (21_000, 240, False, "good"),
        (21_000, 180, False, "good"),
        (21_000, 300, False, "good"),
        (21_000, 301, False, "slow"),
        (21_000, 179, False, "early"),
        (21_000, 240, True, "streaks"),
        (21_000, None, False, "not set"),
        (26_000, 240, False, "unsure"),
        (26_000, 240, True, "streaks"),
        (26_000, None, False, "unsure"),
        (17_000, None, False, "not set"),
        (17_000, 200, False, "unsure"),
    ],
)
def test_the_knife(room_mc, set_s, streaks, result):
    """Sets without streaks in 3-5 min at 20-22 °C (common practice, no source)."""
    test = SmearTest(room_mc, set_s, streaks)
    assert test.result == result
    said = smear_sentence(test)
    assert f"{room_mc / 1000:.1f} °C" in said
    assert said.endswith(".")
    assert "°C" not in smear_sentence(test, fahrenheit=True)


def test_impossible_knives_are_refused():
    """A room of 5 or 40 °C, a knife set in 0 s or in 11 min."""
    for room_mc, set_s in ((5_000, 240), (40_000, 240), (21_000, 0), (21_000, 660)):
        with pytest.raises(InputError):
            SmearTest(room_mc, set_s)


def test_a_warm_room_is_told_before_the_dip():
    """One line more, and in °F where asked."""
    assert len(guide_lines(21_000)) == 1
    assert "26.0 °C" in guide_lines(26_000)[1]
    assert "78.8 °F" in guide_lines(26_000, fahrenheit=True)[1]


@pytest.mark.parametrize(
    ("set_s", "streaks", "place", "borderline", "differ"),
    [
        (240, False, "in", False, False),
        (240, False, "under", False, True),
        (240, False, "under", True, False),
        (240, True, "in", False, True),
        (240, True, "under", False, False),
        (120, False, "over", False, False),
    ],
)
def test_when_knife_and_curve_differ_the_knife_is_believed(
    set_s, streaks, place, borderline, differ
):
    """Said only when both are clear and they contradict each other."""
    said = agreement(SmearTest(21_000, set_s, streaks), place, borderline)
    assert bool(said) is differ
    assert not differ or "go by the knife" in said


CURVES = {
    "plain": "0,31.5\n1,31.25\n2,\n",
    "named": "seconds,celsius\n0,31.5\n1,31.25\n2,nan\n",
    "other order": "celsius;note;seconds\n31,5;warm;0\n31,25;;1\n;gone;2\n",
    "tabs": "# sample 3\ns\tc\n0\t31.5\n1\t31.25\n2\t-\n",
    "blanks": "0 31.5\n1  31.25\n2 nan\n",
    "fahrenheit": "seconds,fahrenheit\n0,88.7\n1,88.25\n2,\n",
    "minutes": "min,c\n0,31.5\n0.0166666666666667,31.25\n0.0333333333333333,\n",
    "quoted": '"seconds","celsius"\n"0","31.5"\n"1","31.25"\n"2",""\n',
}


@pytest.mark.parametrize("kind", CURVES)
def test_curves_as_people_write_them(kind, tmp_path):
    """Each spelling gives the same three readings, the last one missing."""
    path = tmp_path / "curve.csv"
    path.write_text(CURVES[kind], encoding="utf-8")
    table = read_curve(path)
    assert table.seconds == pytest.approx([0, 1, 2], abs=1e-9)
    assert table.celsius == pytest.approx([31.5, 31.25, float("nan")], nan_ok=True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has no reading"),
        ("seconds,celsius\n", "has no reading"),
        ("a,b\n1,2\n", "line 1: name one column"),
        ("1\n2\n3\n", "line 1: give two columns"),
        ("0,31\n1,warm\n", 'line 2: the temperature reads "warm"'),
        ("0,31\nlater,30\n", 'line 2: the time reads "later"'),
    ],
)
def test_what_is_no_curve_file_names_its_line(text, words, tmp_path):
    """One sentence with file and line."""
    path = tmp_path / "curve.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"curve\.csv") as refused:
        read_curve(path)
    assert words in str(refused.value)


def test_a_large_file_is_not_read(tmp_path):
    """10 MB, and one with more rows than a curve of hours has."""
    path = tmp_path / "large.csv"
    path.write_bytes(b"0,31\n" * 2_000_000)
    with pytest.raises(InputError, match="larger than 256 kB; a curve of an hour"):
        read_curve(path)
    path.write_bytes(b"0,31\n" * 20_001)
    with pytest.raises(InputError, match="more than 20000 rows"):
        read_curve(path)
    with pytest.raises(InputError, match="no file"):
        read_curve(tmp_path / "gone.csv")


@given(st.binary(max_size=300))
def test_any_bytes_end_in_a_table_or_a_sentence(tmp_path_factory, data):
    """Nothing but InputError comes out of a strange file."""
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(data)
    for read in (read_curve, read_bars):
        try:
            read(path)
        except InputError as refused:
            assert "\n" not in str(refused)


def test_bars_from_a_file(tmp_path):
    """Ratio, grade and method; re-melt with its hyphen; seeded where nothing is said."""
    path = tmp_path / "bars.csv"
    path.write_text("set_ratio,grade,method\n1.02,sell\n1.21,re-melt,kept\n")
    assert read_bars(path) == [GradedBar(1.02, "sell"), GradedBar(1.21, "remelt", "kept")]
    for text, words in (
        ("1.02,fine\n", "grade: write sell"),
        ("9,sell\n", "set ratio: write"),
        ("1.0,sell,magic\n", "method: write seeded"),
        (",sell\n", "set ratio: write"),
    ):
        path.write_text(text)
        with pytest.raises(InputError, match="line 1") as refused:
            read_bars(path)
        assert words in str(refused.value)


def test_bars_that_failed_in_mould_or_refrigerator_move_nothing() -> None:
    """Spots and cracks alone say nothing of the bowl; with streaks beside them they do."""
    sold = [GradedBar(1.0, "sell")] * 6
    cracked = [GradedBar(1.05, "remelt", faults=frozenset({"cracks", "spots"}))] * 6
    streaky = [GradedBar(1.05, "remelt", faults=frozenset({"cracks", "streaks"}))] * 6
    assert bands_of([*sold, *cracked]) == bands_of(sold)
    assert bands_of([*sold, *streaky]).under_above < bands_of(sold).under_above
    assert bands_of([*sold, *streaky]).under_calibrated


def test_faults_and_own_bars_from_a_file(tmp_path) -> None:
    """Faults joined by +, spelled as they are said; bars.csv of the data folder, or none."""
    assert own_bars(tmp_path) == []
    (tmp_path / "bars.csv").write_text(
        "set_ratio,grade,method,faults\n1.02,sell,seeded,\n1.2,re-melt,cooled,No release + soft\n"
    )
    found = own_bars(tmp_path)
    assert found[0] == GradedBar(1.02, "sell", "seeded")
    assert found[1] == GradedBar(1.2, "remelt", "cooled", frozenset({"no_release", "soft"}))
    (tmp_path / "bars.csv").write_text("1.02,sell,seeded,wobbly\n")
    with pytest.raises(InputError, match=r"bars\.csv, line 1"):
        own_bars(tmp_path)


@pytest.mark.parametrize("edge", [1.13, 0.94])
def test_the_shade_of_an_edge_is_0_03_wide(edge):
    """Borderline to 0.03 on either side, by what the set ratio itself may be off; 0.04 is not."""
    bands = Bands("seeded")
    for off, is_near in ((0.029, True), (-0.029, True), (0.035, False), (-0.035, False)):
        assert (bands.near_edge(edge + off) is not None) is is_near
