"""The bench of gloss and snap fails when a bar does not come out again."""

import json
import sys

import pytest

import gloss


@pytest.mark.parametrize(
    ("shares", "code"),
    [((0.9, 0.7, 0.5), 0), ((0.9, 0.5, 0.7), 1), ((0.9, 0.7, 0.69), 0)],
)
def test_the_exit_code_says_whether_rougher_is_lower(monkeypatch, capsys, shares, code):
    """1 where a rougher bar has the larger mean; figures differ by 2 % here."""
    monkeypatch.setattr(gloss, "ROUGH_RAD", (0.004, 0.01, 0.02))
    means = dict(zip(gloss.ROUGH_RAD, shares, strict=True))
    found = lambda rough, seeds: [means[rough] * (1 + 0.02 * (-1) ** n) for n in seeds]  # noqa: E731
    monkeypatch.setattr(gloss, "_figures", found)
    monkeypatch.setattr(sys, "argv", ["gloss.py", "--photos", "4"])
    assert gloss.main() == code
    told = json.loads(capsys.readouterr().out)
    assert told["simulated"] is True
    assert told["gloss"]["bars"][0]["deviation_share"] == pytest.approx(0.0231, abs=1e-4)
    assert [row["sounds"] for row in told["snap"]] == [4, 4, 4]


def test_figures_that_differ_too_much_fail(monkeypatch, capsys):
    """6 % either way, in order all the same."""
    monkeypatch.setattr(gloss, "ROUGH_RAD", (0.004, 0.02))
    found = lambda rough, seeds: [(1 - 20 * rough) * (1 + 0.06 * (-1) ** n) for n in seeds]  # noqa: E731
    monkeypatch.setattr(gloss, "_figures", found)
    monkeypatch.setattr(sys, "argv", ["gloss.py", "--photos", "4"])
    assert gloss.main() == 1
    assert json.loads(capsys.readouterr().out)["gloss"]["monotone"] is True
