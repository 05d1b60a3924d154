"""The command of the crystals: nothing before three curves, then an estimate that says so."""

from pathlib import Path
from typing import Any

import pytest

from snapgloss.base.records import Event, Identity, Reading
from snapgloss.quality.kept_curves import About, write_curve
from snapgloss.schedules.demo import demo, demo_text
from snapgloss.store import NewRun, open_store
from snapgloss.store.store import Store
from snapgloss.virtual.cup import FILL_AFTER_MS, Cup
from snapgloss.virtual.plant import Plant, PlantSetup

SEEDED_S, SECONDS = 1200, 3600


@pytest.fixture
def batch(data: Path) -> int:
    """An hour: 48 °C for 20 min, 120 g of seed, then 31.5 °C stirred; simulated."""
    identity = Identity("b1", 5, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, True)
    schedule = demo()
    new = NewRun(
        demo_text(), "0123abcd", "Lantern 72", "dark", schedule.method, 2000, 31_000, 32_000,
        31_500, "bench rig", True, 1, "",
    )  # fmt: skip
    readings = [
        Reading(
            s, s * 1000, "working", 6, 31_500, 48_000 if s < SEEDED_S else 31_500,
            49_000 if s < SEEDED_S else 32_000, 21_000, 0, 0, 1000, 0,
        )
        for s in range(SECONDS)
    ]  # fmt: skip
    with open_store(data) as store:
        boot_id = store.boot_id(identity)
        run_id = store.begin_run(new, boot_id, 0)
        store.add_readings(boot_id, readings)
        store.add_events(boot_id, [Event(0, SEEDED_S * 1000 + 10_000, "added", 1, 120)])
        store.end_run(run_id, SECONDS * 1000, "finished", "")
    return run_id


def keep_curve(data: Path, name: str, v: float, about: About | None = None) -> Path:
    """A simulated sample of Lantern 72 with this share of its fat set."""
    cup = Cup(Plant(PlantSetup(solid=False, start_c=31.5, start_v=v)), 12.0)
    for at_ms in (0, FILL_AFTER_MS):
        cup.attend(at_ms, True, False)
    cup.probe_c = cup.sample_c
    shown = []
    for _ in range(2400):
        shown.append(cup.probe_c)
        cup.advance(1.0)
    about = about or About("Lantern 72", "seeded", "virtual-1", True)
    return write_curve(range(len(shown)), shown, data / "curves", name, about)


def test_nothing_is_shown_before_three_curves(call: Any, data: Path, batch: int) -> None:
    """Two of this chocolate, one of another and one of a real rig: refused, with the count."""
    keep_curve(data, "1", 0.02)
    keep_curve(data, "2", 0.03)
    keep_curve(data, "3", 0.02, About("Chalk White", "seeded", "", True))
    keep_curve(data, "4", 0.02, About("Lantern 72", "seeded", "", False))
    (data / "curves" / "5.csv").write_text(
        "# chocolate: Lantern 72\n# simulated: yes\n0,31\n1,31\n"
    )
    answer = call("crystals", str(batch))
    assert answer.code == 2 and answer.out == ""
    assert "2 of 3 cooling curves of Lantern 72. 1 cannot be used." in answer.err
    assert call("crystals", "--json").value == {
        "run": batch, "calibrated": False, "curves": 2, "needed": 3,
    }  # fmt: skip


def test_a_curve_named_again_is_no_second_one(
    call: Any, data: Path, batch: int, tmp_path: Path
) -> None:
    """Once kept, named three times, copied under another head: one curve, three copies."""
    kept = keep_curve(data, "1", 0.02)
    copy = tmp_path / "copy.csv"
    copy.write_text("# taken in June\n" + kept.read_text().split("yes\n", 1)[1])
    named = [word for path in (kept, kept, copy) for word in ("--curve", str(path))]
    answer = call("crystals", str(batch), *named)
    assert answer.code == 2 and answer.out == ""
    assert "1 of 3 cooling curves of Lantern 72." in answer.err
    assert "3 left out" in answer.err


def test_three_curves_open_it(call: Any, data: Path, batch: int, tmp_path: Path) -> None:
    """The growth of the simulated crystals within 15 %, seeds as weighed, and what it cannot
    tell; a curve named beside the kept ones counts too."""
    for name, v in (("1", 0.01), ("2", 0.02)):
        keep_curve(data, name, v)
    beside = keep_curve(tmp_path, "3", 0.03)
    picture = tmp_path / "crystals.png"
    answer = call("crystals", "--curve", str(beside), "--json", "--picture", str(picture))
    found = answer.value
    assert (found["calibrated"], found["curves"]) == (True, 3)
    assert found["growth_per_min"] == pytest.approx(0.9, rel=0.15)
    assert all(-1.0 < one < -0.7 for one in found["correlation_growth_seed"])
    assert found["rows"][0]["stable"] is None
    assert found["rows"][-1]["seeds"] == pytest.approx(120 / 2120 * 0.5 * 0.76, rel=1e-3)
    assert found["rows"][-1]["stable"] > found["rows"][-1]["seeds"]
    assert picture.stat().st_size > 10_000


