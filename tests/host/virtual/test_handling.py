"""Hands by the clock, jammed stirrers and crusts, in simulated time and without a firmware."""

import pytest

from rigwire.states import STATES
from snapgloss.base.errors import InputError
from snapgloss.virtual.faults import parse_fault
from snapgloss.virtual.handling import CRUST_LAG_FACTOR, Hands, parse_handling
from snapgloss.virtual.person import Person, Seen
from snapgloss.virtual.plant import Drive, Plant, PlantSetup
from snapgloss.virtual.stirring import JAM_S

TICK_S = 0.25


def liquid(**setup: float) -> Plant:
    """2 kg of liquid chocolate at 32 degC in a room of 21."""
    return Plant(PlantSetup(solid=False, start_c=32.0, **setup))  # type: ignore[arg-type]


def carry_out(script: str, plant: Plant, until_s: float, drive: Drive, **rig: bool) -> Hands:
    """Let hands and bowl go on for so long."""
    hands = Hands(parse_handling(script), plant, has_bowl_switch=rig.get("switch", True))
    for tick in range(int(until_s / TICK_S)):
        hands.act(tick * TICK_S)
        plant.advance(TICK_S, drive)
    return hands


def test_a_script_is_read_in_the_order_of_its_begin() -> None:
    """Amount, unit, temperature, handfuls, span and words; usual figures where none are said."""
    seed, lift = parse_handling("lift@600-640 probe_out; seed=25%/18C*3@30 declared")
    assert (seed.name, seed.amount, seed.unit, seed.at_c, seed.parts) == ("seed", 25, "%", 18, 3)
    assert (seed.begin_s, seed.end_s, seed.words) == (30, 40, ("declared",))
    assert (lift.begin_s, lift.end_s, lift.words) == (600, 640, ("probe_out",))


def test_an_act_says_itself_as_a_script_does() -> None:
    """Reading what an act says of itself gives the same act."""
    script = "seed=25%/18C*3@30-40 declared; scrape=50%@60-90; lumps=4x@0; crust@5-9; topup=80g@1"
    for act in parse_handling(script):
        assert parse_handling(act.text()) == (act,)


@pytest.mark.parametrize(
    "text",
    [
        "juggle@1",
        "lift",
        "lift@",
        "lift=3%@1",
        "seed=3C@1",
        "seed*0@1",
        "pedal@1 declared",
        "lift@nan",
        "seed=-3%@1",
    ],
)
def test_what_cannot_be_read_is_said_in_a_sentence(text: str) -> None:
    """InputError names the act and what could be written."""
    with pytest.raises(InputError, match="cannot be read"):
        parse_handling(text)


def test_an_act_that_ends_before_it_begins_is_refused() -> None:
    """Seconds in the wrong order, in words that show the right one."""
    with pytest.raises(InputError, match="ends at second 3, before it has begun") as caught:
        parse_handling("lift@9-3")
    assert "lift@600-640" in caught.value.remedy


def test_a_lifted_bowl_takes_no_heat_and_its_contact_opens() -> None:
    """60 s of full heat on a bare plate: 12 K less 1.6 K lost to the room (0.8 W/K of 16 K)."""
    plant = liquid()
    hands = carry_out("lift@0-100", plant, 60, Drive(1.0, 0.0, 0.0))
    assert hands.bowl_off and hands.busy
    assert plant.plate_c == pytest.approx(32 + 12 - 1.6, abs=0.3)
    assert plant.product_c < 32.0
    hands.act(100.0)
    assert not hands.bowl_off and not hands.busy and not plant.touch.bowl_off


def test_a_rig_without_a_bowl_switch_is_told_nothing() -> None:
    """The bowl is off the plate all the same."""
    plant = liquid()
    hands = carry_out("lift@0-100", plant, 1, Drive(), switch=False)
    assert plant.touch.bowl_off and not hands.bowl_off


def test_a_probe_that_hangs_reads_the_air() -> None:
    """Lag 8 s in chocolate, 48 s in air: after 48 s it has gone 63 % of the way to the room."""
    plant = liquid()
    carry_out("lift@0-100 probe_out", plant, 48, Drive())
    assert plant.probe_c == pytest.approx(21 + 11 * 0.368, abs=0.3)
    assert plant.product_c > 31.0


def test_a_scraped_probe_reads_between_chocolate_wall_and_air() -> None:
    """40 % scraping, 16 % of it air of 21: 1.8 K under the chocolate; it stirs by hand."""
    plant = liquid()
    carry_out("scrape=40%@0-100", plant, 60, Drive())
    assert plant.probe_c is not None
    assert plant.product_c - plant.probe_c == pytest.approx(0.16 * 11, abs=0.4)
    assert plant.touch.stir > 0


