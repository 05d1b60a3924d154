"""The link against a scripted rig: requests, repeats, order, gaps, and the pulled cable."""

from collections.abc import Iterator

import pytest

from rigwire import messages, schedule
from rigwire.tables import PROMPTS
from snapgloss.base.errors import LinkError, RigError, VersionError
from snapgloss.base.records import Event, Reading, Status
from snapgloss.link.client import CONSOLE_MOST_BYTES, RigLink
from snapgloss.link.exchange import ANSWER_WAIT_S, TRIES
from snapgloss.link.streams import Gap
from snapgloss.link.testing import ScriptedClock, ScriptedRig

MISSING = messages.MISSING_MC


def values(at_ms: int, product_mc: int = 31_500) -> tuple[int, ...]:
    """Eleven values of a reading in `melting`, without a plate probe."""
    return (at_ms, 3, 1, 48_000, product_mc, MISSING, 21_000, 700, 0, 200, 0)


@pytest.fixture
def rig() -> ScriptedRig:
    """A rig of our own."""
    return ScriptedRig()


@pytest.fixture
def clock(rig: ScriptedRig) -> ScriptedClock:
    """Its clock."""
    return ScriptedClock(rig)


@pytest.fixture
def link(rig: ScriptedRig, clock: ScriptedClock) -> Iterator[RigLink]:
    """A link to it, closed at the end."""
    link = RigLink(rig, clock)
    yield link
    link.close()


def test_hello_gives_the_identity(rig: ScriptedRig, link: RigLink) -> None:
    """Hello names board, boot, state and limits, and keeps them."""
    rig.push_reading(values(1000), heard=False)
    identity = link.hello("0.1.0")
    assert (identity.board, identity.boot_nonce, identity.firmware) == ("scripted", 77, "0.1.0")
    assert (identity.major, identity.minor) == (1, messages.PROTOCOL_MINOR)
    assert identity.digest_held == ""
    assert (identity.state, identity.ceiling_mc, identity.heater_w) == ("off", 65_000, 100)
    assert (identity.oldest_reading, identity.newest_reading) == (0, 0)
    assert (identity.oldest_event, identity.newest_event) == (0, -1)
    assert identity.simulated is True
    assert link.identity == identity


@pytest.mark.parametrize(
    ("major", "who"), [(2, "Update this program."), (0, "Update the rig's firmware.")]
)
def test_other_major_says_which_side(
    rig: ScriptedRig, link: RigLink, major: int, who: str
) -> None:
    """Another major is refused, and the lower side is the one to update."""
    rig.answers["hello"] = ("hello_is", (major, *rig.hello_values()[1:]))
    with pytest.raises(VersionError) as caught:
        link.hello("0.1.0")
    assert caught.value.remedy == who
    assert caught.value.exit_code == 6


def test_other_major_of_another_shape(rig: ScriptedRig, link: RigLink) -> None:
    """A hello_is whose values we do not know still tells its major."""
    from rigwire import frames

    rig.send(frames.encode(["hello_is", 1_000_000, 3, 1, "short"]))  # not asked for: ignored
    rig.settle()
    rig.answers["hello"] = None
    original = rig.write

    def write(data: bytes) -> None:
        original(data)
        rig.send(frames.encode(["hello_is", rig.done[-1].number, 3, 1, "short"]))

    rig.write = write  # type: ignore[method-assign]
    with pytest.raises(VersionError, match=r"version 3\.1 of the wire"):
        link.hello("0.1.0")


def test_lost_requests_repeat_the_same_bytes(
    rig: ScriptedRig, link: RigLink, clock: ScriptedClock
) -> None:
    """Two unheard requests are sent again, byte for byte, one wait apart; the rig acts once."""
    rig.deaf_to = 2
    link.ask_start("0123abcd")
    assert len(rig.frames) == 3
    assert len(set(rig.frames)) == 1
    assert clock.at_s == 2 * ANSWER_WAIT_S
    assert [message.name for message in rig.done] == ["ask_start"]


def test_lost_answer_is_done_once(rig: ScriptedRig, link: RigLink) -> None:
    """When only the answer is lost, the repeat gets the same answer and nothing happens twice."""
    send, sent = rig.send, []

    def lossy(data: bytes) -> None:
        sent.append(data)
        if len(sent) > 1:
            send(data)

    rig.send = lossy  # type: ignore[method-assign]
    link.declare("seed", 120)
    assert [message.values for message in rig.done] == [[1, 120]]
    assert sent[0] == sent[1]


def test_ids_differ(rig: ScriptedRig, link: RigLink) -> None:
    """Each request has an id of its own."""
    link.off()
    link.off()
    assert rig.done[0].number != rig.done[1].number


