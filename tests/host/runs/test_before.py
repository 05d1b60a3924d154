"""What a batch needs before it begins: own chocolates, sources, checks, and all worked out."""

import pickle
from pathlib import Path

import pytest

from snapgloss.base.errors import InputError
from snapgloss.chocolate.description import ChocolateDescription
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs import beforehand, grading, lots, shelf, sources
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.listing import list_runs
from snapgloss.runs.outcome import keep_figures
from snapgloss.runs.preparing import Choice, prepare
from snapgloss.runs.repeating import repeated
from snapgloss.schedules.files import to_text
from snapgloss.store.store import Store

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)
LANTERN = ChocolateDescription(name="Lantern 72", type="dark")
DAY_MIN = 10 * 60


def batch(store: Store, nonce: int, **changes: object) -> int:
    """A kept batch whose schedule can be read."""
    told = {"schedule_toml": to_text(demo_schedule(1500)), "mass_g": 1500, **changes}
    return keep(store, synthetic(SHORT), nonce, **told)


def test_own_chocolates_come_from_batches_and_files(store: Store, tmp_path: Path) -> None:
    """The one tempered last first, with how; then those that never were, by name."""
    shelf.add_chocolate(tmp_path, "Umber 64", "dark")
    shelf.add_chocolate(tmp_path, "Ash Milk", "milk", ("milk",))
    run_id = batch(store, 1)
    first, *rest = shelf.own_chocolates(tmp_path, store)
    assert (first.chocolate.name, first.last) == (
        "Lantern 72", shelf.Last(run_id, 1500, "seeded", "solid"),
    )  # fmt: skip
    assert [(own.chocolate.name, own.last) for own in rest] == [
        ("Ash Milk", None), ("Umber 64", None),
    ]  # fmt: skip
    assert rest[0].chocolate.allergens == ("milk",)


def test_a_chocolate_that_was_deleted_keeps_its_batches(store: Store, tmp_path: Path) -> None:
    """Its file is gone: the shelf has it as it was tempered, and charts, list and trace go on."""
    shelf.add_chocolate(tmp_path, "Lantern 72", "dark", ("soya",))
    for nonce in (1, 2):
        keep_figures(store, batch(store, nonce))
    lots.use_bag(store, 1, "24-117")
    for path in (tmp_path / shelf.FOLDER).iterdir():
        path.unlink()
    (own,) = shelf.own_chocolates(tmp_path, store)
    assert (own.chocolate.name, own.last and own.last.run) == ("Lantern 72", 2)
    assert repeated(store, "lowest_c")[0].runs == (1, 2)
    assert [run.chocolate for run in list_runs(store)] == ["Lantern 72"] * 2
    assert lots.trace(store, "24-117").runs == (1,)
    # What only the file said is not known any more, and is not made up.
    with pytest.raises(InputError, match="Nobody said what the bag of lot 24-117 contains"):
        lots.label_text(store, 1, "L1", 50_000, "2097-06-30")


def test_a_described_chocolate_stands_for_its_batches(store: Store, tmp_path: Path) -> None:
    """What its file says counts more than what a schedule says of it."""
    batch(store, 1)
    described = LANTERN.model_copy(update={"fat_permille": 410})
    (tmp_path / shelf.FOLDER).mkdir()
    (tmp_path / shelf.FOLDER / "broken.toml").write_text("none of ours = [", encoding="utf-8")
    from snapgloss.chocolate.description import write

    write(tmp_path / shelf.FOLDER / "lantern.toml", described)
    (own,) = shelf.own_chocolates(tmp_path, store)
    assert own.chocolate.fat_permille == 410
    assert own.last is not None


@pytest.mark.parametrize("name", ["", " " * 4, "x" * 200, "two\nlines"])
def test_a_name_that_is_none_is_refused(tmp_path: Path, name: str) -> None:
    """Nothing is written then."""
    with pytest.raises(InputError):
        shelf.add_chocolate(tmp_path, name, "dark")
    assert not list(tmp_path.glob("**/*.toml"))


