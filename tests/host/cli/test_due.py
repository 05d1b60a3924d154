"""What `snapgloss run` says before anybody presses: steps and calibrations that are due."""

from pathlib import Path

import pytest

from snapgloss.base.records import Identity
from snapgloss.cli.batch import _say_due
from snapgloss.rigs.description import BENCH_RIG

THERE = Identity("b1", 5, "0.1.0", 1, 0, "", "off", 60_000, 100, 0, 0, 0, 0, False)


def test_an_unproved_rig_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Which step is first, and what it means; to the terminal, not into the data."""
    _say_due(tmp_path, BENCH_RIG, THERE)
    said = capsys.readouterr()
    assert said.out == ""
    assert "Due: 27 of 27 steps are open (first: pull_downs" in said.err
    assert "at most 20 W" in said.err


@pytest.mark.parametrize(
    ("rig", "there"),
    [(None, THERE), (BENCH_RIG, None), (BENCH_RIG, THERE._replace(simulated=True))],
)
def test_nothing_is_due_where_nobody_said_which_rig(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], rig: object, there: Identity | None
) -> None:
    """Without --rig, without a rig, and on a simulated one: silence."""
    _say_due(tmp_path, rig, there)  # type: ignore[arg-type]
    assert capsys.readouterr().err == ""
