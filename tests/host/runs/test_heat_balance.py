"""The heat-balance step counts what the room takes."""

from types import SimpleNamespace

import pytest

from snapgloss.base.records import Reading
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.runs.commission_measures import heat_balance

HELD_J_PER_K = 4000.0


def place(product_c, room_c, heat_permille=200):
    """A run of ten minutes whose chocolate is product_c(second); 20 W of 100."""
    readings = [
        Reading(second, second * 1000, "testing", 0, None, round(product_c(second) * 1000),
                40_000, None if room_c is None else round(room_c * 1000), heat_permille, 0, 0, 0)
        for second in range(601)
    ]  # fmt: skip
    return SimpleNamespace(
        low_permille=lambda: heat_permille,
        drive=lambda *_given: SimpleNamespace(readings=readings),
        rig=BENCH_RIG,
        held_j_per_k=HELD_J_PER_K,
    )


def test_a_bowl_that_only_warms():
    """At room temperature 20 W warm 4 kJ/K by 5 mK a second: all of it is found."""
    warming = place(lambda second: 21 + 20 / HELD_J_PER_K * second, None)
    assert heat_balance(warming) == pytest.approx(1.0, abs=0.01)


def test_a_bowl_that_only_loses():
    """20 W at 1.4 W/K hold 14.3 K over the room: all of it is found, though nothing warms."""
    still = place(lambda second: 21 + 20 / BENCH_RIG.loss_w_per_k, 21.0)
    assert heat_balance(still) == pytest.approx(1.0, abs=0.01)


def test_a_heater_that_gives_nothing():
    """A bowl that stands at the room's temperature: nothing is found."""
    assert heat_balance(place(lambda second: 21.0, 21.0)) == pytest.approx(0.0, abs=0.01)


def test_without_heat_there_is_no_figure():
    """Nothing given, nothing to compare."""
    assert heat_balance(place(lambda second: 21.0, 21.0, heat_permille=0)) is None
