"""The simulated person who tempers by hand: the coach, fed by that bowl, comes to its end."""

import pytest

from snapgloss.chocolate.types import type_of
from snapgloss.quality.hand_coach import STEPS, Coach
from snapgloss.virtual.by_hand import HandTemperer, setup_for
from snapgloss.virtual.person import BATCH, Seen
from snapgloss.virtual.plant import Drive, Plant

OFF = Seen(0, 0, 0)
TICK_MS = 250


def _temper(kind: str, method: str, liquid: bool, minutes: int):
    """(coach's states in order, chocolate in the last ten minutes, plant) of a batch by hand."""
    plant = Plant(setup_for(method, 2000.0, liquid))
    person = HandTemperer(plant, kind, method)
    person.visits = 1
    coach = Coach(type_of(kind), method, 2000, liquid=liquid and method != "kept")
    states, last = [], []
    for at_ms in range(0, minutes * 60_000, TICK_MS):
        person.act(at_ms, OFF, plant)
        plant.advance(TICK_MS / 1000, Drive(enable=False))
        if at_ms % 1000:
            continue
        assert plant.probe_c is not None
        said = coach.take(at_ms, round(plant.probe_c * 1000))
        if coach.asks:
            coach.answer(at_ms)
        if not states or states[-1] != said.state:
            states.append(said.state)
        if at_ms >= (minutes - 10) * 60_000:
            last.append(plant.probe_c)
    return states, last, plant


@pytest.mark.parametrize("kind", ["dark", "milk", "white"])
@pytest.mark.parametrize("method", ["cooled", "seeded", "kept"])
def test_every_method_comes_to_work_and_stays_in_its_window(kind, method):
    """The coach goes through all steps, and the chocolate lies in the window at the end."""
    states, last, _ = _temper(kind, method, liquid=True, minutes=60)
    assert states == [s for s in STEPS[method] if s not in ("melting", "resting")]
    window = type_of(kind).work
    assert window.low_mc <= 1000 * min(last) and 1000 * max(last) <= window.high_mc


def test_blocks_are_melted_first():
    """From the room's temperature, over warm water, through all five steps."""
    states, last, _ = _temper("dark", "cooled", liquid=False, minutes=120)
    assert states == list(STEPS["cooled"])
    assert min(last) >= 31.0 and max(last) <= 32.0


def test_the_books_of_heat_close_over_it():
    """What water and stone gave and took is booked: energy is neither made nor lost."""
    plant = Plant(setup_for("seeded", 2000.0, True))
    before_j = plant.enthalpy_j()
    person = HandTemperer(plant, "dark", "seeded")
    person.visits = 1
    for at_ms in range(0, 40 * 60_000, TICK_MS):
        person.act(at_ms, OFF, plant)
        plant.advance(TICK_MS / 1000, Drive(enable=False))
    books = plant.ledger
    assert plant.enthalpy_j() - before_j == pytest.approx(
        books.supplied_j - books.lost_j + books.carried_j, abs=60.0
    )
    assert abs(books.supplied_j) > 20_000


def test_nothing_is_done_before_a_host_comes_and_the_bowl_is_left_to_a_batch_of_the_rig():
    """No visit, no touch; a rig at work has the bowl on its plate; a new host, a new bowl."""
    plant = Plant(setup_for("cooled", 2000.0, True))
    person = HandTemperer(plant, "dark", "cooled")
    person.act(0, OFF, plant)
    assert (person.at_work, plant.touch.bath_w_per_k) == (False, 0.0)
    person.visits = 1
    person.act(250, OFF, plant)
    assert person.at_work and plant.touch.bowl_off and plant.touch.bath_w_per_k > 0
    person.act(500, Seen(min(BATCH), 0, 0), plant)
    assert not person.at_work
    assert (plant.touch.bowl_off, plant.touch.bath_w_per_k, plant.touch.stir) == (False, 0.0, 0.0)
    plant.remove(1500.0)
    person.visits = 2
    person.act(750, OFF, plant)
    assert plant.mass_g == pytest.approx(2000.0)
