"""The API: what it tells, what it takes, and that its own schemas say so."""

import asyncio
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from tests.host.synthetic import keep, synthetic
from tests.host.web.conftest import Asker, HandClock

from rigwire.tables import PROMPTS
from snapgloss.link.testing import ScriptedRig
from snapgloss.runs.demo import demo_schedule
from snapgloss.runs.live.feed import Point
from snapgloss.runs.live.moment import Ahead, Moment, Said
from snapgloss.schedules.files import to_text
from snapgloss.store import open_store
from snapgloss.web.api import stream
from snapgloss.web.api.schema import COMMANDS, schemas
from snapgloss.web.site import Site

NAME = '<img src=x onerror="alert(1)">'


def points(count: int) -> list[Point]:
    """A curve that goes up."""
    return [Point(float(n), 20_000 + n, 31_500, None, 100) for n in range(count)]


def checked(data: Any, name: str) -> Any:
    """The data, held against the schema of that name."""
    jsonschema.validate(data, schemas()[name], jsonschema.Draft202012Validator)
    return data


def test_state_is_what_the_session_told(ask: Asker, site: Site, clock: HandClock) -> None:
    """The newest moment, how old its reading is by the server's clock, and no points."""
    site.session.feed.tell(
        Moment(is_there=True, state="cooling", product_mc=33_500), points(3), True
    )
    clock.at_s += 2.5
    found = checked(ask("GET", "/api/state").data, "live")
    assert (found["age_s"], found["points"]) == (2.5, [])
    assert (found["state"]["state"], found["state"]["product_mc"]) == ("cooling", 33_500)
    checked(found["state"], "moment")


def test_nothing_heard_has_no_age(ask: Asker, site: Site) -> None:
    """Before the first reading nothing is told as if it were of now."""
    site.hub.feed._heard_at_s = None
    assert ask("GET", "/api/state").data["age_s"] == -1


def test_sentences_come_in_both_scales(ask: Asker, site: Site) -> None:
    """A page shows °F without asking again; °C stays beside it."""
    moment = Moment(
        now="Moulds to 22 to 26 °C.", card="Nothing.", said=(Said(3, "Cooling to 33.5 °C."),),
        ahead=Ahead("Cool to 33.5 °C", 60),
    )  # fmt: skip
    site.session.feed.tell(moment)
    state = ask("GET", "/api/state").data["state"]
    assert state["fahrenheit"] == {"now": "Moulds to 72 to 79 °F."}
    assert state["said"] == [
        {"at_s": 3, "words": "Cooling to 33.5 °C.", "fahrenheit": "Cooling to 92.3 °F."}
    ]
    assert state["ahead"]["fahrenheit"] == "Cool to 92.3 °F"


def test_readings_go_on_where_a_program_left(ask: Asker, site: Site) -> None:
    """From a number on; all of it for another epoch, or for a number that cannot be."""
    site.session.feed.begin_anew(points(10))
    first = checked(ask("GET", "/api/readings").data, "live")
    assert (first["next"], len(first["points"]), first["anew"]) == (10, 10, True)
    epoch = first["epoch"]
    site.session.feed.tell(Moment(), points(12)[10:])
    more = ask("GET", f"/api/readings?epoch={epoch}&since=10").data
    assert more["points"] == [[10.0, 20_010, 31_500, None, 100], [11.0, 20_011, 31_500, None, 100]]
    assert (more["next"], more["anew"]) == (12, False)
    for query in ("epoch=other&since=10", f"epoch={epoch}&since=99", f"epoch={epoch}&since=-1",
                  f"epoch={epoch}&since=9999999999999", f"epoch={epoch}&since=x"):  # fmt: skip
        assert len(ask("GET", f"/api/readings?{query}").data["points"]) == 12


def events_of(site: Site, count: int, between: Callable[[int], None]) -> list[dict[str, Any]]:
    """The first events of a stream; `between` changes something after each."""

    async def run() -> list[dict[str, Any]]:
        site.hub.attach(asyncio.get_running_loop())
        found = []
        async for line in stream.events(site, "ab12"):
            assert line.startswith(b"data: ") and line.endswith(b"\n\n")
            found.append(json.loads(line[6:]))
            if len(found) == count:
                return found
            between(len(found))
        return found

    return asyncio.run(run())


