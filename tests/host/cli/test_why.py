"""The command that says what bad bars come of."""

from pathlib import Path
from typing import Any

import pytest

from snapgloss.base.records import Event, Identity, Reading
from snapgloss.schedules.demo import demo_text
from snapgloss.store import NewRun, open_store


@pytest.fixture
def hot(data: Path) -> int:
    """A seeded batch that was at 35 °C for 4 min."""
    new = NewRun(
        demo_text(), "0123abcd", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
        "bench rig", True, 1, "Quillby & Maar",
    )  # fmt: skip
    parts = (("seeding", 60, 33_500), ("working", 120, 31_500), ("working", 240, 35_000),
             ("working", 300, 31_500))  # fmt: skip
    line = [(state, mc) for state, seconds, mc in parts for _ in range(seconds)]
    readings = [
        Reading(n, n * 1000, state, 5, 31_500, mc, None, None, 0, 0, 900, 0)
        for n, (state, mc) in enumerate(line)
    ]
    events = [Event(0, 10_000, "prompt", 2, 150), Event(1, 30_000, "added", 1, 150)]
    with open_store(data) as store:
        identity = Identity("b1", 6, "0.1.0", 1, 1, "", "off", 60_000, 100, 0, 0, 0, 0, True)
        boot_id = store.boot_id(identity)
        run_id = store.begin_run(new, boot_id, 0)
        store.add_readings(boot_id, readings)
        store.add_events(boot_id, events)
        store.end_run(run_id, len(line) * 1000, "finished", "Finished.")
    return run_id


def test_one_sentence_first_then_causes_with_their_stretch(call: Any, hot: int) -> None:
    """The bowl, what was wrong, what to do; where on the curve; that the bars can be melted."""
    call("grade", str(hot), "re-melt", "--mark", "film", "--mark", "streaks")
    answer = call("why", str(hot))
    assert (answer.code, answer.err) == (0, "")
    told = " ".join(answer.out.split())
    assert told.startswith(
        "Look at the bowl: the chocolate was over what its crystals bear, by 2.5 °C on "
        "average for 4 min. Warm it more slowly"
    )
    assert "Melt the bars again: nothing is wrong with the chocolate." in told
    assert "on the curve from 0:03 to 0:07" in told
    assert "Dip a knife next time" in told


def test_json_has_causes_by_key(call: Any, hot: int) -> None:
    """The same as one value; the figure is kelvin times minutes, 2.5 over 32.5 for 4 min."""
    call("grade", str(hot), "seconds", "--mark", "film")
    first = call("why", str(hot), "--json").value["causes"][0]
    assert (first["key"], first["place"], first["figure"]) == (
        "overshot",
        "bowl",
        "over_cap_k_min",
    )
    assert first["sign"]["value"] == pytest.approx(10.0, abs=0.1)


def test_what_is_told_counts_and_fahrenheit_is_spoken(call: Any, hot: int) -> None:
    """Cracks with a refrigerator of 4 °C: look there, not at the bowl."""
    call("grade", str(hot), "seconds", "--mark", "cracks")
    told = call("why", str(hot), "--refrigerator", "4 C", "--fahrenheit").out
    assert told.startswith("Look at the refrigerator, not at the bowl: the refrigerator was at")
    assert "39.2 °F" in told
    assert "°C" not in told
    assert "50 to 57 °F" in told


def test_good_bars_have_no_cause(call: Any, hot: int) -> None:
    """Graded to sell: nothing to explain, whatever the curve did; bad without a mark asks."""
    call("grade", str(hot), "sell")
    assert call("why", str(hot)).err == ""
    assert call("why", str(hot)).out == "Nothing is to be explained: no bar has a fault.\n"
    call("grade", str(hot), "seconds")
    assert "nobody said what is wrong" in " ".join(call("why", str(hot)).out.split())


def test_a_mark_that_is_none_is_refused(call: Any, hot: int) -> None:
    """A word nobody knows ends in a sentence with those there are; no traceback."""
    answer = call("why", str(hot), "--mark", "purple")
    assert answer.code == 2
    assert "late bloom" in answer.err


def test_the_report_says_and_shades_it(call: Any, hot: int, tmp_path: Path) -> None:
    """The section stands in the HTML of bars that do not sell, and in no other."""
    call("grade", str(hot), "sell")
    plain = _report(call, hot, tmp_path / "good")
    assert "Why these bars do not sell" not in plain
    call("grade", str(hot), "re-melt", "--mark", "film")
    page = _report(call, hot, tmp_path / "bad")
    assert "Why these bars do not sell" in page
    assert "Shaded on the curve from 0:03 to 0:07." in page


def _report(call: Any, run_id: int, folder: Path) -> str:
    assert call("report", str(run_id), "--out", str(folder)).code == 0
    return next(folder.rglob("*.html")).read_text(encoding="utf-8")


def test_too_few_batches_to_say_what_changed(call: Any, hot: int) -> None:
    """One bad batch, no good one: the sentence says how many there are and are needed."""
    call("grade", str(hot), "re-melt", "--mark", "film")
    answer = call("changed")
    assert answer.code == 0
    assert answer.out.startswith("Not enough batches: 0 good batches, 1 bad")
    assert call("changed", "--json").value["changed"] == []
    assert call("changed", "--rig", "nobody's").code == 2