def test_names_that_make_the_same_file_name_are_both_kept(store: Store, tmp_path: Path) -> None:
    """And a name that is there already, in whatever letters, is refused."""
    for name in ("Lantern 72", "Lantern-72!", "../../x", "可可"):
        shelf.add_chocolate(tmp_path, name, "dark")
    assert len(shelf.own_chocolates(tmp_path, store)) == 4
    assert len(list((tmp_path / shelf.FOLDER).iterdir())) == 4
    with pytest.raises(InputError, match="already"):
        shelf.add_chocolate(tmp_path, "LANTERN 72", "dark")


def test_sources_are_kept_with_a_run(store: Store) -> None:
    """Bags and re-melts once each, and what was checked as a note."""
    old, new = batch(store, 1), batch(store, 2)
    found = sources.check(store, sources.Sources((" L-1 ", "L-2"), (old,), "Checked: dry."))
    sources.keep(store, new, found)
    held = lots.ledger_of(store).sources(new)
    assert [(use.lot, use.from_run_id) for use in held] == [
        ("L-1", None), ("L-2", None), (None, old),
    ]  # fmt: skip
    assert [note.words for note in store.notes(new)] == ["Checked: dry."]
    with pytest.raises(InputError):
        sources.check(store, sources.Sources(remelts=(99,)))


def test_bags_of_the_chocolate_come_first(store: Store) -> None:
    """The newest of its own; all of them where none has its name."""
    for lot, name in (("L-1", "Lantern 72"), ("M-1", "Ash Milk"), ("L-2", "Lantern 72")):
        lots.enter_bag(store, lot, name, best_before="2026-01-31")
    assert [bag.lot for bag in sources.bags_for(store, "lantern 72")] == ["L-2", "L-1"]
    assert [bag.lot for bag in sources.bags_for(store, "Umber")] == ["L-2", "M-1", "L-1"]
    bags = sources.bags_for(store, "Ash Milk")
    assert sources.out_of_date(bags, "2026-01-31") == []
    assert sources.out_of_date(bags, "2026-02-01") == ["Bag M-1 was best before 31 January 2026."]


def test_bars_to_melt_again_are_offered_until_they_are_used(store: Store) -> None:
    """Those graded so, of the same kind of rig, and not for ever."""
    old, new = batch(store, 1), batch(store, 2)
    grading.grade(store, old, "remelt")
    grading.grade(store, new, "sell")
    assert [run.id for run in sources.remelts(store, True)] == [old]
    assert sources.remelts(store, False) == []
    later_ms = store.run(old).started_utc_ms + 181 * 24 * 3600 * 1000
    assert sources.remelts(store, True, later_ms) == []
    lots.use_bars(store, new, old)
    assert sources.remelts(store, True) == []


def told(store: Store, now: sources.Contents, known: dict | None = None) -> list[str]:
    """The keys of the checks."""
    before = sources.last_contents(store, known or {}, True)
    return [check.key for check in beforehand.checks(now, before)]


def test_the_last_batch_matters_where_it_left_something(store: Store) -> None:
    """Milk before dark is asked for; dark before milk, whose bag is known, is not."""
    lots.enter_bag(store, "M-1", "Ash Milk", contains=["milk"], may_contain=["hazelnut"])
    lots.enter_bag(store, "D-1", "Lantern 72", contains=["soya"])
    dark = sources.contents(store, LANTERN, "dark", sources.Sources(("D-1",)))
    assert (dark.contains, dark.may_contain, dark.unknown) == (("soya",), (), ())
    assert told(store, dark) == ["dry"]
    run_id = batch(store, 1, chocolate="Ash Milk", type="milk")
    lots.use_bag(store, run_id, "M-1")
    before = sources.last_contents(store, {}, True)
    found = beforehand.checks(dark, before)
    assert [check.key for check in found] == ["dry", "washed"]
    assert "Last batch: Ash Milk, with hazelnut, milk." in found[1].words
    assert beforehand.kept_words(found) == (
        f"Before the start: bowl and probe dry, washed after batch {run_id} (hazelnut, milk)."
    )
    milk = sources.contents(store, None, "milk", sources.Sources(("M-1", "D-1")))
    assert told(store, milk) == ["dry", "washed"]  # hazelnut is only a may
    nutty = milk._replace(contains=("hazelnut", *milk.contains))
    assert told(store, nutty) == ["dry"]


