"""A rig is told what a batch taught: its own alone, one that can take it, and how it refuses."""

from binascii import a2b_base64

import pytest

from snapgloss.base.errors import InputError, RigError, VersionError
from snapgloss.base.records import Identity
from snapgloss.link.client import RigLink
from snapgloss.link.testing import ScriptedRig
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.taught import Taught
from snapgloss.runs import teaching
from snapgloss.schedules.demo import demo_text
from snapgloss.store import NewRun
from snapgloss.store.store import Store

RECORD = bytes(range(256)) + bytes(20)


def batch_of(store: Store, link: RigLink, **other: object) -> int:
    """A finished batch of the rig at the link, or of one that differs in these."""
    there = link.identity
    assert there is not None
    identity = Identity(*there)._replace(**other)
    new = NewRun(
        demo_text(), "0123abcd", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
        "bench rig", identity.simulated, 1, "Quillby & Maar",
    )  # fmt: skip
    run_id = store.begin_run(new, store.boot_id(identity), 1000)
    store.end_run(run_id, 5000, "finished", "finished.")
    return run_id


@pytest.fixture
def fitted(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """The fit is one of numbers; what was fitted stands in the list."""
    asked: list[object] = []

    def taught_by(log: object, said: object) -> Taught:
        asked.append((log, said))
        return Taught(RECORD, 0.031)

    monkeypatch.setattr(teaching, "log_of_run", lambda _store, run_id, _room_c: f"log {run_id}")
    monkeypatch.setattr(teaching, "taught_by", taught_by)
    return asked


def test_the_rig_gets_the_record_and_a_person_the_words(
    rig: ScriptedRig, link: RigLink, store: Store, fitted: list[object]
) -> None:
    """276 bytes in base64 and parts of 80, closed with `load_learned`."""
    run_id = batch_of(store, link)
    taught = teaching.teach(link, store, run_id, BENCH_RIG)
    assert a2b_base64(rig.body) == RECORD
    assert [one.name for one in rig.done[-6:]] == ["load_part"] * 5 + ["load_learned"]
    assert rig.done[-1].values == [rig.done[-7].values[1]]
    assert fitted == [(f"log {run_id}", BENCH_RIG)]
    assert (taught.run, taught.rms_c) == (run_id, 0.031)
    assert taught.words == (
        "The rig has what batch 1 taught, and begins its next batch with it "
        "(readings within 0.031 °C of the fit)."
    )


@pytest.mark.parametrize("other", [{"board": "another"}, {"simulated": None}])
def test_a_batch_of_another_rig_is_not_fitted(
    rig: ScriptedRig, link: RigLink, store: Store, fitted: list[object], other: dict[str, object]
) -> None:
    """Of another board, or simulated where the rig is not."""
    assert link.identity is not None
    if "simulated" in other:
        other = {"simulated": not link.identity.simulated}
    run_id = batch_of(store, link, **other)
    with pytest.raises(InputError, match="was not made on this rig"):
        teaching.teach(link, store, run_id, BENCH_RIG)
    assert not fitted and [one.name for one in rig.done] == ["hello"]


def test_firmware_of_before_is_not_asked(
    rig: ScriptedRig, link: RigLink, store: Store, fitted: list[object]
) -> None:
    """A 1.5 rig hears nothing of it."""
    run_id = batch_of(store, link)
    assert link.identity is not None
    link.identity = link.identity._replace(minor=5)
    with pytest.raises(VersionError, match="too old"):
        teaching.teach(link, store, run_id, BENCH_RIG)
    assert not fitted and [one.name for one in rig.done] == ["hello"]


@pytest.mark.parametrize("name", ["load_open", "load_part", "load_learned"])
def test_what_the_rig_refuses_is_said_in_its_words(
    rig: ScriptedRig, link: RigLink, store: Store, fitted: list[object], name: str
) -> None:
    """At its beginning, in its middle or at its end."""
    run_id = batch_of(store, link)
    rig.answers[name] = ("no", ("busy", "the rig is busy: turn it off first"))
    with pytest.raises(RigError, match="busy"):
        teaching.teach(link, store, run_id, BENCH_RIG)
    assert len(fitted) == 1