def test_the_described_chocolate_gives_fat_and_heats(
    call: Any, data: Path, batch: int, tmp_path: Path
) -> None:
    """More fat gives off more heat, so the same curves grew slower; another chocolate's file is
    refused by name."""
    for name, v in (("1", 0.01), ("2", 0.02), ("3", 0.03)):
        keep_curve(data, name, v)
    rich, other = tmp_path / "rich.toml", tmp_path / "other.toml"
    text = 'format = 1\nname = "{}"\ntype = "dark"\nfat = "48 %"\n'
    rich.write_text(text.format("Lantern 72"))
    other.write_text(text.format("Chalk White"))
    usual = call("crystals", "--json").value["seed_of_curves"]
    found = call("crystals", "--json", "--from", str(rich)).value["seed_of_curves"]
    assert found != pytest.approx(usual, rel=0.02)
    refused = call("crystals", "--from", str(other))
    assert (refused.code, refused.out) == (2, "")
    assert "describes Chalk White; the batch was of Lantern 72" in refused.err


def test_in_words(call: Any, data: Path, batch: int) -> None:
    """An estimate by so many curves; the status of every figure on request."""
    for name, v in (("1", 0.01), ("2", 0.02), ("3", 0.03)):
        keep_curve(data, name, v)
    answer = call("crystals", str(batch), "--details")
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert lines[0] == "Simulated. Estimate by 3 cooling curves of Lantern 72, not a measurement."
    assert lines[2].endswith("nothing known: it must be hot first")
    assert "(correlation -0." in answer.out
    assert max(map(len, lines)) <= 80
    assert all(line.strip() for line in lines)
    assert "±" in answer.out and "+-" not in answer.out
    told = call("crystals", str(batch), "--details", "--fahrenheit").out
    assert "°C" not in told
    assert "92.8 °F" in told and "within 2.7 °F from batch to batch" in told
    details = [line for line in lines if line.startswith("  ")]
    assert max(map(len, details)) <= 80
    statuses = {word for word in ("known", "assumed", "to be fitted", "fitted")
                if any(line.endswith(f" {word}") for line in lines)}  # fmt: skip
    assert statuses == {"known", "assumed", "to be fitted", "fitted"}


def test_the_fat_that_growth_rests_on_is_named(
    call: Any, data: Path, batch: int, tmp_path: Path
) -> None:
    """Growth is fitted to fat, which nobody said here: usual for dark, 36 %, assumed, beside the
    ± and among the figures; as described it is known."""
    for name, v in (("1", 0.01), ("2", 0.02), ("3", 0.03)):
        keep_curve(data, name, v)
    bare, full = tmp_path / "bare.toml", tmp_path / "full.toml"
    bare.write_text('format = 1\nname = "Lantern 72"\ntype = "dark"\n')
    full.write_text(bare.read_text() + 'fat = "42 %"\n')
    for more in ([], ["--from", str(bare)]):
        said = " ".join(call("crystals", "--details", *more).out.split())
        assert "% if it has 36 % of fat (assumed). A curve" in said
        assert "fat 36 % assumed usual for dark" in said
        value = call("crystals", "--json", *more).value
        assert (value["fat_share"], value["fat_known"]) == (0.36, False)
    said = " ".join(call("crystals", "--details", "--from", str(full)).out.split())
    assert "% with 42 % of fat. A curve" in said
    assert "fat 42 % known as described" in said
    value = call("crystals", "--json", "--from", str(full)).value
    assert (value["fat_share"], value["fat_known"]) == (0.42, True)


def test_a_simulated_batch_is_called_simulated(
    call: Any, data: Path, batch: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In words, to programs and on the picture; a real one is not."""
    from matplotlib.figure import Figure

    for name, v in (("1", 0.01), ("2", 0.02), ("3", 0.03)):
        keep_curve(data, name, v)
        keep_curve(data, f"real {name}", v, About("Lantern 72", "seeded", "", False))
    drawn: list[Figure] = []
    monkeypatch.setattr("snapgloss.report.planned.save", lambda figure, path: drawn.append(figure))
    asked = ("crystals", "--picture", str(tmp_path / "x.png"))
    assert call(*asked).out.startswith("Simulated. Estimate")
    assert call("crystals", "--json").value["simulated"] is True
    with open_store(data) as store:
        run = store.run(batch)
    monkeypatch.setattr(
        "snapgloss.store.store.Store.run", lambda self, run_id: run._replace(simulated=False)
    )
    assert call(*asked).out.startswith("Estimate by 3")
    assert call("crystals", "--json").value["simulated"] is False
    labels = [{text.get_text() for text in figure.texts} for figure in drawn]
    assert "SIMULATED" in labels[0] and "SIMULATED" not in labels[1]


def test_no_batch_and_no_curve_file(call: Any, data: Path, batch: int) -> None:
    """A batch that is not there, a file that is not there: a sentence each."""
    assert call("crystals", str(batch + 7)).code == 2
    missing = call("crystals", "--curve", str(data / "none.csv"))
    assert missing.code == 2 and "none.csv" in missing.err


def test_a_clock_in_doubt_is_said_first(
    call: Any, data: Path, batch: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a log whose clock may have jumped: in words and in JSON."""
    monkeypatch.setattr(Store, "unsure_clocks", lambda _store: {batch})
    for name, v in (("1", 0.01), ("2", 0.02), ("3", 0.03)):
        keep_curve(data, name, v)
    doubt = f"The clock of this log may have jumped: no figure of run {batch} is sure."
    assert call("crystals").out.startswith(doubt)
    assert call("crystals", "--json").value["doubt"] == doubt
