"""The page after a batch, built by NiceGUI in this process: knife, trays, turning out, grades."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from nicegui.testing import User
from tests.host.card_photos import Shot, photo_of
from tests.host.card_sounds import snap_sound, wav_of
from tests.host.photographs import JPEG
from tests.host.synthetic import SEEDED, keep, synthetic
from tests.host.web.conftest import HandClock, visit

from snapgloss.base.records import Sample
from snapgloss.quality.trays import trays_of
from snapgloss.runs import grading
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.knife import Knives
from snapgloss.runs.live.sample_run import sample_run
from snapgloss.runs.sample_words import NO_PROBE_HEARD
from snapgloss.runs.sampling import FILL
from snapgloss.schedules.files import to_text
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.pages.after.gloss import GlossView
from snapgloss.web.pages.after.grades import GradesView
from snapgloss.web.site import Site
from snapgloss.web.words_after import AFTER

SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)
NAME = "<img src=x onerror=alert(1)>"
WEEK_MS = 7 * 24 * 3600 * 1000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty record of the test's own."""
    with open_store(tmp_path) as store:
        yield store


@pytest.fixture
def run_id(store: Store) -> int:
    """A batch on a real rig, just over."""
    told = {"schedule_toml": to_text(demo_schedule()), "simulated": False}
    return keep(store, synthetic(SHORT), chocolate=NAME, **told)


@pytest.fixture
def knives(site: Site) -> HandClock:
    """The clock of the knives."""
    clock = HandClock()
    site.knives = Knives(clock)
    return clock


def test_without_a_batch_it_says_so(site: Site) -> None:
    """And with a number that is none."""

    async def steps(user: User) -> None:
        await user.should_see(AFTER["none"])

    visit(site, steps, "/after?run=7")


def test_a_knife_is_timed_over_visits(
    site: Site, store: Store, run_id: int, knives: HandClock
) -> None:
    """Out, four minutes by the clock, another page sees it too, one answer of three."""

    async def steps(user: User) -> None:
        user.find(marker="knife-out").click()
        await user.should_see("out for 0 s")
        knives.at_s += 240
        await user.should_see("out for 4 min", retries=60)
        await user.should_see(AFTER["knife_look"])
        await user.open("/after")
        await user.should_see("out for 4 min")
        user.find(marker="knife-streaks").click()
        await user.should_see("Set in 4 min at 21.0 °C, with streaks: not in temper")
        await user.should_see(marker="knife-out")

    visit(site, steps, "/after")
    (row,) = store.smears()
    assert (row.run_id, row.set_s, row.streaks) == (run_id, 240, True)
    assert site.desk.last is not None and site.desk.last.what == "knife"


def test_a_knife_is_put_away(site: Site, store: Store, run_id: int, knives: HandClock) -> None:
    """Nothing is kept then; after ten minutes it says so."""

    async def steps(user: User) -> None:
        user.find(marker="knife-out").click()
        knives.at_s += 601
        await user.should_see(AFTER["knife_over"], retries=60)
        user.find(marker="knife-away").click()
        await user.should_see(marker="knife-out")

    visit(site, steps, "/after")
    assert store.smears() == []
    assert site.knives.out_s(run_id) is None


def test_the_curve_is_guided(site: Site, store: Store, run_id: int) -> None:
    """No probe, then what to do with the tube."""

    async def steps(user: User) -> None:
        await user.should_see(NO_PROBE_HEARD)
        found = sample_run(site.folder, store, False)
        assert found is not None and site.session.link is not None
        found.take(Sample(0, 0, 31_500), site.session.link)
        site.session.samples = found.words
        await user.should_see(FILL, retries=60)

    visit(site, steps, "/after")


def test_trays_go_in_and_out(site: Site, store: Store, run_id: int) -> None:
    """Each by one touch."""

    async def steps(user: User) -> None:
        user.find(marker="tray-in").click()
        user.find(marker="tray-in").click()
        await user.should_see("Tray 2: in for")
        await user.should_see("evenly pale = released.")
        user.find(marker="tray-out-1").click()
        await user.should_see("Tray 1: in at")
        store.add_tray(run_id, 3, "in", store.runs()[0].started_utc_ms + 1)
        await user.should_see(marker="tray-out-3", retries=60)  # of another device

    visit(site, steps, "/after")
    assert [tray.out_utc_ms is None for tray in trays_of(store.trays(run_id))] == [
        False, True, True,
    ]  # fmt: skip


async def humidity(user: User, typed: str) -> None:
    """Type the humidity."""
    for key in typed:
        user.find(marker=f"pad-{key}").click()
    user.find(marker="pad-ok").click()


def test_whether_bars_may_be_turned_out(site: Site, store: Store, run_id: int) -> None:
    """The damp is asked for; the room is kept once, however often it is asked."""

    async def steps(user: User) -> None:
        user.find(marker="turn-out").click()
        await humidity(user, "60")
        await user.should_see("the room is damp: the dew point is 12.9 °C.")
        await user.should_see("the room is damp: the dew point is 55.2 °F.")
        user.find(marker="turn-out").click()
        user.find(marker="humidity").click()
        await humidity(user, "40")
        await user.should_see("Turn out now")

    visit(site, steps, "/after")
    rows = store.bars(run_id).conditions
    assert [(row.room_mc, row.humidity_permille) for row in rows] == [(21_000, 600), (21_000, 400)]


