"""Host and stand-ins for rigs of every version of the wire that there was, and of two to come."""

from collections.abc import Iterator, Sequence
from typing import Any

import pytest

import versions
from rigwire import frames, messages, tables, views
from rigwire.errors import MessageRefused
from rigwire.message_table import REPORTS, REQUESTS
from snapgloss.base.errors import RigError, VersionError
from snapgloss.base.records import Event, Reading, Sample, Status
from snapgloss.link.client import BEAT_MINOR, SAMPLE_MINOR, RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs.teaching import LEARNED_MINOR

TOLD = versions.data()
MINORS = TOLD["minor"]
NUMBERS = [one["number"] for one in MINORS]
READING = (1000, 3, 1, 48_000, 31_500, messages.MISSING_MC, 21_000, 700, 0, 200, 0)
CALLS = {
    # a request that a rig may not know, as the link makes it
    "ask_test": lambda link: link.ask_test(100, 0, 0, 50_000, 10),
    "lease": lambda link: link.lease(100, 0, 0),
    "ask_update": lambda link: link.ask_update(),
    "load_learned": lambda link: link.teach(b"learned"),
}


def listed(what: str, minor: int) -> list[str]:
    """All of a kind that a version has, in the order in which they came."""
    return [word for one in MINORS[: minor + 1] for word in one.get(what, [])]


class RigOf(ScriptedRig):
    """A rig of another version: it knows its own requests, and pushes its own reports."""

    def __init__(self, minor: int, major: int = TOLD["major"]) -> None:
        super().__init__()
        self.version = (major, minor)
        self.knows = listed("requests", minor)
        self.refused: list[str] = []
        self.simulated = 0  # the host's clock is for rigs alone

    def hello_values(self) -> tuple[int | str, ...]:
        """As ever, but for the version; a newer one has a value more."""
        more = ("new",) if self.version[1] > NUMBERS[-1] else ()
        return (*self.version, *super().hello_values()[2:], *more)

    def _heard(self, array: list[int | str]) -> None:
        name, number = str(array[0]), int(array[1])
        if name not in self.knows:
            self.refused.append(name)
            self.send(messages.encode("no", number, ("message", "unknown name")))
        elif name == "hello":
            self.send(frames.encode(["hello_is", number, *self.hello_values()]))
        else:
            super()._heard(array)


class Place(ScriptedClock):
    """A link to such a rig, with its clock."""

    def __init__(self, minor: int, major: int = TOLD["major"]) -> None:
        self.rig = RigOf(minor, major)
        super().__init__(self.rig)
        self.link = RigLink(self.rig, self)


@pytest.fixture
def place(request: pytest.FixtureRequest) -> Iterator[Place]:
    """A place with a rig of the version that the test names."""
    made = Place(*request.param)
    yield made
    made.link.close()


def test_the_table_tells_of_all_that_there_is() -> None:
    """Each request, report, event and stop came with one version; the newest is the code's."""
    assert (TOLD["major"], NUMBERS) == (
        messages.PROTOCOL_MAJOR,
        list(range(messages.PROTOCOL_MINOR + 1)),
    )
    newest = NUMBERS[-1]
    assert sorted(listed("requests", newest)) == sorted(REQUESTS)
    assert sorted(listed("reports", newest)) == sorted(REPORTS)
    for words, added in (
        (tables.EVENT_NAMES, listed("events", newest)),
        (views.STOP_KEYS, listed("stops", newest)),
    ):
        assert list(words[-len(added) :]) == added


def test_what_the_host_holds_back_is_what_the_table_says() -> None:
    """By the versions that the code has for it."""
    held = {name: one["number"] for one in MINORS for name in one.get("held_back", [])}
    assert held == {"beat": BEAT_MINOR, "fetch_samples": SAMPLE_MINOR}
    assert MINORS[LEARNED_MINOR]["requests"] == ["load_learned"]
    told = {name for one in MINORS for name in one.get("refused", [])} | set(held)
    assert told == set(listed("requests", NUMBERS[-1])) - set(MINORS[0]["requests"])


def test_the_page_has_the_table() -> None:
    """host/docs/upgrading.md is as the data has it; WIRE.md names the newest version."""
    text = versions.PAGE.read_text("utf-8")
    assert versions.generated(text) == text
    wire = (versions.ROOT / "protocol" / "WIRE.md").read_text("utf-8")
    changes = (versions.ROOT / "protocol" / "CHANGES.md").read_text("utf-8")
    newest = f"{TOLD['major']}.{NUMBERS[-1]}"
    assert wire.startswith(f"# The wire, protocol {newest}\n")
    assert [line for line in changes.splitlines() if line.startswith("## ")] == [
        f"## {TOLD['major']}.{number}" for number in reversed(NUMBERS)
    ]


