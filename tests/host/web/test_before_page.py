"""The page before a batch, built by NiceGUI in this process: from choosing to sending."""

import asyncio
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from nicegui.testing import User
from tests.host.synthetic import SEEDED, keep, synthetic
from tests.host.web.conftest import visit

from snapgloss.runs import choices, grading, lots, shelf
from snapgloss.runs import words as said
from snapgloss.runs.choices import Remembered
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.live.staged import Staged
from snapgloss.schedules.files import to_text, write
from snapgloss.store import open_store
from snapgloss.store.store import Store
from snapgloss.web.desk import Who
from snapgloss.web.pages.before import ahead, draft
from snapgloss.web.site import Site
from snapgloss.web.words import PROBLEMS
from snapgloss.web.words_before import BEFORE

NAME = '<script>alert("1")</script>'
SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty record of the test's own."""
    with open_store(tmp_path) as store:
        yield store


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing waits for more touches."""
    monkeypatch.setattr(ahead, "SETTLES_S", 0.0)


async def see(user: User, words: str) -> None:
    """Wait until something is worked out."""
    await user.should_see(words, retries=100)


async def choose(user: User, name: str = "lantern 72") -> None:
    """Choose a chocolate, and wait for its forecast."""
    user.find(marker=f"own {name}").click()
    await see(user, "until all is off")


async def figure(user: User, marker: str, typed: str) -> None:
    """Type a figure on the pad."""
    user.find(marker=marker).click()
    await user.should_see(marker="pad-ok")
    for key in typed:
        user.find(marker=f"pad-{key}").click()
    user.find(marker="pad-ok").click()


def the_staged(site: Site) -> Staged:
    """What waits to be sent."""
    found = site.session.take_staged()
    assert found is not None
    return found


def enter_bag(user: User, lot: str, *contains: str) -> None:
    """Enter a bag by touch, up to the button that keeps it."""
    user.find(marker="enter-bag").click()
    user.find(marker="bag-lot").type(lot)
    for allergen in contains:
        user.find(marker=f"contains-{allergen}").click()
    user.find(marker="bag-keep").click()


def test_a_batch_is_chosen_checked_and_sent(site: Site, store: Store) -> None:
    """The mass follows from the bars, the bag goes along, the note says what was checked, and it
    is only staged."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    lots.enter_bag(store, "L-1", "Lantern 72", contains=["soya"])

    async def steps(user: User) -> None:
        await choose(user)
        await figure(user, "bars", "30")
        await see(user, "1.98 kg in the bowl")
        await user.should_see("120 g of seed. 4 moulds.")
        await user.should_see("Contains soya.")
        user.find(marker="send").click()
        await user.should_see(BEFORE["unchecked"].format(what="all dry"))
        assert not site.session.has_staged
        user.find(marker="check-dry").click()
        user.find(marker="send").click()
        await user.should_see(BEFORE["sent"].format(words=said.PRESS_START))
        await user.should_see(BEFORE["waits"])

    visit(site, steps, "/before")
    staged = the_staged(site)
    assert (staged.plan.schedule.mass_g, staged.moulds) == (1980, 4)
    assert staged.sources.lots == ("L-1",)  # the only bag of its name is meant
    assert staged.sources.note == "Before the start: bowl and probe dry."
    assert site.desk.last is not None and site.desk.last.what == "stage"
    own = shelf.own_chocolates(site.folder, store)[0]
    assert choices.remembered(site.folder, own).bars == 30


