"""The short form of fuzz.py: inputs changed blindly, so that a crash that came back is seen."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "fuzz"))

import fuzz
import targets

RUNS = 400


@pytest.mark.parametrize("name", targets.TARGETS)
def test_changed_inputs_are_taken_or_refused(name: str) -> None:
    """Nothing but the typed refusals comes out, and some of the inputs are taken."""
    found = fuzz.blindly(name, RUNS, seed=20261201)
    assert (found["runs"], found["crashes"]) == (RUNS, 0)
    assert int(str(found["accepted"])) > 0


@pytest.mark.parametrize("name", targets.TARGETS)
def test_what_a_fuzz_begins_with_is_taken(name: str) -> None:
    """At least one input of each target is a good one, so that the fuzz begins inside."""
    assert any(fuzz.one(name, data) for data in targets.TARGETS[name].seeds())
    assert all(
        len(data) <= targets.TARGETS[name].most_bytes for data in targets.TARGETS[name].seeds()
    )


def test_a_crash_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """An error that is no refusal, and a refusal that is one."""

    def breaks(data: bytes) -> None:
        int(data[:1])

    monkeypatch.setitem(targets.TARGETS, "board", targets.Target(breaks, lambda: [b"1"], 10))
    with pytest.raises(ValueError, match="invalid literal"):
        fuzz.blindly("board", 50, seed=1)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("board", b"\0slot|1\xc2\xb2|rig"),  # a raised figure where a number stands
        ("board", b"\0probes|2|o|-|-|-"),
    ],
)
def test_what_crashed_once_is_refused(name: str, data: bytes) -> None:
    """Inputs that the fuzz found."""
    fuzz.one(name, data)