@pytest.mark.parametrize(
    "place", [(minor,) for minor in [*NUMBERS, NUMBERS[-1] + 1]], indirect=True, ids=str
)
def test_a_batch_runs_with_a_rig_of_every_version(place: Place) -> None:
    """Loaded, asked for, followed over a hole in the journal, turned off: nothing is refused."""
    rig, link = place.rig, place.link
    identity = link.hello("0.1.0")
    assert (identity.major, identity.minor) == rig.version
    link.ask_start(link.upload(b"schedule"))
    link.follow_from(0, 0)
    for seq in range(6):
        rig.push_reading((seq * 1000, *READING[1:]), heard=seq in (0, 5))
    rig.push_event(5000, "step", 1, 0)
    rig.push_status(3, 1, 60, 0, -1, -1, 0, 0, 0)
    rig.settle()
    took = link.take()
    while link.behind():
        took += link.take()
    place.at_s += 60
    link.wait(1.0)
    link.declare("seed", 100)
    link.answer("seed_in")
    link.off()
    assert [one.seq for one in took if isinstance(one, Reading)] == [0, 1, 2, 3, 4, 5]
    assert [one.kind for one in took if isinstance(one, Event)] == ["step"]
    assert [one.state for one in took if isinstance(one, Status)] == ["melting"]
    assert rig.refused == []
    assert ("beat" in [message.name for message in rig.done]) == ("beat" in rig.knows)
    assert link.knows_samples == ("fetch_samples" in rig.knows)


@pytest.mark.parametrize("place", [(minor,) for minor in NUMBERS], indirect=True, ids=str)
def test_what_an_older_rig_does_not_know_ends_in_a_sentence(place: Place) -> None:
    """The rig says no and the host says to update it; a request of its own version is done."""
    place.link.hello("0.1.0")
    for one in MINORS:
        for name in one.get("refused", []):
            if one["number"] <= place.rig.version[1]:
                CALLS[name](place.link)
                continue
            with pytest.raises(RigError) as caught:
                CALLS[name](place.link)
            assert caught.value.remedy.startswith("Update the rig's firmware")
    assert set(place.rig.refused) == set(CALLS) - set(place.rig.knows)


@pytest.mark.parametrize("place", [(NUMBERS[-1] + 1,)], indirect=True, ids=str)
def test_words_of_a_newer_rig_are_shown_as_numbers(place: Place) -> None:
    """A state, a prompt, a cause, a flag and a kind that we do not know lose nothing."""
    rig, link = place.rig, place.link
    link.hello("0.1.0")
    link.follow_from(0, 0)
    wider: Sequence[Any] = (
        ["reading", 0, *READING[:1], 17, *READING[2:10], 2048, 5],
        ["status", 0, 17, 1, 60, 9, -1, -1, 40, 41, 0, 7],
        ["event", 0, 1000, "sang", 1, 2, 3],
        ["humidity", 1, 55],
        ["sample", 0, 1000, 30_000, 1],
    )
    for array in wider:
        rig.send(frames.encode(list(array)))
    rig.settle()
    reading, status, event, sample = link.take()
    assert isinstance(reading, Reading)
    assert (reading.state, reading.product_mc, reading.flags) == ("state 17", 31_500, 2048)
    assert isinstance(status, Status)
    assert (status.state, status.prompt, status.stop_code) == ("state 17", "prompt 9", 40)
    assert isinstance(event, Event)
    assert (event.kind, event.a) == ("sang", 1)
    assert isinstance(sample, Sample)
    assert link.take_console() == ""


@pytest.mark.parametrize("array", [
    ["reading", 0, *READING[:4], 200_001, *READING[5:]],
    ["reading", 0, *READING[:7], 1001, *READING[8:]],
    ["status", 0, -1, 1, 60, 0, -1, -1, 0, 0, 0],
    ["status", 0, "17", 1, 60, 0, -1, -1, 0, 0, 0],
])  # fmt: skip
def test_only_words_may_grow(array: list[int | str]) -> None:
    """A temperature, a power or a negative number out of range is refused from any rig."""
    with pytest.raises(MessageRefused, match="out of range"):
        messages.parse(array, messages.TO_HOST, lenient=True)


@pytest.mark.parametrize(
    ("place", "remedy"),
    [((5, 0), "Update the rig's firmware."), ((0, 2), "Update this program."),
     ((9, 3), "Update this program.")],
    indirect=["place"],
)  # fmt: skip
def test_a_rig_of_another_major_is_named_and_may_still_be_turned_off(
    place: Place, remedy: str
) -> None:
    """The lower side is the one to update; nothing but hello was sent until off."""
    place.rig.knows = [*listed("requests", 0)]
    with pytest.raises(VersionError) as caught:
        place.link.hello("0.1.0")
    assert caught.value.remedy == remedy
    assert [frame.split(b",")[0] for frame in place.rig.frames] == [b'["hello"']
    place.link.off()
    assert [message.name for message in place.rig.done] == ["off"]
