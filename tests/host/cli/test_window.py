"""The window of a chocolate, from a record to sentences, schedule and picture."""

import re
from pathlib import Path
from typing import Any

import pytest
from tests.host.synthetic import COOLED, synthetic
from tests.host.windows import CHOCOLATE, keep_graded

from snapgloss.chocolate.types import DARK
from snapgloss.quality.window import LEAST
from snapgloss.report.window_picture import draw_window
from snapgloss.runs.grading import grade
from snapgloss.runs.windows import windowed
from snapgloss.schedules import files
from snapgloss.schedules.moving import low_step, moved
from snapgloss.store import open_store

SIX = [
    (28_000, 31_500, "seconds"), (27_500, 31_500, "sell"), (27_400, 31_800, "sell"),
    (27_500, 31_700, "sell"), (28_300, 31_600, "remelt"), (27_300, 31_700, "sell"),
]  # fmt: skip


@pytest.fixture
def six(data: Path) -> Path:
    """Six graded batches, right about 27.4 and 31.7, and one that nobody graded."""
    with open_store(data) as store:
        keep_graded(store, [*SIX, (28_000, 31_500, "")])
    return data


def test_what_it_says(call: Any, six: Path) -> None:
    """Counts, the middle of the window, and the next schedule beside the usual one."""
    out = " ".join(call("window", CHOCOLATE).out.split())
    assert f"{CHOCOLATE} on bench rig, cooled: 4 of 6 graded batches came out right." in out
    assert "4 of 4 right with low point at about 27.5 °C (51 to 100 of 100 may be so)." in out
    assert "The middle of the window at 5 min: low point about 27." in out
    assert re.search(r"Next: low point 27\.[2-6] °C for 5 min, work at 31\.[5-9] °C\.", out)
    assert "of 100 such batches come out right, of the usual schedule" in out


def test_json(call: Any, six: Path) -> None:
    """The next schedule is near the good ones, likelier than the usual one, and in degC."""
    found = call("window", CHOCOLATE.upper(), "--json", "--fahrenheit").value
    assert [one["good"] for one in found["batches"]] == [v == "sell" for _, _, v in SIX]
    assert found["enough"] is True
    assert abs(found["next"]["low_c"] - 27.4) <= 0.3
    assert abs(found["next"]["work_c"] - 31.7) <= 0.3
    assert found["next"]["right"] > 0.8 > 0.5 > found["usual_right"]


def test_too_few_say_so_and_no_probability(call: Any, data: Path) -> None:
    """Four are too few: counts, and a step to try."""
    with open_store(data) as store:
        keep_graded(store, SIX[: LEAST - 1])
    answer = call("window", CHOCOLATE)
    assert "4 batches are not enough for a map: 5 are needed." in answer.out
    assert "It is a step to try." in answer.out
    assert "By the map" not in answer.out
    found = call("window", CHOCOLATE, "--json").value
    assert (found["enough"], found["next"]["right"], found["middle"]) == (False, None, None)


def test_only_what_the_bowl_can_answer_for_counts(six: Path, call: Any) -> None:
    """A bad bar after a good knife is cooling's; other rigs, methods and simulations are apart."""
    with open_store(six) as store:
        (bad,) = keep_graded(store, [(27_400, 31_700, "seconds")])
        before = windowed(store, CHOCOLATE)
        store.add_smear(bad, 21_000, 240, False)
        after = windowed(store, CHOCOLATE)
        assert (len(before.found.tried), before.after_bowl) == (7, 0)
        assert (len(after.found.tried), after.after_bowl) == (6, 1)
        keep_graded(store, [(27_400, 31_700, "sell")], rig="attic rig")
        other = windowed(store, CHOCOLATE)
        assert (other.rig, len(other.found.tried), other.others) == ("attic rig", 1, 7)
        assert len(windowed(store, CHOCOLATE, "bench rig").found.tried) == 6
    assert "1 left out: good in the bowl, spoilt by cooling or store." in (
        call("window", CHOCOLATE, "--rig", "bench rig").out
    )