def test_what_nobody_said_is_no_reason_to_say_nothing(store: Store) -> None:
    """A batch of which nobody named a bag is asked for; a re-melt of it is not known either."""
    run_id = batch(store, 1)
    now = sources.contents(store, LANTERN, "dark", sources.Sources(remelts=(run_id,)))
    assert now.unknown == (f"bars of batch {run_id}",)
    assert told(store, now) == ["dry", "washed"]
    nobody = sources.contents(store, LANTERN, "dark", sources.NOTHING)
    assert beforehand.contents_words(nobody) == (
        "Nobody has said what is in Lantern 72: read the label."
    )
    lots.enter_bag(store, "Q", "Lantern 72")
    lots.use_bag(store, run_id, "Q")
    for found in (sources.Sources(("Q",)), sources.Sources(remelts=(run_id,))):
        assert sources.contents(store, LANTERN, "dark", found).unknown == ("bag Q",)
    lots.enter_bag(store, "q", contains=["none"])
    for found in (sources.Sources(("Q",)), sources.Sources(remelts=(run_id,))):
        assert sources.contents(store, LANTERN, "dark", found)[:] == ((), (), ())
    known = {"lantern 72": LANTERN.model_copy(update={"allergens": ("soya",)})}
    assert told(store, now._replace(contains=("soya",)), known) == ["dry"]


def test_a_batch_by_bars_is_worked_out_whole() -> None:
    """Mass from the moulds, times of the day, seconds of a mould; and it travels between
    processes."""
    found = prepare(Choice(LANTERN, 2000, bars=30, pour_at_min=DAY_MIN), BENCH_RIG, 21.0, 7 * 60)
    assert (found.mass_g, found.moulds, found.seed_g) == (1980, 4, 120)
    assert found.staged.moulds == 4
    assert found.staged.plan.schedule.mass_g == 1980
    assert next(words for at, words in found.moments if at == "10:00").startswith("Dip a knife")
    assert found.moments[0][1].startswith("Load 1.98 kg (32 bars of 60 g")
    assert [step.words for step in found.steps][3] == "Seeding at 33.5 °C"
    assert found.steps[0].why.startswith("Melt at 48.0 °C")
    assert found.warnings == ()
    assert found.staged.good_min is not None and found.good_min == round(found.staged.good_min)
    again = pickle.loads(pickle.dumps(found))
    assert again.staged.plan.digest == found.staged.plan.digest
    assert (again.steps, again.moments) == (found.steps, found.moments)


def test_a_pour_that_cannot_be_reached_is_said() -> None:
    """By mass alone as by bars; a pour earlier than now is one of tomorrow."""
    for bars in (0, 30):
        choice = Choice(LANTERN, 2000, bars=bars, pour_at_min=DAY_MIN)
        late = prepare(choice, BENCH_RIG, 21.0, DAY_MIN - 30)
        assert any(words.startswith("To pour then, it had to start") for words in late.warnings)
        early = prepare(choice, BENCH_RIG, 21.0, 6 * 60)
        assert early.warnings == ()


def test_kept_chocolate_and_what_cannot_be() -> None:
    """The method follows the start; a refusal says what would work."""
    found = prepare(Choice(LANTERN, 1500, start="in_temper"), BENCH_RIG, 21.0, DAY_MIN)
    assert found.staged.plan.schedule.method == "kept"
    assert found.seed_g == 0
    with pytest.raises(InputError) as no:
        prepare(Choice(LANTERN, 1500), BENCH_RIG, 34.0, DAY_MIN)
    assert "What would work" in no.value.remedy
