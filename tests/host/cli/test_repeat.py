"""Figures anew, charts and batches side by side, from the command line."""

import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from snapgloss.quality.figure_words import FIGURE_WORDS, STEP_WORDS, words_of
from snapgloss.quality.figures import RunFigures
from snapgloss.quality.steps import STEP_FIGURES
from snapgloss.report.chart_picture import draw_chart
from snapgloss.report.compare_picture import draw_comparison
from snapgloss.runs import repeating
from snapgloss.runs.beside import beside
from snapgloss.runs.comparing import compare
from snapgloss.runs.grading import grade
from snapgloss.runs.recompute import recompute_figures
from snapgloss.store import NewRun, open_store

from ..synthetic import COOLED, keep, synthetic

PAGE = Path(__file__).parents[3] / "host" / "docs" / "figures.md"
SHORT = tuple((state, max(2, minutes // 8), *rest) for state, minutes, *rest in COOLED)


@pytest.fixture
def ten(data: Path) -> None:
    """Ten short batches; the last one worked 3 degC too warm. Six sell, two are seconds."""
    with open_store(data) as store:
        for seed in range(1, 11):
            plan = SHORT if seed < 10 else (*SHORT[:4], ("working", 5, 34.6, 34.5, 31.5, 1, 70, 0))
            keep(store, synthetic(plan, seed), boot_nonce=seed, method="cooled")
        recompute_figures(store)
        for run in range(1, 9):
            grade(store, run, "sell" if run < 7 else "seconds")


def test_the_page_defines_every_figure_and_no_other() -> None:
    """host/docs/figures.md names exactly what a run has."""
    named = re.findall(r"^\| `(\w+)` \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    of_run = [f.name for f in fields(RunFigures) if f.name != "steps"]
    of_step = [f"step_3_{name}" for name in STEP_FIGURES]
    assert named == of_run + of_step
    assert list(FIGURE_WORDS) == of_run
    assert list(STEP_WORDS) == list(STEP_FIGURES)
    assert [words_of(name) for name in named if not words_of(name)] == []


def test_a_batch_without_figures_says_so(call: Any, data: Path) -> None:
    """One that has not ended, and one whose figures were never worked out; JSON stays JSON."""
    with open_store(data) as store:
        kept = store.run(keep(store, synthetic(SHORT)))._asdict()
        new = {name: kept[name] for name in NewRun._fields}
        store.begin_run(NewRun(**new), 1, 900_000)
    assert call("figures", "1").out == (
        "Run 1 has no figures. Work them out: snapgloss figures 1 --anew.\n"
    )
    for more in ((), ("--anew",)):
        answer = call("figures", "2", *more)
        assert (answer.code, answer.out) == (
            0, "Run 2 has no figures yet: they are worked out when it ends.\n",
        )  # fmt: skip
    assert call("figures", "2", "--json").value == {}


def test_every_figure_of_a_run_is_on_the_page(call: Any, ten: None) -> None:
    """What `figures --anew` works out has a definition, and can be charted by its name."""
    page = PAGE.read_text(encoding="utf-8")
    found = call("figures", "2", "--anew", "--json").value
    assert len(found) > 60
    for name in found:
        assert f"| `{re.sub('step_[0-9]+_', 'step_3_', name)}` |" in page, name
    assert "over 10 batches" in call("charts", "step_3_reach_min").out
    assert "is no figure" in call("charts", "step_3_wet_min").err


def test_charts_in_fahrenheit(call: Any, ten: None) -> None:
    """Temperatures with the 32, differences and rates without, minutes as they are; JSON in °C."""
    celsius, fahrenheit = (
        call("charts", "lowest_c", *more).out.splitlines() for more in ((), ("--fahrenheit",))
    )
    mean_c, mean_f = (
        float(re.search(r"mean ([\d.]+)", lines[1])[1]) for lines in (celsius, fahrenheit)
    )
    assert mean_f == pytest.approx(mean_c * 1.8 + 32, abs=0.02)
    assert "°F" in fahrenheit[1] and "°C" not in " ".join(fahrenheit)
    rates = [
        float(re.search(r"mean (-?[\d.]+)", call("charts", "fall_c_per_min", *more).out)[1])
        for more in ((), ("--fahrenheit",))
    ]
    assert rates[1] == pytest.approx(rates[0] * 1.8, rel=0.01)
    assert (
        call("charts", "minutes_working").out
        == call("charts", "minutes_working", "--fahrenheit").out
    )
    same = call("charts", "lowest_c", "--fahrenheit", "--json").value
    assert same == call("charts", "lowest_c", "--json").value


def _log(path: Path, day: str) -> str:
    rows = [f"{day} 10:{m:02d}:00,{45 - m if m < 17 else 28.0 + m / 20:.2f}" for m in range(60)]
    path.write_text("Time,T\n" + "\n".join(rows))
    return str(path)


def test_charts_are_in_order_of_time(call: Any, tmp_path: Path, data: Path) -> None:
    """A log read last that was made first comes first; a rig's runs stay in order though the
    clock of the computer was a year behind for one of them."""
    day_ms = 24 * 3600 * 1000
    clock = [1_790_000_000_000]
    with open_store(data, lambda: clock[0]) as store:
        for number in (1, 2, 3):
            clock[0] += day_ms * (-365 if number == 2 else 366 if number == 3 else 1)
            keep(
                store, synthetic(SHORT, number), boot_nonce=number, simulated=False, rig="by hand"
            )
        recompute_figures(store)
    log = _log(tmp_path / "old.csv", "2024-05-06")
    steps = ("--step", "cool=5 min", "--step", "work=50 min")
    what = ("--time", "Time", "--celsius", "T", "--zone", "UTC", "--chocolate", "Lantern 72")
    assert call("import", log, *what, *steps).code == 0
    chart = call("charts", "lowest_c", "--change-run", "1", "--json").value[0]
    assert (chart["runs"], chart["first_after"]) == ([4, 1, 2, 3], 1)


def _tempered(path: Path, number: int, jump_min: int = 0) -> str:
    """Melt, 20 min down to 27, up, work at 31.5; after the 25th minute the clock is put on."""
    rows = []
    for second in range(0, 100 * 60, 10):
        minute = second / 60
        c = min(48.0, 35 + minute * 0.65, 48 - (minute - 20) * 1.05)
        c = c if minute < 40 else min(31.5, 27 + (minute - 40) * 0.5625)
        clock = second + (jump_min * 60 if minute > 25 else 0)
        rows.append(f"{clock},{c + number * 4 % 9 / 100:.2f}")
    path.write_text("s,T\n" + "\n".join(rows))
    return str(path)


@pytest.fixture
def with_a_jump(call: Any, tmp_path: Path) -> None:
    """Nine batches by hand; the clock of the fifth one's logger was put on by 20 min."""
    for number in range(1, 10):
        path = _tempered(tmp_path / f"{number}.csv", number, 20 if number == 5 else 0)
        steps = ("--step", "cool=20 min", "--step", "rewarm=40 min", "--step", "work=48 min")
        what = ("--seconds", "s", "--celsius", "T", "--zone", "UTC", "--chocolate", "Stone 70")
        began = ("--began", f"2026-10-0{number} 10:00")
        assert call("import", path, *what, *steps, *began).code == 0


def _words(text: str) -> str:
    return " ".join(text.split())


def test_a_run_whose_clock_jumped_says_so_with_its_figures(call: Any, with_a_jump: None) -> None:
    """As text, as JSON, in the list of all, and among what happened; the others say nothing."""
    doubt = "The clock of this log may have jumped: no figure of run 5 is sure."
    assert call("figures", "5").out.startswith(doubt)
    assert call("figures", "5", "--anew", "--json").value["doubt"] == doubt
    assert "doubt" not in call("figures", "4", "--json").value
    assert call("export").value["clock_unsure"] == [run == 5 for run in range(1, 10)]
    assert "the clock of the log may have jumped here" in call("show", "5").out
    assert call("saveit", "5").out.startswith(doubt)
    assert call("saveit", "5", "--json").value["doubt"] == doubt
    assert "doubt" not in call("saveit", "4", "--json").value


def test_a_run_whose_clock_jumped_is_in_no_chart(
    call: Any, with_a_jump: None, tmp_path: Path
) -> None:
    """Neither mean nor limits nor counts take it in; text, JSON and picture say so."""
    call("grade", "5", "remelt")
    chart = call("charts", "lowest_c", "--json").value[0]
    assert (chart["runs"], chart["left_out"]) == ([1, 2, 3, 4, 6, 7, 8, 9], [5])
    assert chart["chart"]["mean"] == pytest.approx(27.04, abs=0.01)
    assert (chart["chart"]["signals"], chart["counts"], chart["without"]) == ([], [], 0)
    said = "Run 5 is left out: the clock of its log may have jumped."
    assert said in _words(call("charts", "lowest_c").out)
    drawn = draw_chart(_chart_of(tmp_path / "data"))
    assert said in [text.get_text() for text in drawn.texts]


def _chart_of(data: Path) -> repeating.Repeated:
    with open_store(data) as store:
        return repeating.repeated(store, "lowest_c")[0]


def test_no_chart_of_clocks_that_jumped_alone(call: Any, tmp_path: Path) -> None:
    """A single batch whose clock jumped makes no chart; read again rightly it does."""
    steps = ("--step", "cool=20 min", "--step", "rewarm=40 min", "--step", "work=48 min")
    what = ("--seconds", "s", "--celsius", "T", "--zone", "UTC", "--chocolate", "Stone 70",
            "--began", "2026-10-01 10:00")  # fmt: skip
    call("import", _tempered(tmp_path / "jump.csv", 1, 20), *what, *steps)
    answer = call("charts", "lowest_c")
    assert (answer.code, "Run 1 is left out" in answer.err) == (2, True)
    right = _tempered(tmp_path / "right.csv", 1)
    call("import", right, *what, *steps, "--instead", "1")
    assert "over 1 batch" in call("charts", "lowest_c").out


def test_a_run_whose_clock_jumped_parts_nowhere(
    call: Any, with_a_jump: None, tmp_path: Path
) -> None:
    """Nobody knows where; and it is no measure for others."""
    said = "Run 5 is left out: the clock of its log may have jumped."
    lines = call("compare", "2", "5", "6").out.splitlines()
    assert lines == [said, "Run 6 stays with run 2 from cooling on, within noise."]
    value = call("compare", "2", "5", "6", "--json").value
    assert (value["partings"], value["left_out"]) == ([None, None], [5])
    with open_store(tmp_path / "data") as store:
        rows = beside(store, [2, 5, 6], "cool").rows
        drawn = draw_comparison(compare(store, [2, 5, 6], "cool"))
    assert [row.doubt for row in rows] == ["", said, ""]
    titles = [axes.get_title("right") for axes in drawn.axes]
    assert titles == ["", "its clock may have jumped", ""]
    assert "is no measure for others" in call("compare", "5", "2").err


def test_figures_are_worked_out_anew(call: Any, ten: None, data: Path) -> None:
    """What was spoilt in the store comes back from the readings, for one and for all."""
    right = call("figures", "3", "--json").value
    assert right["lowest_c"] == pytest.approx(28.0, abs=0.4)
    assert right["energy_wh"] == pytest.approx(right["full_heat_min"] / 60 * 100)
    with open_store(data) as store:
        store.save_figures(3, {"lowest_c": -1.0})
    assert call("figures", "3", "--json").value == {"lowest_c": -1.0}
    assert call("figures", "3", "--anew", "--json").value == right
    assert call("figures", "--anew").out == "Figures of 10 batches worked out anew.\n"
    assert "lowest_c" in call("figures", "3").out


def test_a_batch_that_strays_is_named(call: Any, ten: None) -> None:
    """The warm one is outside its limits; good ones are counted."""
    lines = call("charts", "peak_rewarm_c").out.splitlines()
    assert lines[0] == "Lantern 72, bench rig, simulated"
    assert "over 10 batches, usually" in lines[1]
    assert [line.split(",")[0].strip() for line in lines if "outside its limits" in line] == [
        "Run 10"
    ]
    chart = call("charts", "lowest_c", "--json").value[0]
    assert sum(count["of"] for count in chart["counts"]) == 8
    assert sum(count["good"] for count in chart["counts"]) == 6


def test_before_and_after_a_change(call: Any, ten: None) -> None:
    """At a run, at a bag's first use, and at a firmware that all of them had."""
    call("used", "6", "--bag", "24-117")
    by_run = call("charts", "lowest_c", "--change-run", "6", "--json").value[0]["change"]
    by_bag = call("charts", "lowest_c", "--change-bag", "24-117", "--json").value[0]["change"]
    assert by_run == by_bag
    assert (by_run["before"], by_run["after"]) == (5, 5)
    same = call("charts", "lowest_c", "--change-firmware", "0.1.0", "--json").value[0]
    assert same["change"] is None


def test_side_by_side(call: Any, ten: None, tmp_path: Path) -> None:
    """The warm batch parts from the first where its work begins, the other never does."""
    out = call("compare", "1", "2", "10", "--at", "work").out.splitlines()
    assert out[0] == "Run 2 stays with run 1 from working on, within noise."
    assert out[1].startswith("Run 10 parts from run 1 as working began: 3.")
    assert out[1].endswith("over it.")
    path = tmp_path / "new" / "strips.png"
    value = call("compare", "1", "10", "--picture", str(path), "--json").value
    assert (value["aligned"], value["partings"][0]["state"]) == ("cooling", "working")
    assert path.read_bytes().startswith(b"\x89PNG")


def test_the_chart_as_a_picture(call: Any, ten: None, tmp_path: Path) -> None:
    """Drawn for one kind of batch."""
    path = tmp_path / "chart.png"
    assert call("charts", "lowest_c", "--picture", str(path)).code == 0
    assert path.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("charts", "temperature"), '"temperature" is no figure of a batch.'),
        (("charts", "lowest_c", "--chocolate", "Dune"), "No closed batch of that chocolate"),
        (("charts", "seed_g"), "No closed batch has this figure."),
        (("charts", "lowest_c", "--change-bag", "Q"), "No batch was made with bag Q."),
        (("charts", "lowest_c", "--change-run", "2", "--change-bag", "Q"), "Two changes at once"),
        (("compare", "1"), "Give 2 to 12 different batches."),
        (("compare", "1", "1"), "Give 2 to 12 different batches."),
        (("compare", "1", "2", "--at", "seed"), "Run 1 never came to seeding."),
        (("compare", "1", "77"), "There is no run 77"),
        (("figures",), "Say which batch."),
    ],
)
def test_what_cannot_be_is_refused(
    call: Any, ten: None, words: tuple[str, ...], says: str
) -> None:
    """Exit code 2 and a sentence."""
    answer = call(*words)
    assert (answer.code, says in answer.err) == (2, True), answer.err


def test_an_empty_record_and_a_single_run(call: Any, run_1: int) -> None:
    """No figure, one figure: sentences, and no limits from nothing."""
    assert call("charts", "lowest_c").code == 2
    assert "1 batch is too few" in call("charts", "working_lowest_c").out


@pytest.mark.parametrize(("run", "words"), [("1", "after the change"), ("99", "no run 99")])
def test_a_change_with_batches_on_one_side_says_so(
    call: Any, ten: None, run: str, words: str
) -> None:
    """Nothing to compare is a sentence, not silence."""
    answer = call("charts", "lowest_c", "--change-run", run)
    assert words in " ".join((answer.out + answer.err).split())


def test_groups_of_plain_counts_are_round() -> None:
    """A group is 1, 2 or 5 of some power of ten wide: no 4.28833 in it."""
    assert repeating._step("minutes_in_window", [0.0, 42.9]) == 5.0
    assert repeating._step("seed_g", [0.0, 10.0]) == 1.0
    assert repeating._step("minutes_over", [0.0, 0.011]) == pytest.approx(0.002)
    assert repeating._step("minutes_over", [7.0, 7.0]) == pytest.approx(0.1)
    assert repeating._step("minutes_over", [0.0, 0.0]) == 1.0
    assert repeating._step("hold_rms_c", [0.1, 0.3]) == pytest.approx(0.02)