def test_a_batch_counts_as_it_went(data: Path) -> None:
    """The recorded low point and dwell, not the planned ones."""
    with open_store(data) as store:
        (run,) = keep_graded(store, [(27_500, 31_500, "sell")])
        number = low_step(files.from_text(store.run(run).schedule_toml))
        store.save_figures(
            run,
            {"lowest_c": 27.1, f"step_{number}_reached_s": 100.0, f"step_{number}_ended_s": 700.0},
        )
        (one,) = windowed(store, CHOCOLATE).found.tried
    assert (one.low_c, one.dwell_s, one.work_c) == (27.1, 600.0, 31.5)


def test_the_saved_schedule_is_one(call: Any, six: Path, tmp_path: Path) -> None:
    """It can be run, has the points that were said, and is never written over another."""
    path = tmp_path / "next.toml"
    said = call("window", CHOCOLATE, "--save", str(path), "--json").value["next"]
    schedule = files.read(path)
    low = schedule.steps[low_step(schedule) - 1].target_mc
    assert (low / 1000, schedule.work_mc / 1000) == (said["low_c"], said["work_c"])
    assert schedule.window.low_mc <= schedule.work_mc <= schedule.window.high_mc
    assert call("check", str(path)).code == 0
    again = call("window", CHOCOLATE, "--save", str(path))
    assert again.code == 2
    assert "there already" in again.err


@pytest.mark.parametrize("method", ["cooled", "seeded"])
def test_both_methods(call: Any, data: Path, method: str, tmp_path: Path) -> None:
    """Seed has no dwell; its point stays where seed survives."""
    low_mc = 28_000 if method == "cooled" else 33_500
    with open_store(data) as store:
        keep_graded(store, [(low_mc, 31_500, "seconds")] * 5, method)
        found = windowed(store, CHOCOLATE, None, "learn")
    assert found.dwell_s == (300 if method == "cooled" else None)
    if method == "seeded":
        assert DARK.seed_low_mc <= found.low_mc <= DARK.seed_high_mc
    assert found.schedule.work_mc <= DARK.cap_mc
    assert "To learn most: " in call("window", CHOCOLATE, "--explore").out


def test_moving_keeps_all_else(six: Path) -> None:
    """Melt, holds, walls and rates stay; the window goes along as far as the cap lets it."""
    with open_store(six) as store:
        schedule = files.from_text(store.run(1).schedule_toml)
    changed = moved(schedule, 27_000, 32_400)
    assert [s.hold_s for s in changed.steps] == [s.hold_s for s in schedule.steps]
    assert [s.wall_mc for s in changed.steps] == [s.wall_mc for s in schedule.steps]
    targets = [s.target_mc for s in changed.steps]
    assert targets == [48_000, 48_000, 30_000, 27_000, 32_400, 32_400]
    assert changed.window.high_mc == DARK.cap_mc


@pytest.mark.parametrize(
    ("arguments", "words"),
    [(("Nobody 50",), "No batch of Nobody 50 was graded"), (("",), "was graded"),
     ((CHOCOLATE, "--rig", "none"), "on none was graded")],
)  # fmt: skip
def test_refusals(call: Any, six: Path, arguments: tuple[str, ...], words: str) -> None:
    """One sentence says what is missing."""
    answer = call("window", *arguments)
    assert answer.code == 2
    assert words in answer.err


def test_a_log_without_a_schedule(call: Any, data: Path) -> None:
    """It has no points: it is named when there are others, refused alone."""
    from tests.host.synthetic import keep

    with open_store(data) as store:
        run = keep(store, synthetic(tuple((s, 2, *r) for s, _, *r in COOLED)), method="cooled")
        grade(store, run, "sell")
    assert "has no schedule that can be read" in call("window", "Lantern 72").err


def test_the_picture(call: Any, six: Path, tmp_path: Path) -> None:
    """Two panels with a map, one without; every batch is on it, in °F as well."""
    path = tmp_path / "map.png"
    assert call("window", CHOCOLATE, "--picture", str(path), "--fahrenheit").code == 0
    assert path.read_bytes()[:4] == b"\x89PNG"
    with open_store(six) as store:
        figure = draw_window(windowed(store, CHOCOLATE), fahrenheit=True)
    assert len(figure.axes) == 2
    right, wrong = figure.axes[0].get_lines()[:2]
    assert (len(right.get_xdata()), len(wrong.get_xdata())) == (4, 2)
    low_f, high_f = figure.axes[0].get_xlim()
    assert 78 < low_f < high_f < 87