def test_a_ladle_takes_its_part_in_gulps() -> None:
    """20 % of 2 kg within 15 s: 400 g, in five dips of 80 g."""
    plant = liquid()
    hands = Hands(parse_handling("ladle=20%@10-25"), plant)
    masses = []
    for second in range(30):
        hands.act(float(second))
        masses.append(round(plant.mass_g))
    assert sorted(set(masses), reverse=True) == [2000, 1920, 1840, 1760, 1680, 1600]


def test_cold_seed_goes_in_by_handfuls_and_is_declared_once() -> None:
    """25 % of 2 kg in two handfuls of 250 g: one declaration of 500 g of seed as it begins."""
    plant, told = liquid(), []
    script = parse_handling("seed=25%*2@10-20 declared")
    hands = Hands(script, plant, lambda number, grams: told.append((number, grams)))
    hands.act(10.0)
    assert plant.mass_g == pytest.approx(2250)
    hands.act(15.0)
    assert plant.mass_g == pytest.approx(2500)
    assert told == [(1, 500)]


def test_a_warm_top_up_warms() -> None:
    """10 % at 40 degC in 2 kg at 32: 0.7 K warmer (calculated: 8 * 0.1 / 1.1)."""
    plant = liquid()
    plant.advance(60, Drive())
    before_c = plant.product_c
    carry_out("topup=10%/40C@0", plant, 60, Drive())
    assert plant.product_c - before_c == pytest.approx(0.73, abs=0.25)


def test_a_crust_makes_the_probe_four_times_slower() -> None:
    """The lag of 8 s becomes 32 s while it lasts."""
    slow, quick = liquid(), liquid()
    slow.faults.probe_lag_factor = CRUST_LAG_FACTOR
    for plant, wait_s in ((slow, 32), (quick, 8)):
        plant.add(500, 40.0, 0.0)
        plant.advance(90, Drive())  # mixed
        plant.product_c += 5.0
        before_c = plant.probe_c
        plant.advance(wait_s, Drive())
        assert before_c is not None and plant.probe_c is not None
        assert plant.probe_c - before_c == pytest.approx(5 * 0.632, abs=0.8)
    assert parse_fault("crust@5-9") == parse_fault("probe_lag_factor=4@5-9")


def test_blocks_jam_a_stirrer_that_is_driven_and_pulses_free_it() -> None:
    """Full drive in blocks: one jam after 12 s, until it is let go. Pulses of 10 s: none."""
    plant = Plant(PlantSetup(start_c=25.0))
    carry_out("lumps@0", plant, 60, Drive(stir=1.0))
    assert (plant.stirrer.jams, plant.stirrer.is_jammed) == (1, True)
    plant.advance(1.0, Drive())
    assert not plant.stirrer.is_jammed
    for _ in range(6):
        plant.advance(JAM_S - 2, Drive(stir=1.0))
        plant.advance(20, Drive())
    assert plant.stirrer.jams == 1


def test_chopped_chocolate_jams_nothing() -> None:
    """Without big blocks the stirrer turns from the start."""
    plant = Plant(PlantSetup(start_c=25.0))
    plant.advance(60, Drive(stir=1.0))
    assert plant.stirrer.jams == 0


READY, MELTING, HANDS_IN = (STATES.index(name) for name in ("ready", "melting", "hands_in"))


def pressed(person: Person, seen: Seen, from_ms: int, until_ms: int) -> list[int]:
    """When presses of a person who sees this all the time begin, in ms."""
    found, was_down = [], False
    for now_ms in range(from_ms, until_ms, 250):
        person.act(now_ms, seen, liquid())
        if person.start_down and not was_down:
            found.append(now_ms)
        was_down = person.start_down
    return found


def test_an_offer_is_pressed_and_the_batch_began_when_it_began() -> None:
    """Reset in a batch, a window 10 s later: pressed at 20 s, hazards still count from before."""
    person = Person(2000)
    assert pressed(person, Seen(READY, 0, 0), 0, 30_000) == [20_000]
    pressed(person, Seen(MELTING, 0, 0), 30_000, 100_000)
    pressed(person, Seen(-1, 0, 0), 100_000, 110_000)
    assert pressed(person, Seen(READY, 0, 0), 110_000, 140_000) == [130_000]
    assert person.pressed_at_ms == 20_000


def test_a_rig_that_waits_after_hands_gets_a_press() -> None:
    """60 s after the hands are out and it still waits; not while they are in."""
    person = Person(2000)
    person.busy = True
    assert pressed(person, Seen(HANDS_IN, 0, 0), 0, 300_000) == []
    person.busy = False
    assert pressed(person, Seen(HANDS_IN, 0, 0), 300_000, 400_000) == [359_750]
