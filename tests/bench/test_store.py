"""The bench of the record fails when a figure is out of its bound."""

import json
import sys

import pytest

import store


@pytest.mark.parametrize(
    ("list_ms", "same", "code"), [(100, True, 0), (100.1, True, 1), (100, False, 1)]
)
def test_the_exit_code_says_whether_all_is_ok(monkeypatch, capsys, list_ms, same, code):
    """0 within all bounds, 1 for one figure over its own, or a run that packing changed."""
    found = {**store.BOUNDS, "list_ms": list_ms, "same_when_packed": same}
    monkeypatch.setattr(store, "measure", lambda *_: {**found, "ok": store.within(found)})
    monkeypatch.setattr(sys, "argv", ["store.py", "--json"])
    assert store.main() == code
    assert json.loads(capsys.readouterr().out)["ok"]["list_ms"] == (list_ms <= 100)
