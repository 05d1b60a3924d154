"""The commands that grade, count and weigh bars, and the checks of temper kept with a batch."""

from pathlib import Path
from typing import Any

import pytest

from snapgloss.runs import grading
from snapgloss.store import open_store

from ..photographs import JPEG

DAY_MS = 24 * 3600 * 1000


def test_one_word_grades_a_batch(call: Any, run_1: int) -> None:
    """`grade 1 sell` is enough; it is shown, and a second word the same day corrects it."""
    assert call("grade", "1", "sell") == (0, "Run 1: sell at first.\n", "")
    answer = call("grade", "1", "re-melt", "--mark", "streaks", "--mark", "soft")
    assert answer.out.splitlines() == [
        "Run 1: re-melt at first: streaks, soft (corrected).",
        "Without a smear test nobody can tell the bowl from the cooling: dip a knife next",
        "time.",
    ]
    assert "  Re-melt at first: streaks, soft (corrected)." in call("show", "1").out


def test_a_bad_smear_points_at_the_bowl_a_good_one_away_from_it(call: Any, run_1: int) -> None:
    """Knife and grade are both kept and shown; the last knife is the one that counts."""
    assert call("temper", "--set-in", "4 min", "--streaks", "--run", "1").code == 0
    bad = call("grade", "1", "seconds", "--json").value
    assert (bad["bars"]["smear"], bad["bars"]["points_to"]) == ("streaks", "bowl")
    assert call("temper", "--set-in", "4 min", "--run", "1").code == 0
    shown = call("show", "1", "--json").value["bars"]
    assert (shown["smear"], shown["points_to"]) == ("good", "cooling")
    knives = [line for line in shown["lines"] if line.startswith("Knife: ")]
    assert [("with streaks" in line) for line in knives] == [True, False]
    assert shown["lines"][-1].startswith("The knife was good, the bars are not")


def test_the_report_tells_what_became_of_the_bars(call: Any, run_1: int) -> None:
    """Grade and knife stand in the HTML, the words with an ampersand escaped."""
    call("temper", "--set-in", "4 min", "--run", "1")
    call("grade", "1", "seconds", "--mark", "film", "--words", "Top & side")
    html = Path(call("report", "1", "--json").value["html"]).read_text(encoding="utf-8")
    for words in ("Seconds at first: film.", "Top &amp; side", "without streaks: as it should"):
        assert words in html


