"""A broker is told beside the record: the batch is the same with a dead one, a slow one, none."""

import json

import pytest

from snapgloss.base.errors import InputError
from snapgloss.broker import outlet as outlets
from snapgloss.broker.outbox import Outbox
from snapgloss.broker.outlet import Outlet
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.runs import connect
from snapgloss.runs.batch import run_batch
from snapgloss.runs.telling import attach, telling_broker
from snapgloss.store import open_store

from ..broker.client_double import BAD, ClientDouble
from ..broker.conftest import broker  # noqa: F401
from .test_batch import Watcher, finish


def batch(plan, folder, outlet=None):
    """A short batch on the clock of its link; what was asked, recorded, said, and when."""
    rig = ScriptedRig()
    clock, watch = ScriptedClock(rig), Watcher()
    rig.then["ask_start"] = lambda: finish(rig)
    link = connect.introduce(rig, clock)
    if outlet is not None:
        attach(link, outlet)
    commits = []
    with open_store(folder, lambda: 0) as store:
        add_told = store.add_told

        def timed(boot_id, readings, events, gaps):
            commits.append((clock.at_s, len(readings), len(events)))
            add_told(boot_id, readings, events, gaps)

        store.add_told = timed
        result = run_batch(plan, link, store, watch)
        kept = store.readings(1), store.events(1), store.gaps(1)
    link.close()
    return result, kept, commits, clock.at_s, [m.name for m in rig.done], watch.lines


@pytest.mark.parametrize("kind", BAD)
def test_a_dead_broker_changes_nothing_of_a_batch(plan, tmp_path, broker, kind, monkeypatch):  # noqa: F811
    """Unreachable, hanging, refusing, slow, dying in mid-run, breaking: the same record, written
    at the same moments of the clock, the same words to the maker and to the rig."""
    monkeypatch.setattr(outlets, "END_WITHIN_S", 0.05)
    expected = batch(plan, tmp_path / "without")
    client = kind()
    with Outlet(broker, "laptop", lambda _words: None, client.make, Outbox(20)) as outlet:
        found = batch(plan, tmp_path / "with", outlet)
    assert found == expected
    assert len(found[1][0]) == 122
    assert outlet.dropped > 0


def test_a_good_broker_is_told_what_the_record_has(plan, tmp_path, broker):  # noqa: F811
    """Each reading and event of the run once, by its key; each state that it went through."""
    client = ClientDouble()
    with Outlet(broker, "laptop", lambda _words: None, client.make) as outlet:
        _result, (readings, events, _gaps), *_rest = batch(plan, tmp_path, outlet)
    told = [(topic.rsplit("/", 1)[1], json.loads(text)) for topic, text, *_ in client.published]
    of_run = [one for what, one in told if what == "reading"]
    assert [{**r._asdict()} for r in readings] == [
        {name: one[name] for name in readings[0]._fields} for one in of_run[-len(readings) :]
    ]
    assert {one["boot_nonce"] for one in of_run} == {77}
    kinds = [one["kind"] for what, one in told if what == "event"]
    assert kinds[-len(events) :] == [event.kind for event in events]
    assert "working" in [one["state"] for what, one in told if what == "state"]


def test_a_fault_in_telling_is_none_of_the_batch(plan, tmp_path, mocker, caplog):
    """It goes to the log."""
    outlet = mocker.Mock()
    outlet.put.side_effect = ValueError("ours")
    outlet.broker.prefix = outlet.host = "s"
    result, *_rest = batch(plan, tmp_path, outlet)
    assert result.outcome == "finished"
    assert "Telling the broker" in caplog.text


def test_without_an_address_nothing_is_made(tmp_path, monkeypatch):
    """The usual case."""
    monkeypatch.delenv("SNAPGLOSS_BROKER", raising=False)
    with telling_broker(tmp_path, lambda _words: None):
        assert connect._attached == []


def test_every_link_that_is_opened_meanwhile_is_told_of(tmp_path, monkeypatch, mocker):
    """A rig that is found again, too; afterwards none."""
    monkeypatch.setenv("SNAPGLOSS_BROKER", "mqtt://localhost:1/shop")
    client = ClientDouble()
    mocker.patch.object(outlets, "made", client.make)
    with telling_broker(tmp_path, lambda _words: None):
        for _ in range(2):
            rig = ScriptedRig()
            link = connect.introduce(rig, ScriptedClock(rig))
            assert link.beside.__self__.__class__.__name__ == "RigTeller"
            link.close()
    assert connect._attached == []


def test_a_wrong_address_ends_before_anything_begins(tmp_path, monkeypatch):
    """In one sentence."""
    monkeypatch.setenv("SNAPGLOSS_BROKER", "broker.shop")
    with pytest.raises(InputError, match="mqtts://"), telling_broker(tmp_path, print):
        pass
