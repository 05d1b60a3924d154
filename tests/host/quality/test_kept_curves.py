"""Curves kept as files: whose they are, and that none is written over."""

import math
from pathlib import Path

from snapgloss.quality.kept_curves import About, about_of, kept_curves, write_curve
from snapgloss.quality.temper_file import read_curve

OURS = About("Lantern 72, dark: the old one", "seeded", "bench rig", False)


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Seconds count from the first reading; a missing one is an empty cell; commas in a name."""
    path = write_curve([100.0, 101.0, 102.5], [31.5, math.nan, 29.0], tmp_path, "noon", OURS)
    assert about_of(path) == OURS
    table = read_curve(path)
    assert table.seconds == [0.0, 1.0, 2.5]
    assert table.celsius[0] == 31.5 and math.isnan(table.celsius[1])


def test_a_second_curve_of_the_same_minute_has_a_name_of_its_own(tmp_path: Path) -> None:
    """noon.csv stays as it is; the next one is noon-2.csv."""
    first = write_curve([0.0], [31.0], tmp_path, "noon", OURS)
    second = write_curve([0.0], [28.0], tmp_path, "noon", About())
    assert (first.name, second.name) == ("noon.csv", "noon-2.csv")
    assert about_of(first) == OURS


def test_curves_are_those_of_the_chocolate_and_never_simulated_ones(tmp_path: Path) -> None:
    """By name, the oldest first; a simulated curve counts for simulated batches alone."""
    for name in ("2", "1"):
        write_curve([0.0], [31.0], tmp_path, name, OURS)
    write_curve([0.0], [31.0], tmp_path, "3", OURS._replace(simulated=True))
    write_curve([0.0], [31.0], tmp_path, "4", About("Chalk White"))
    (tmp_path / "5.csv").write_text("0,31\n")
    (tmp_path / "6.csv").write_bytes(b"# chocolate: \xff\xfe\n0,31\n")
    assert [path.name for path in kept_curves(tmp_path, OURS.chocolate, False)] == [
        "1.csv",
        "2.csv",
    ]
    assert [path.name for path in kept_curves(tmp_path, OURS.chocolate, True)] == ["3.csv"]
    assert kept_curves(tmp_path / "none", OURS.chocolate, False) == []
    assert about_of(tmp_path / "none.csv") == About()