def test_bars_are_graded_by_one_touch(site: Site, store: Store, run_id: int) -> None:
    """What it is may follow, and is no correction; another grade takes no marks along."""

    async def steps(user: User) -> None:
        await user.should_not_see(marker="marks-keep")
        user.find(marker="grade-seconds").click()
        await user.should_see("Kept: Seconds at first.")
        user.find(marker="mark-dull").click()
        user.find(marker="marks-keep").click()
        await user.should_see("Kept: Seconds at first: dull.")
        user.find(marker="grade-remelt").click()
        await user.should_see(AFTER["to_remelt"])

    visit(site, steps, "/after")
    entries = [(row.verdict, row.marks) for row in store.grades(run_id)]
    assert entries == [("seconds", ()), ("seconds", ("dull",)), ("remelt", ())]


@pytest.mark.parametrize(("content", "kept"), [(JPEG, 1), (b"<svg onload=alert(1)>", 0)])
def test_a_photo_goes_with_the_grade(
    site: Site, store: Store, run_id: int, content: bytes, kept: int
) -> None:
    """As the record keeps photos; what is none is refused with a sentence."""
    views: list[GradesView] = []
    real = GradesView._photo

    def photo(view: GradesView) -> None:
        views.append(view)
        real(view)

    async def read() -> bytes:
        return content

    async def steps(user: User) -> None:
        user.find(marker="grade-sell").click()
        await user.should_see("Kept: Sell at first.")
        event = SimpleNamespace(
            file=SimpleNamespace(read=read), sender=SimpleNamespace(reset=lambda: None)
        )
        await views[0]._keep_photo(event)  # type: ignore[arg-type]
        await user.should_see(AFTER["photo_kept"] if kept else "is no photo")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(GradesView, "_photo", photo)
        visit(site, steps, "/after")
    assert len(grading.bars_summary(store, run_id).photos) == kept


def test_bars_are_asked_for_again(site: Site, store: Store, run_id: int) -> None:
    """A day after, and one touch away; names stay text."""
    ended = store.run(run_id).ended_utc_ms
    assert ended is not None
    moved = grading.due_looks(store, ended + WEEK_MS)
    assert [look.words for look in moved] == [
        f"Run {run_id}, {NAME}: grade the bars after a week."
    ]

    async def steps(user: User) -> None:
        await user.should_see(moved[0].words)
        html = (await user.http_client.get("/after")).text
        assert "<img src=x" not in html

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(grading, "due_looks", lambda _store: moved)
        visit(site, steps, f"/after?run={run_id}")


def test_another_batch_is_named_by_its_number(site: Site, store: Store, run_id: int) -> None:
    """The last one without; a GET changes nothing."""
    new = keep(store, synthetic(SHORT), 9, chocolate="Umber 64")
    assert store.run(new).chocolate == "Umber 64"

    async def steps(user: User) -> None:
        await user.should_see(f"Batch {new}: Umber 64, 2 kg")
        await user.open(f"/after?run={run_id}")
        await user.should_see(f"Batch {run_id}: {NAME}, 2 kg")
        await user.open("/after?run=999999999999")
        await user.should_see(f"Batch {new}: Umber 64, 2 kg")

    visit(site, steps, "/after")
    assert store.grades() == []
    assert site.desk.last is None


def test_the_room_is_that_of_the_rig(site: Site, store: Store, run_id: int) -> None:
    """To a tenth."""
    feed = site.session.feed
    feed.tell(replace(feed.moment, room_mc=23_456))

    async def steps(user: User) -> None:
        await user.should_see("23.5 °C")

    visit(site, steps, "/after")


def test_bad_bars_are_told_what_they_come_of(site: Site, run_id: int) -> None:
    """Cracks come of a cold refrigerator; without a figure for it, what it may be."""

    async def steps(user: User) -> None:
        user.find(marker="grade-seconds").click()
        await user.should_see("Kept: Seconds at first.")
        user.find(marker="mark-cracks").click()
        user.find(marker="marks-keep").click()
        await user.should_see("Look at the refrigerator, not at the bowl")
        await user.should_see("nothing is wrong with the chocolate")

    visit(site, steps, "/after")


@pytest.mark.parametrize(
    ("kind", "content", "words"),
    [
        ("photo", photo_of(Shot(0.01, rays=3)), "as sharp as on the card."),
        ("photo", JPEG, "The line card is not seen"),
        ("sound", wav_of(snap_sound(1)), "Snap: -"),
        ("sound", b"OggS", "This is no WAV file."),
    ],
)
def test_gloss_and_snap_are_taken_beside_the_bars(
    site: Site, store: Store, run_id: int, kind: str, content: bytes, words: str
) -> None:
    """As the kept bar's when that is touched; what says nothing is refused with a sentence."""
    views: list[GlossView] = []
    real = GlossView._picker

    def picker(view: GlossView, *given: object) -> None:
        views.append(view)
        real(view, *given)  # type: ignore[arg-type]

    async def read() -> bytes:
        return content

    async def steps(user: User) -> None:
        user.find(marker="which-kept").click()
        event = SimpleNamespace(
            file=SimpleNamespace(read=read), sender=SimpleNamespace(reset=lambda: None)
        )
        await getattr(views[0], f"_keep_{kind}")(event)
        await user.should_see(words)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(GlossView, "_picker", picker)
        visit(site, steps, "/after")
    rows = [*store.glosses(run_id), *store.snaps(run_id)]
    assert [row.kept for row in rows] == ([] if words[0] == "T" else [True])