def test_a_schedule_of_the_makers_own_is_sent_as_it_is(site: Site, store: Store) -> None:
    """It is offered with its chocolate alone; its steps go to the rig, the figures of making are
    out of sight, and what is made here next time is not changed by it."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    shelf.add_chocolate(site.folder, "Ash Milk", "milk")
    own = demo_schedule(1500)
    steps_of_own = (*own.steps[:-1], own.steps[-1].model_copy(update={"hold_s": 1234}))
    own = own.model_copy(update={"name": "Short pour", "steps": steps_of_own})
    (site.folder / "schedules").mkdir()
    write(site.folder / "schedules" / "short.toml", own)
    (site.folder / "schedules" / "broken.toml").write_text("no schedule")

    async def steps(user: User) -> None:
        await choose(user, "ash milk")
        await user.should_not_see(BEFORE["made_here"])
        await choose(user)
        await user.should_see(BEFORE["made_here"])
        user.find("Short pour, 1.5 kg").click()
        await see(user, "1.5 kg in the bowl")
        await user.should_not_see(marker="mass_g")
        await user.should_not_see(BEFORE["method"])
        await user.should_see("of seed in.")
        user.find(marker="check-dry").click()
        user.find(marker="send").click()
        await user.should_see(BEFORE["waits"])

    visit(site, steps, "/before")
    staged = the_staged(site)
    assert staged.plan.steps[-1].hold_s == 1234
    assert staged.plan.schedule.mass_g == 1500
    lantern = next(o for o in shelf.own_chocolates(site.folder, store) if o.key == "lantern 72")
    assert choices.remembered(site.folder, lantern) == Remembered()


def test_another_device_that_leads_keeps_the_rig(site: Site) -> None:
    """Sending needs the lead, and says so."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    site.desk.take_lead(Who("10.0.0.1", "other"))

    async def steps(user: User) -> None:
        await choose(user)
        user.find(marker="check-dry").click()
        user.find(marker="send").click()
        await user.should_see(PROBLEMS["lead"])

    visit(site, steps, "/before")
    assert not site.session.has_staged


def test_milk_before_dark_is_asked_for(site: Site, store: Store) -> None:
    """Its bars for a re-melt are a source, whose allergens count; a bag is entered by touch."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark", ["soya"])
    told = {"schedule_toml": to_text(demo_schedule()), "simulated": False}
    old = keep(store, synthetic(SHORT), chocolate="Ash Milk", type="milk", **told)
    grading.grade(store, old, "remelt")

    async def steps(user: User) -> None:
        await choose(user)
        await user.should_see("Last batch: Ash Milk, with milk.")
        user.find(marker=f"remelt-{old}").click()
        enter_bag(user, "L-7", "soya", "milk")
        await user.should_see("Contains milk, soya.")
        await user.should_see("Last batch: Ash Milk; nobody said what is in it.")
        user.find(marker="check-dry").click()
        user.find(marker="check-washed").click()
        user.find(marker="send").click()
        await user.should_see(BEFORE["waits"])

    visit(site, steps, "/before")
    (bag,) = store.bags()
    assert (bag.lot, bag.name, bag.contains) == ("L-7", "Lantern 72", ("milk", "soya"))
    found = the_staged(site).sources
    assert (found.lots, found.remelts) == (("L-7",), (old,))


def test_a_bag_without_allergens_is_said_to_have_none(site: Site, store: Store) -> None:
    """By touch; none and an allergen are refused together, and a lot in other letters is the same
    bag."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    lots.enter_bag(store, "L-7", "Lantern 72")

    async def steps(user: User) -> None:
        await choose(user)
        enter_bag(user, "l-7", "none", "milk")
        await user.should_see("None and an allergen cannot both be.")
        user.find(marker="contains-milk").click()
        user.find(marker="bag-keep").click()
        await user.should_see(BEFORE["bag_kept"].format(lot="L-7"))
        await user.should_not_see("Nobody has said what is in")

    visit(site, steps, "/before")
    (bag,) = store.bags()
    assert (bag.lot, bag.contains) == ("L-7", ("none",))