def test_a_photo_is_copied_into_the_data_folder(
    call: Any, run_1: int, data: Path, tmp_path: Path
) -> None:
    """A JPEG is kept under a name of its own; what is none is refused, and no grade kept."""
    photo = tmp_path / "p.jpg"
    photo.write_bytes(JPEG)
    kept = call("grade", "1", "sell", "--photo", str(photo), "--json").value["bars"]["photos"]
    assert [name.startswith("photos/run-1-") for name in kept] == [True]
    assert (data / kept[0]).read_bytes() == photo.read_bytes()
    photo.write_text("shopping list")
    refused = call("grade", "1", "seconds", "--photo", str(photo))
    assert (refused.code, "is no photo" in refused.err) == (2, True)
    assert call("grade", "1", "sell", "--photo", str(tmp_path / "none.jpg")).code == 2
    for spoilt in (JPEG[:-40], b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff" + b"x" * 100):
        photo.write_bytes(spoilt)
        refused = call("grade", "1", "seconds", "--photo", str(photo))
        assert (refused.code, "is none that can be seen" in refused.err) == (2, True)
    with open_store(data) as store:
        assert [row.verdict for row in store.grades(1)] == ["sell"]


def test_bars_are_counted_and_weighed(call: Any, run_1: int) -> None:
    """Counts and weights are kept and said back; the last count stands."""
    call("bars", "1", "--made", "48", "--sold", "48")
    answer = call("bars", "1", "--made", "48", "--sold", "40", "--seconds", "6", "--remelt", "2",
                  "--label", "50 g", "--weighed", "50.8 g", "--weighed", "49.6 g")  # fmt: skip
    assert answer.out.splitlines() == [
        "48 made: 40 sold, 6 seconds, 2 re-melt.",
        "2 weighed, label 50 g: mean 50.2 g, 49.6 to 50.8 g.",
    ]
    assert call("bars", "1", "--json").value["counts"] == {
        "made": 48, "sold": 40, "seconds": 6, "remelt": 2,
    }  # fmt: skip


def test_a_later_count_keeps_what_it_does_not_name(call: Any, run_1: int, data: Path) -> None:
    """Made today, sold a week later; what cannot be is refused over both; each entry is kept."""
    call("bars", "1", "--made", "48", "--seconds", "6")
    assert call("bars", "1", "--sold", "40").out == "48 made: 40 sold, 6 seconds.\n"
    assert "47 bars sold" in call("bars", "1", "--made", "46", "--remelt", "1").err
    assert call("bars", "1", "--sold", "0").out == "48 made: 0 sold, 6 seconds.\n"
    with open_store(data) as store:
        assert [row.sold for row in store.bars(1).counts] == [None, 40, 0]


def test_weights_can_be_taken_back(call: Any, run_1: int, data: Path) -> None:
    """0 g takes back what was weighed of this label, and what comes after it counts."""
    label = ("--label", "50 g")
    assert call("bars", "1", *label, "--weighed", "44 g").out.startswith("1 weighed")
    assert call("bars", "1", *label, "--weighed", "0 g").out.startswith("Nothing is known")
    assert call("bars", "1", *label, "--weighed", "50.4 g").out == (
        "1 weighed, label 50 g: mean 50.4 g, 50.4 to 50.4 g.\n"
    )
    assert call("bars", "1", *label, "--weighed", "0 g", "--weighed", "51 g").out == (
        "1 weighed, label 50 g: mean 51.0 g, 51.0 to 51.0 g.\n"
    )
    assert call("bars", "1", *label, "--weighed", "0.5 g").code == 2
    call("bars", "1", "--label", "60 g", "--weighed", "61 g")
    assert call("bars", "1", "--weighed", "0 g").out.startswith("Nothing is known")
    with open_store(data) as store:
        nets_mg = [row.net_mg for row in store.bars(1).weights]
        assert nets_mg == [44_000, 0, 50_400, 0, 51_000, 61_000, 0, 0]


def test_grades_that_contradict_each_other_are_said(call: Any, run_1: int, data: Path) -> None:
    """Sold after it was melted, to sell and none sold, melted and yet sold: said, the worst
    counts, and both are kept."""
    call("bars", "1", "--made", "48", "--remelt", "48")
    said = call("grade", "1", "sell").out
    assert said == "Run 1: sell at first.\nGraded to sell, but no bar was counted as sold.\n"
    call("bars", "1", "--sold", "40", "--remelt", "8")
    assert "counted" not in call("grade", "1", "sell").out
    melted = " ".join(call("grade", "1", "re-melt").out.split())
    assert "Graded re-melt, but 40 bars were counted for sale." in melted
    with open_store(data) as store:
        ended = store.run(1).ended_utc_ms
        assert ended is not None
    with open_store(data, lambda: ended + 7 * DAY_MS) as store:
        grading.grade(store, 1, "sell")
        lines = grading.bars_summary(store, 1).lines
        assert grading.graded_runs(store)[0].grade == "remelt"
    assert lines[-3] == (
        "Re-melt at first, but sell after a week: what was melted cannot be sold. Re-melt counts."
    )
    shown = " ".join(call("show", "1").out.split())
    assert "what was melted cannot be sold" in shown


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("grade", "1"), "The grade is missing."),
        (("grade", "7", "sell"), "There is no run 7"),
        (("grade", "1", "sell", "--mark", "shiny"), '"shiny" is no mark'),
        (("grade", "1", "sell", "--words", "a\nb"), "not one line"),
        (("bars", "1", "--made", "3", "--sold", "4"), "4 bars sold, seconds and re-melt"),
        (("bars", "1", "--weighed", "50 g"), "Weights and label go together."),
        (("bars", "1", "--label", "50 g", "--weighed", "500 g"), "more than twice"),
        (("temper", "--set-in", "4 min", "--run", "7"), "There is no run 7"),
    ],
)
def test_what_cannot_be_is_refused(
    call: Any, run_1: int, words: tuple[str, ...], says: str
) -> None:
    """Exit code 2 and a sentence; nothing is kept."""
    answer = call(*words)
    assert (answer.code, says in answer.err) == (2, True), answer.err
    assert call("bars", "1").out == "Nothing is known of these bars yet.\n"