def test_the_stream_tells_all_once_and_then_what_is_new(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The curve from its beginning, then only new points; what is ahead only when it changed."""
    monkeypatch.setattr(stream, "LEAST_S", 0.0)
    feed = site.session.feed
    ahead = Ahead("Cool", 60, ((1, 2, 2, 3),), 5)
    feed.tell(Moment(ahead=ahead))
    feed.begin_anew(points(5))
    steps = {
        1: lambda: feed.tell(Moment(ahead=ahead), points(7)[5:]),
        2: lambda: feed.tell(Moment(ahead=replace(ahead, version=6))),
        3: feed.begin_anew,
    }
    found = events_of(site, 4, lambda n: steps[n]() or site.hub.wake_all())
    assert [len(one["points"]) for one in found] == [5, 2, 0, 0]
    assert [one["anew"] for one in found] == [True, False, False, True]
    assert ["curve" in one["state"]["ahead"] for one in found] == [True, False, True, True]
    assert [one["pages"] for one in found] == [1] * 4
    assert site.hub.pages == 0


def test_a_slow_page_gets_all_at_once(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is queued for it: a hundred changes while it was slow are one event."""
    monkeypatch.setattr(stream, "LEAST_S", 0.0)
    feed = site.session.feed
    feed.begin_anew()

    def change(_number: int) -> None:
        for n in range(100):
            feed.tell(Moment(at_s=n), [Point(float(n), 1, 1, 1, 1)])
        site.hub.wake_all()

    found = events_of(site, 2, change)
    assert len(found[1]["points"]) == 100
    assert found[1]["state"]["at_s"] == 99


def test_a_long_curve_is_thinned_and_keeps_its_peaks() -> None:
    """At most so many points; a peak of one second is among them, and both ends."""
    long = points(20_000)
    long[7777] = long[7777]._replace(product_mc=99_000)
    long[8888] = long[8888]._replace(product_mc=None)
    kept = stream.thinned(long, 1500)
    assert len(kept) <= 1500
    assert long[7777] in kept and long[8888] in kept
    assert (kept[0], kept[-1]) == (long[0], long[-1])
    assert [p.at_s for p in kept] == sorted(p.at_s for p in kept)
    assert stream.thinned(long[:1500], 1500) == long[:1500]


# --- commands ---


def test_off_is_said_first_and_by_anybody(ask: Asker, rig: ScriptedRig, site: Site) -> None:
    """Off is the first thing that reaches the rig, though another page leads."""
    assert ask.command("lead", x_snapgloss_page="aaaa").status == 200
    rig.done.clear()
    got = checked(ask.command("off", x_snapgloss_page="bbbb").data, "answer")
    assert got["words"] == "Everything was off already."
    assert [message.name for message in rig.done] == ["off", "ask_status"]


def test_off_without_a_rig_says_what_to_do(ask: Asker, site: Site) -> None:
    """What did not reach the rig is never told as done."""
    site.session.link = None
    got = ask.command("off")
    assert got.status == 503
    assert checked(got.data, "problem") == {
        "error": "The rig does not answer, so nothing reached it.",
        "remedy": "Press the stop button at the rig.",
    }


def test_one_leads(ask: Asker, rig: ScriptedRig, site: Site, clock: HandClock) -> None:
    """The first that commands leads; another is refused until it takes the lead, or the first has
    been away for a minute. Notes and off are everybody's."""
    site.session.feed.tell(replace(site.session.feed.moment, asks="pour"))
    pour = {"prompt": "pour"}
    assert ask.command("answer", pour, x_snapgloss_page="aaaa").status == 200
    refused = ask.command("answer", pour, x_snapgloss_page="bbbb")
    assert refused.status == 409
    assert "lead" in refused.data["error"]
    assert [m.values[0] for m in rig.done if m.name == "answer"] == [PROMPTS.index("pour")]
    assert not ask("GET", "/api/state?page=bbbb").data["lead"]
    assert ask.command("lead", x_snapgloss_page="bbbb").status == 200
    assert ask.command("answer", pour, x_snapgloss_page="aaaa").status == 409
    clock.at_s += 61
    assert ask.command("answer", pour, x_snapgloss_page="aaaa").status == 200


def test_only_what_is_asked_is_answered(ask: Asker, rig: ScriptedRig, site: Site) -> None:
    """A touch that comes too late answers nothing else."""
    site.session.feed.tell(replace(site.session.feed.moment, asks="dip_knife"))
    assert ask.command("answer", {"prompt": "pour"}).status == 400
    assert "answer" not in [message.name for message in rig.done]


def test_a_note_is_kept_as_text(ask: Asker, site: Site) -> None:
    """Markup in it is text; it goes to the newest batch."""
    run_id = keep(site.store, synthetic())
    assert ask.command("note", {"words": NAME}).status == 200
    assert ask.command("moment", {"key": "thick"}).data["words"] == "Too thick."
    assert [note.words for note in site.store.notes(run_id)] == [NAME, "Too thick."]


def test_a_note_without_a_batch_is_refused(ask: Asker, site: Site, tmp_path: Path) -> None:
    """There is nothing to write it to."""
    with open_store(tmp_path) as empty:
        site.session.store = empty
        assert ask.command("note", {"words": "x"}).status == 400


def test_batches_are_told(ask: Asker, site: Site) -> None:
    """The list, and one with its figures; 400 for none of that number."""
    run_id = keep(site.store, synthetic(seed=2), boot_nonce=8, chocolate=NAME)
    listed = ask("GET", "/api/batches").data["batches"]
    assert listed[0]["chocolate"] == NAME
    one = ask("GET", f"/api/batches/{run_id}").data
    assert one["summary"]["run"] == run_id
    assert one["window_low_mc"] == 31_000
    assert ask("GET", "/api/batches/99999").status == 400
    assert ask("GET", "/api/batches/99999999999").status == 400
    assert ask("GET", "/api/batches/x").status == 404


def test_a_schedule_is_staged_and_nothing_starts(ask: Asker, rig: ScriptedRig, site: Site) -> None:
    """It waits for the session to send it; the answer says to press."""
    text = to_text(demo_schedule())
    got = ask.command("stage", {"schedule": text, "moulds": 16})
    assert got.data["words"].startswith("Press start on the rig")
    staged = site.session.take_staged()
    assert staged is not None
    assert (staged.plan.chocolate, staged.moulds) == ("Lantern 72", 16)
    assert [message.name for message in rig.done] == ["hello"]
    assert not site.session.has_staged


@pytest.mark.parametrize(
    ("body", "state", "status"),
    [
        ({"schedule": "format = 1"}, "off", 400), ({"sample": True}, "off", 400), ({}, "off", 400),
        ({"schedule": to_text(demo_schedule()), "room_c": 34.0}, "off", 400),
        ({"schedule": to_text(demo_schedule())}, "cooling", 409),
        ({"schedule": "#" * 60_001}, "off", 400),
    ],
)  # fmt: skip
def test_what_cannot_be_staged_is_refused(
    ask: Asker, site: Site, body: dict[str, Any], state: str, status: int
) -> None:
    """No schedule, a room that is too warm, a rig that is busy: said, and nothing waits."""
    site.session.feed.tell(replace(site.session.feed.moment, state=state))
    got = ask.command("stage", body)
    assert got.status == status
    assert checked(got.data, "problem")["error"]
    assert not site.session.has_staged


def test_a_fault_of_ours_is_a_sentence(
    ask: Asker, site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing of the inside is told; the next request is served."""

    def broken(*_args: Any) -> str:
        raise ZeroDivisionError("secret")

    monkeypatch.setattr(site.session, "note", broken)
    with pytest.raises(ZeroDivisionError):
        ask.command("note", {"words": "a"})
    assert ask("GET", "/api/state").status == 200


def test_the_schemas_are_schemas(ask: Asker) -> None:
    """Each is a JSON Schema, and each command has one."""
    found = ask("GET", "/api/schema").data
    for schema in found.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    assert {f"POST /api/{name}" for name in COMMANDS} <= set(found)


def test_moulds_are_counted_only_while_something_is_tempered(ask: Asker) -> None:
    """Without a batch there is nothing to count for."""
    assert ask.command("moulds", {"by": 1}).status == 400
    assert ask.command("moulds", {"moulds": 16}).status == 400
    assert ask.command("moulds", {}).status == 400
    assert ask.command("moulds", {"by": 2}).status == 400


def test_an_owner_keeps_others_out(tmp_path: Path) -> None:
    """One page for each data folder; it is free again when the first ends."""
    from snapgloss.base.errors import StoreError
    from snapgloss.runs.live.owner import Owner

    with (
        Owner(tmp_path),
        pytest.raises(StoreError, match="Another snapgloss page"),
        Owner(tmp_path),
    ):
        pass
    with Owner(tmp_path):
        pass


def test_the_report_is_written_elsewhere(tmp_path: Path) -> None:
    """Heavy work is a process of its own that ends with it."""
    import os

    from snapgloss.web.heavy import Heavy

    with Heavy() as heavy:
        assert heavy.begin(os.getpid).result(60) != os.getpid()
    with open_store(tmp_path) as store:
        run_id = keep(store, synthetic())
    from snapgloss.web.heavy import write_report_of

    assert Path(write_report_of(tmp_path, run_id)).name == f"run-{run_id}.html"