def test_silent_rig(rig: ScriptedRig, link: RigLink, clock: ScriptedClock) -> None:
    """After TRIES unanswered requests the link gives up, at a known time."""
    rig.answers["off"] = None
    with pytest.raises(LinkError, match="does not answer"):
        link.off()
    assert (len(rig.frames), clock.at_s) == (TRIES, TRIES * ANSWER_WAIT_S)


def test_no_is_a_rig_error_in_its_words(rig: ScriptedRig, link: RigLink) -> None:
    """A refusal carries the rig's own words and code."""
    rig.answers["ask_start"] = ("no", ("heating", "off first, then start"))
    with pytest.raises(RigError, match=r"The rig says no: off first, then start \(heating\)\."):
        link.ask_start("0123abcd")


def test_upload_in_parts(rig: ScriptedRig, link: RigLink) -> None:
    """A body longer than one part arrives whole, opened with its length and digest."""
    body = b"1|Lantern 72|" + b"x" * 200
    digest = link.upload(body)
    assert rig.body == body
    assert rig.done[0].values == [213, digest]
    assert [m.values[0] for m in rig.done if m.name == "load_part"] == [0, 80, 160]
    assert digest == schedule.digest(body)


def test_upload_with_another_digest(rig: ScriptedRig, link: RigLink) -> None:
    """A rig that holds something else than was sent is an error."""
    rig.answers["load_done"] = ("held", ("00000000",))
    with pytest.raises(RigError, match="holds schedule 00000000"):
        link.upload(b"1|x")


def test_answer_and_status(rig: ScriptedRig, link: RigLink) -> None:
    """Prompts go by name; the status comes back by name."""
    link.answer("dip_knife")
    assert rig.done[0].values == [PROMPTS.index("dip_knife")]
    assert link.ask_status() == Status("off", 0, -1, "none", -1, -1, 0, 0, 0)


def test_pushes_become_records(rig: ScriptedRig, link: RigLink) -> None:
    """Readings, events and status arrive as records; a missing probe is None."""
    rig.push_reading(values(5000))
    rig.push_event(5100, "state", 3, 2)
    rig.push_status(3, 1, 600, 2, 30, -1, 0, 0, 4)
    rig.settle()
    assert link.take() == [
        Reading(0, 5000, "melting", 1, 48_000, 31_500, None, 21_000, 700, 0, 200, 0),
        Event(0, 5100, "state", 3, 2),
        Status("melting", 1, 600, "seed_in", 30, -1, 0, 0, 4),
    ]
    assert link.take() == []


def test_a_hole_is_fetched_in_order(rig: ScriptedRig, link: RigLink) -> None:
    """Five unheard readings come by fetch, in order, before the one that showed the hole."""
    rig.push_reading(values(0))
    for second in range(1, 6):
        rig.push_reading(values(second * 1000), heard=False)
    rig.push_reading(values(6000))
    rig.settle()
    taken = link.take()
    assert [one.seq for one in taken if isinstance(one, Reading)] == [0, 1, 2, 3, 4, 5, 6]
    assert [one.at_ms for one in taken if isinstance(one, Reading)] == [
        0, 1000, 2000, 3000, 4000, 5000, 6000,
    ]  # fmt: skip
    assert [m.values for m in rig.done if m.name == "fetch"] == [[1], [4]]


def test_overwritten_readings_are_a_gap(rig: ScriptedRig, link: RigLink) -> None:
    """What the rig overwrote comes as one Gap; the rest is fetched."""
    rig.push_reading(values(0))
    for second in range(1, 6):
        rig.push_reading(values(second * 1000), heard=False)
    rig.push_reading(values(6000))
    rig.lost_below[0] = 4
    rig.settle()
    taken = link.take()
    assert [one.seq for one in taken if isinstance(one, Reading)] == [0, 4, 5, 6]
    assert [one for one in taken if isinstance(one, Gap)] == [
        Gap("readings", 1, 3, "overwritten on the rig before it was fetched")
    ]


def test_a_rig_that_gives_nothing_is_a_gap_too(rig: ScriptedRig, link: RigLink) -> None:
    """When a fetch finds nothing the hole is a Gap, and what comes after it is taken."""
    rig.answers["fetch"] = ("batch", (1,))
    rig.push_reading(values(0))
    rig.push_reading(values(1000), heard=False)
    rig.push_reading(values(2000))
    rig.push_reading(values(3000))
    rig.settle()
    taken = link.take()
    assert [one.seq for one in taken if isinstance(one, Reading)] == [0, 2, 3]
    assert [one for one in taken if isinstance(one, Gap)] == [
        Gap("readings", 1, 1, "the rig did not give them when asked")
    ]