def test_bars_to_look_at_again_are_listed(call: Any, run_1: int, data: Path) -> None:
    """A real batch is asked for after half a day and a week; a simulated one never."""
    assert call("grade").out == "No bars to grade now.\n"
    with open_store(data) as store:
        run = store.run(1)
        new = run._asdict()
        for name in ("id", "started_utc_ms", "ended_utc_ms", "outcome", "words"):
            del new[name]
        from snapgloss.store import NewRun

        real = store.begin_run(NewRun(**{**new, "simulated": False}), 1, 900_000)
        store.end_run(real, 901_000, "finished", "")
        ended = store.run(real).ended_utc_ms
        assert ended is not None
        asked = [grading.due_looks(store, ended + days * DAY_MS) for days in (0, 1, 7, 28, 91)]
        assert [[(one.run, one.look) for one in looks] for looks in asked] == [
            [], [(real, "first")], [(real, "week")], [(real, "month")], [],
        ]  # fmt: skip
        assert asked[2][0].words == "Run 2, Lantern 72: grade the bars after a week."
    with open_store(data, lambda: ended - DAY_MS) as store:
        later = store.begin_run(NewRun(**{**new, "simulated": False}), 1, 950_000)
        store.end_run(later, 951_000, "finished", "")
    lines = call("runs").out.splitlines()
    assert lines[-1] == f"Run {later}, Lantern 72: grade the bars at first."


def test_graded_runs_for_the_bands(call: Any, run_1: int, data: Path) -> None:
    """All graded runs with what is known of temper; for the bands only real ones with a curve,
    and no bad bar that a good smear clears the bowl of."""
    with open_store(data) as store:
        base = store.run(1)._asdict()
        for name in ("id", "started_utc_ms", "ended_utc_ms", "outcome", "words"):
            del base[name]
        from snapgloss.store import NewRun

        new = NewRun(**{**base, "simulated": False})
        made = []
        for number in range(4):
            run = store.begin_run(new, 1, 2_000_000 + number * 1000)
            store.end_run(run, 2_000_500 + number * 1000, "finished", "")
            made.append(run)
        sold, spoilt, bad, blind = made
        for run, ratio in ((1, 1.0), (sold, 1.01), (spoilt, 1.02), (bad, 1.2)):
            store.add_curve(run, ratio, "in", None, "")
        store.add_smear(spoilt, 21_000, 240, False)
        store.add_smear(bad, 21_000, 240, True)
        for run, verdict in ((1, "sell"), (sold, "sell"), (spoilt, "seconds"), (bad, "remelt"),
                             (blind, "sell")):  # fmt: skip
            grading.grade(store, run, verdict)
        runs = {run.run: run for run in grading.graded_runs(store)}
        assert list(runs) == [1, *made]
        assert (runs[1].simulated, runs[blind].set_ratio) == (True, None)
        assert [runs[run].points_to for run in made] == ["", "cooling", "bowl", ""]
        assert [(bar.set_ratio, bar.grade, bar.method) for bar in grading.graded_bars(store)] == [
            (1.01, "sell", "seeded"), (1.2, "remelt", "seeded"),
        ]  # fmt: skip
        grading.grade(store, bad, "remelt", ["film", "no release"])
        assert grading.graded_bars(store)[1].faults == {"film", "no_release"}


def test_notes_and_the_room(call: Any, run_1: int) -> None:
    """Words, room and humidity are kept and shown, in the unit asked for; nothing is refused."""
    assert call("note", "1", "Fan low", "--room", "20.5 C", "--humidity", "55 %").code == 0
    assert call("note", "1", "--humidity", "60 %").code == 0
    lines = [line.strip() for line in call("show", "1", "--fahrenheit").out.splitlines()]
    assert {"Fan low", "Room 68.9 °F, 55 % humidity.", "Room 60 % humidity."} <= set(lines)
    assert call("note", "1", " ").err.startswith("There is nothing to note.")
    assert call("note", "7", "x").code == 2
    assert call("note", "1", "a\nb").code == 2