def test_what_cannot_work_is_said_with_what_would(site: Site) -> None:
    """In a hot room nothing can be sent."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")

    async def steps(user: User) -> None:
        await choose(user)
        await figure(user, "room", "34")
        await see(user, "is too warm")
        await user.should_see("What would work")
        user.find(marker="check-dry").click()
        user.find(marker="send").click()

    visit(site, steps, "/before")
    assert not site.session.has_staged


def test_a_fault_of_ours_is_told(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """And no traceback."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")

    def broken(*_given: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(draft, "prepare", broken)

    async def steps(user: User) -> None:
        user.find(marker="own lantern 72").click()
        await see(user, PROBLEMS["fault"])

    visit(site, steps, "/before")


def test_what_takes_long_says_so(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """And what was worked out for an older choice is not shown."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    monkeypatch.setattr(ahead, "SAY_AFTER_S", 0.0)
    begun: list[int] = []
    real = draft.prepare

    def counted(choice: object, *given: object) -> object:
        begun.append(choice.mass_g)  # type: ignore[attr-defined]
        return real(choice, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(draft, "prepare", counted)

    async def steps(user: User) -> None:
        user.find(marker="own lantern 72").click()
        await see(user, BEFORE["working"])
        await figure(user, "mass_g", "1500")
        await see(user, "1.5 kg in the bowl")
        await user.should_not_see("2 kg in the bowl")
        while len(begun) < 2:
            await asyncio.sleep(0)
        await user.should_not_see(BEFORE["working"])

    visit(site, steps, "/before")
    assert begun[-1] == 1500


def test_a_pad_refuses_what_cannot_be(site: Site) -> None:
    """With a sentence, and the old figure stands; left open, by mass is meant again."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")

    async def steps(user: User) -> None:
        await choose(user)
        await figure(user, "mass_g", "99")
        await user.should_see("99 g cannot be.")
        user.find(marker="pad-cancel").click()
        await figure(user, "pour", "2561")
        await user.should_see("25:61 is no time of day.")
        user.find(marker="pad-cancel").click()
        await figure(user, "bars", "8")
        await see(user, "580 g in the bowl")
        user.find(marker="bars").click()
        user.find(marker="pad-open").click()
        await see(user, "2 kg in the bowl")

    visit(site, steps, "/before")


def test_names_stay_text(site: Site, store: Store) -> None:
    """Of chocolates and bags, however they are written."""

    async def steps(user: User) -> None:
        await user.should_see(BEFORE["none"])
        user.find(marker="another").click()
        user.find(marker="add-name").type(NAME)
        user.find(marker="type-milk").click()
        user.find(marker="add").click()
        await see(user, "until all is off")
        await user.should_see(NAME)
        html = (await user.http_client.get("/before")).text
        assert "<script>alert" not in html

    visit(site, steps, "/before")
    (own,) = shelf.own_chocolates(site.folder, store)
    assert (own.chocolate.name, own.chocolate.type) == (NAME, "milk")


def test_the_window_is_shown_and_what_came_of_it(site: Site) -> None:
    """Press start, for how long, under way, and how it ended; nothing to send meanwhile."""
    shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    feed = site.session.feed
    feed.tell(replace(feed.moment, state="ready", now=said.PRESS_START, window_left_s=161))

    async def steps(user: User) -> None:
        await choose(user)
        await user.should_see(f"{said.PRESS_START} The rig waits for 2 min 41 s more.")
        await user.should_not_see(marker="send")
        feed.tell(replace(feed.moment, state="melting", window_left_s=None))
        await see(user, BEFORE["under_way"])
        feed.tell(replace(feed.moment, state="off", ended=said.CLOSED))
        await see(user, said.CLOSED)
        await user.should_see(marker="send")

    visit(site, steps, "/before")


@pytest.mark.parametrize(
    "damaged",
    ["", "[]", "{", '{"x": 1}', '{"lantern 72": {"mass_g": "x"}}',
     '{"lantern 72": {"start": "burnt"}}', '{"lantern 72": {"new": 1}}'],
)  # fmt: skip
def test_choices_are_remembered_and_damage_is_forgotten(
    site: Site, store: Store, damaged: str
) -> None:
    """For each chocolate; before that, as it was tempered last."""
    told = {"schedule_toml": to_text(demo_schedule(1500)), "mass_g": 1500}
    keep(store, synthetic(SHORT), **told)
    (own,) = shelf.own_chocolates(site.folder, store)
    last = Remembered(1500, "solid", "seeded")
    assert choices.remembered(site.folder, own) == last
    chosen = Remembered(2500, "in_temper", "kept", 40, 50, 10)
    choices.remember(site.folder, own, chosen)
    assert choices.remembered(site.folder, own) == chosen
    (site.folder / choices.FILE_NAME).write_text(damaged, encoding="utf-8")
    assert choices.remembered(site.folder, own) == last


def test_choices_do_not_grow_for_ever(site: Site) -> None:
    """The oldest go."""
    made = shelf.add_chocolate(site.folder, "Lantern 72", "dark")
    for number in range(choices.CHOCOLATES_MOST + 5):
        one = shelf.Own(made.model_copy(update={"name": f"No {number}"}), None)
        choices.remember(site.folder, one, Remembered(1000 + number))
    held = json.loads((site.folder / choices.FILE_NAME).read_text(encoding="utf-8"))
    assert next(iter(held)) == "no 5"
    assert len(held) == choices.CHOCOLATES_MOST
