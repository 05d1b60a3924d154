"""Figures that pages of the guide say in words are those that the sizing gives."""

import re

import pytest

from snapgloss.rigs.sized import BUILDS
from snapgloss.rigs.sizing import size
from snapgloss.rigs.sizing_cutout import LINKS_C, from_run, hottest_c, levels_at_c

COLUMN = {"bench": 0, "large": 1}


def figures(build):
    """Every figure of a build by its key."""
    return {one.key: one.value for one in size(BUILDS[build]).figures}


def row(hardware, begin):
    """The numbers of each cell of a row of the stirrer's table, by its first words."""
    text = (hardware / "mechanics.md").read_text(encoding="utf-8")
    (line,) = [one for one in text.splitlines() if one.startswith(f"| {begin}")]
    cells = line.strip("|").split("|")[1:]
    return [[float(one) for one in re.findall(r"\d+(?:\.\d+)?", cell)] for cell in cells]


@pytest.mark.parametrize("build", COLUMN)
def test_the_stirrers_table_is_that_of_the_sizing(hardware, build):
    """Turns, torque running, with lumps, stalled; the motor gives its watts."""
    at, found = COLUMN[build], figures(build)
    assert row(hardware, "Turns a minute")[at] == [found["turns_per_min"]]
    assert row(hardware, "Torque, running")[at] == [float(f"{found['stir_nm']:.2g}")]
    lumps = row(hardware, "With lumps")[at]
    assert lumps[0] == float(f"{found['stir_least_nm']:.2g}")
    assert lumps[1] >= found["stir_w"]
    assert row(hardware, "Stalled")[at] == [float(f"{found['stir_most_nm']:.2g}")]


def test_the_parts_name_the_motor_that_the_sizing_asks_for(hardware):
    """Turns, torque with lumps, and no more when stalled; 24 V times its amperes are its watts."""
    text = (hardware / "parts.md").read_text(encoding="utf-8")
    (line,) = [one for one in text.splitlines() if one.startswith("| Stirrer motor")]
    turns, torque, amp, stalled, _stall_amp = map(
        float, re.findall(r"([\d.]+)(?: turns| N m| A)", line)
    )
    found = figures("bench")
    assert turns == found["turns_per_min"]
    assert found["stir_least_nm"] <= torque <= stalled <= found["stir_most_nm"] + 0.05
    assert 24 * amp >= found["stir_w"]


def test_the_stuck_on_runs_worked_example_is_what_the_program_chooses(hardware):
    """27.0, 31.0, 33.6 degC: level, both ends of the estimate, cut-out and link as written."""
    text = (hardware / "commissioning.md").read_text(encoding="utf-8")
    told = " ".join(text[text.index("Worked example: room 21") :].split())
    level_c = levels_at_c([27.0, 31.0, 33.6])
    chosen = from_run(hottest_c(75, 15.0), level_c, 21.0, 20.0, 75.0)
    assert f"= {level_c:.1f} °C" in told
    assert "86 °C at most" in told and "71 °C, at least" in told
    assert f"at least {chosen.least_c:.0f} °C" in told
    assert f"= {chosen.most_c:.0f} °C at most" in told
    assert f"Rated {chosen.rated_c:.0f} °C, thermal link {chosen.link_c:.0f} °C" in told
    assert chosen.is_sure and chosen.link_c in LINKS_C
