"""The rig's sample probe read live: by itself, beside a batch, over holes and resets."""

import time
from pathlib import Path

import pytest

from rigwire.messages import MISSING_MC
from rigwire.states import STATES
from snapgloss.base.errors import RigError
from snapgloss.base.records import Sample
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.quality.kept_curves import About, about_of
from snapgloss.quality.temper_file import read_curve
from snapgloss.runs import sampling
from snapgloss.runs.connect import introduce
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.live.sample_run import RECENT_MS, SampleRun, sample_run
from snapgloss.runs.sample_words import NO_PROBE_HEARD, SampleWords
from snapgloss.schedules.files import to_text
from snapgloss.store.store import Store
from snapgloss.virtual.cup import FILL_AFTER_MS, Cup
from snapgloss.virtual.plant import Plant, PlantSetup

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)

OFF = STATES.index("off")


def curve_mc(span_s: int = 1800) -> list[int]:
    """Two minutes in the chocolate, then the simulated sample with 2 % of seed, once a second."""
    cup = Cup(Plant(PlantSetup(solid=False, start_c=31.5, start_v=0.02)), 12.0)
    for at_ms in (0, FILL_AFTER_MS):
        cup.attend(at_ms, True, False)
    cup.probe_c = cup.sample_c
    shown = [31_500] * 120
    for _ in range(span_s):
        shown.append(round(cup.probe_c * 16) * 1000 // 16)
        cup.advance(1.0)
    return shown


def second(rig: ScriptedRig, sample_mc: int, heard: bool = True) -> None:
    """A second of the rig: its reading, and what the sample probe gives."""
    at_ms = 1000 * (len(rig.readings) + 1)
    rig.push_reading((at_ms, OFF, 0, MISSING_MC, 31_500, MISSING_MC, 21_000, 0, 0, 0, 2), heard)
    rig.push_sample(sample_mc, heard)


def test_samples_come_in_order_and_the_kept_ones_can_be_asked_for(
    rig: ScriptedRig, link: RigLink
) -> None:
    """Pushes with the number of their reading; 8 kept ones at a time, lost ones left out."""
    for sample_mc in (30_500, MISSING_MC, 30_375):
        second(rig, sample_mc)
    rig.settle()
    pushed = [one for one in link.take() if isinstance(one, Sample)]
    assert pushed == [Sample(0, 1000, 30_500), Sample(2, 3000, 30_375)]
    assert [one.sample_mc for one in link.samples(0)] == [30_500, None, 30_375]
    assert link.samples(3) == []
    rig.lost_below[0] = 2
    assert link.samples(0) == [Sample(2, 3000, 30_375)]


def test_a_curve_is_read_to_its_answer(rig: ScriptedRig, clock: ScriptedClock) -> None:
    """A tube that is in the cold already when the program begins, half of its seconds unheard."""
    values = curve_mc()
    for sample_mc in values[:300]:
        second(rig, sample_mc, heard=False)
    link = introduce(rig, clock)
    rest = iter(enumerate(values[300:]))

    def more() -> None:
        for at, sample_mc in [next(rest) for _ in range(300)]:
            second(rig, sample_mc, heard=at % 2 == 0 or at % 300 == 299)

    waits = link.wait

    def wait(at_most_s: float) -> bool:
        more()
        return waits(at_most_s)

    link.wait = wait  # type: ignore[method-assign]
    said: list[str] = []
    curve = sampling.read_live(link, 12.0, said.append)
    link.close()
    assert curve.phase == "done" and curve.features is not None
    assert 1.0 < curve.features.set_ratio < 1.1
    assert said == ["The sample went into the cold at 31.2 °C. About a quarter of an hour."]
    steps = [b - a for a, b in zip(curve.seconds, curve.seconds[1:], strict=False)]
    assert set(steps) == {1.0}  # what was not heard was fetched


def test_a_rig_without_the_probe_is_told_apart_from_an_old_one(
    rig: ScriptedRig, clock: ScriptedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten readings and no sample: no probe. A wire of 1.2: its firmware."""
    link = introduce(rig, clock)
    waits = link.wait

    def wait(at_most_s: float) -> bool:
        second(rig, MISSING_MC)
        return waits(at_most_s)

    link.wait = wait  # type: ignore[method-assign]
    with pytest.raises(RigError, match="no sample probe that answers"):
        sampling.read_live(link, None, lambda _said: None)
    assert link.identity is not None
    link.identity = link.identity._replace(minor=2)
    with pytest.raises(RigError, match="firmware does not know"):
        sampling.read_live(link, None, lambda _said: None)
    link.close()


def test_beside_a_batch_one_sentence_and_a_file_that_can_be_read_again(
    link: RigLink, tmp_path: Path, store: Store
) -> None:
    """Nothing until the curve is done; then the sentence, and the curve with its comment and with
    its run."""
    about = About("Lantern 72", "seeded", "bench rig", True)
    words = SampleWords(tmp_path, about, store, lambda: "noon")
    run_id = graded_run(store, 1, None, False)
    told = follow(words, link, run_id)
    assert told == ["The curve looks in temper: set as it should; not calibrated yet. (noon.csv)"]
    (kept,) = store.bars(run_id).curves
    assert (kept.place, len(kept.points_csv.splitlines()) > 500) == ("in", True)
    assert kept.set_ratio == pytest.approx(1.0, abs=0.06)
    path = tmp_path / "curves" / "noon.csv"
    assert about_of(path) == about
    assert "\nseconds,celsius\n0.000,31." in path.read_text()
    assert len(read_curve(path).seconds) > 500


def test_a_person_is_guided_through_a_sample(link: RigLink, tmp_path: Path, store: Store) -> None:
    """No probe, fill the tube, leave it alone, and the sentence; after the batch, too, and only
    for the batch that was just made."""
    run_id = graded_run(store, 1, None, False)
    found = sample_run(tmp_path, store, False)
    assert found is not None and sample_run(tmp_path, store, True) is None
    assert (found.words.now.phase, found.words.now.words) == ("", NO_PROBE_HEARD)
    phases = []
    for at, mc in enumerate(curve_mc()):
        found.take(Sample(at, 1000 * at, mc), link)
        now = found.words.now
        if now.phase == "cooling" and now.since_s == 300:
            assert now.words.startswith("In the cold for 5 min, now ")
        phases.append((now.phase, now.words.split(",")[0].split(":")[0]))
    seen = list(dict.fromkeys(phase for phase, _ in phases))
    assert seen == ["waiting", "cooling", "done"]
    assert phases[0][1] == sampling.FILL
    assert phases[-1][1] == "The curve looks in temper"
    assert len(store.bars(run_id).curves) == 1


def test_a_sample_of_another_day_belongs_to_no_batch(
    link: RigLink, tmp_path: Path, store: Store
) -> None:
    """Its curve is written down all the same."""
    run_id = graded_run(store, 1, None, False)
    words = SampleWords(tmp_path, About(method="seeded"), store, lambda: "noon")
    found = SampleRun(run_id, words, time.time_ns() // 1_000_000 - RECENT_MS - 1000)
    for at, mc in enumerate(curve_mc()):
        found.take(Sample(at, 1000 * at, mc), link)
    assert found.words.now.phase == "done"
    assert store.bars(run_id).curves == []
    assert (tmp_path / "curves" / "noon.csv").exists()


def follow(words: SampleWords, link: RigLink, run_id: int | None) -> list[str]:
    """What is said of a whole curve."""
    samples = (Sample(at, 1000 * at, mc) for at, mc in enumerate(curve_mc()))
    return [said for one in samples if (said := words.take(one, link, run_id))]


def graded_run(store: Store, nonce: int, set_ratio: float | None, good: bool) -> int:
    """A batch on a real rig, over, with a curve and a grade where a set ratio is given."""
    readable = to_text(demo_schedule())
    run_id = keep(
        store, synthetic(SHORT, nonce), boot_nonce=nonce, simulated=False, schedule_toml=readable
    )
    if set_ratio is not None:
        store.add_curve(run_id, set_ratio, "in", None, "0,31\n")
        store.add_grade(run_id, "sell" if good else "remelt", () if good else ("film",), None, "")
    return run_id


def test_the_bars_graded_in_the_record_move_the_bands_of_the_live_sentence(
    link: RigLink, tmp_path: Path, store: Store
) -> None:
    """Bars that sold at 0.7 to 0.9, and failed at this curve's 1.0: another sentence."""
    about = About("Lantern 72", "seeded", "bench rig", False)
    plain = follow(SampleWords(tmp_path, about, store, lambda: "before"), link, None)
    for nonce in range(12):
        graded_run(store, nonce, 0.7 + nonce / 60, True)
        graded_run(store, 100 + nonce, 0.97 + nonce / 100, False)
    moved = follow(SampleWords(tmp_path, about, store, lambda: "after"), link, None)
    assert "in temper" in plain[0] and "not calibrated yet" in plain[0]
    assert "in temper" not in moved[0]


def test_a_reset_of_the_rig_begins_anew(link: RigLink, tmp_path: Path, store: Store) -> None:
    """A clock that runs backwards ends the curve that was under way; the next one is whole."""
    words = SampleWords(tmp_path, About(method="seeded"), store, lambda: "noon")
    values = curve_mc()
    for at, mc in enumerate(values[:400]):
        assert not words.take(Sample(at, 1000 * at, mc), link, None)
    assert len(follow(words, link, None)) == 1