def test_events_are_fetched_too(rig: ScriptedRig, link: RigLink) -> None:
    """A hole among the events is filled, with kinds by name."""
    rig.push_event(0, "boot", 1)
    for number in range(1, 6):
        rig.push_event(number * 10, "press", number, heard=False)
    rig.push_event(90, "done")
    rig.settle()
    taken = [one for one in link.take() if isinstance(one, Event)]
    assert [(one.seq, one.kind, one.a) for one in taken] == [
        (0, "boot", 1), (1, "press", 1), (2, "press", 2), (3, "press", 3),
        (4, "press", 4), (5, "press", 5), (6, "done", 0),
    ]  # fmt: skip


def test_a_repeated_push_counts_once(rig: ScriptedRig, link: RigLink) -> None:
    """The same sequence number a second time is dropped."""
    rig.push_reading(values(0))
    rig.send(messages.encode("reading", 0, values(0)))
    rig.settle()
    assert len(link.take()) == 1


def test_catch_up_fetches_the_unheard_end(rig: ScriptedRig, link: RigLink) -> None:
    """Pushes lost at the very end, with nothing after them, come by catch_up."""
    link.follow_from(0, 0)
    for second in range(4):
        rig.push_reading(values(second * 1000), heard=False)
    rig.push_event(10, "done", heard=False)
    taken = link.catch_up(3, 0)
    assert [type(one).__name__ for one in taken] == ["Reading"] * 4 + ["Event"]
    assert link.catch_up(3, 0) == []


def test_catch_up_ends_though_the_rig_goes_on(rig: ScriptedRig, link: RigLink) -> None:
    """A rig that journals faster than it is fetched from is caught up to what hello named."""
    link.follow_from(0, 0)
    answer = rig._answer

    def growing(message: messages.Message) -> bytes:
        for _ in range(5):
            rig.push_reading(values(len(rig.readings) * 1000), heard=False)
        return answer(message)

    rig._answer = growing  # type: ignore[method-assign]
    newest = link.hello("0.1.0").newest_reading
    taken = link.catch_up(newest, -1)
    assert newest == 4
    assert len(taken) == 6


def test_follow_from_leaves_out_what_is_known(rig: ScriptedRig, link: RigLink) -> None:
    """Readings before the number asked for do not come."""
    for second in range(4):
        rig.push_reading(values(second * 1000), heard=False)
    link.follow_from(3, 0)
    assert [one.seq for one in link.catch_up(3, -1) if isinstance(one, Reading)] == [3]


def test_other_text_is_console(rig: ScriptedRig, link: RigLink) -> None:
    """A traceback, our own frame echoed and a damaged frame are kept as text."""
    echo = messages.encode("off", 5, ())
    damaged = messages.encode("reading", 9, values(0)).replace(b"48000", b"48001")
    rig.send(b"Traceback (most recent call last):\n" + echo + damaged)
    rig.settle()
    assert link.take() == []
    assert link.take_console().encode() == b"Traceback (most recent call last):\n" + echo + damaged
    assert link.take_console() == ""


def test_console_is_bounded(rig: ScriptedRig, link: RigLink) -> None:
    """Only the newest text is kept."""
    for number in range(2000):
        rig.send(b"line %04d of many\n" % number)
    rig.settle()
    text = link.take_console()
    assert len(text) <= CONSOLE_MOST_BYTES
    assert text.endswith("line 1999 of many\n")


def test_unknown_names_are_ignored(rig: ScriptedRig, link: RigLink) -> None:
    """A message that only a newer rig knows disturbs nothing."""
    from rigwire import frames

    rig.send(frames.encode(["humidity", 4, 55]))
    rig.push_reading(values(0))
    rig.settle()
    assert len(link.take()) == 1


def test_unplugged_while_watching(rig: ScriptedRig, link: RigLink) -> None:
    """What came before the cable was pulled is still given; then the link says it is gone."""
    rig.push_reading(values(0))
    rig.settle()
    rig.unplug()
    link.wait(1.0)
    assert len(link.take()) == 1
    assert link.wait(1.0) is True
    with pytest.raises(LinkError, match="the cable came out"):
        link.take()
    with pytest.raises(LinkError, match="the cable came out"):
        link.off()


def test_unplugged_during_a_request(rig: ScriptedRig, link: RigLink, clock: ScriptedClock) -> None:
    """A request under way ends at once when the cable is pulled, not after its last try."""
    original = rig.write

    def pull(data: bytes) -> None:
        original(data)
        rig.unplug()

    rig.answers["off"] = None
    rig.write = pull  # type: ignore[method-assign]
    with pytest.raises(LinkError, match="the cable came out"):
        link.off()
    assert clock.at_s == 0.0
