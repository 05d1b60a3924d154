"""The command that coaches by hand: which rig, and presses of Enter that nobody waits for."""

import io
import os
import sys
from typing import Any

import pytest

from snapgloss.cli.keys import EnterKey

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Enter is read otherwise there")


def test_presses_are_counted_and_never_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """None, two, none again; a stdin that ends gives none from then on."""
    there, here = os.pipe()
    with os.fdopen(there) as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        key = EnterKey()
        assert key.presses() == 0
        os.write(here, b"\nseed is in\n")
        assert [key.presses(), key.presses()] == [2, 0]
        os.close(here)
        assert [key.presses(), key.presses()] == [0, 0]


@pytest.mark.parametrize("stdin", [None, io.StringIO("\n")])
def test_without_a_terminal_there_are_none(monkeypatch: pytest.MonkeyPatch, stdin: Any) -> None:
    """A service has no stdin, and a test has one without a file."""
    monkeypatch.setattr("sys.stdin", stdin)
    assert EnterKey().presses() == 0


def test_which_rig(call: Any) -> None:
    """One of --port and --virtual; lots and masses that are none are refused before all else."""
    for more in ((), ("--port", "p", "--virtual")):
        answer = call("byhand", "--chocolate", "Lantern 72", *more)
        assert (answer.code, "Give either --port PORT or --virtual." in answer.err) == (2, True)
    little = call("byhand", "--port", "p", "--chocolate", "L", "--mass", "0 kg")
    assert (little.code, "0 g is too little to temper" in little.err) == (2, True)
    assert (
        "The lot is empty" in call("byhand", "--port", "p", "--chocolate", "L", "--bag", " ").err
    )
