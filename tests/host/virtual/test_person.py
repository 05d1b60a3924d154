"""The simulated person, tick by tick in simulated time."""

from rigwire.states import STATES
from rigwire.tables import PROMPTS
from snapgloss.virtual.person import Person, Seen

TICK_MS = 250
READY, MELTING, SEEDING, WORKING, HANDS_IN, OFF = (
    STATES.index(state) for state in ("ready", "melting", "seeding", "working", "hands_in", "off")
)


class Bowl:
    """Counts what hands do."""

    def __init__(self) -> None:
        self.added: list[tuple[float, float, float]] = []
        self.removed_g: list[float] = []
        self.refills = 0

    def add(self, grams: float, at_c: float, stable_fraction: float) -> None:
        """Note it."""
        self.added.append((grams, at_c, stable_fraction))

    def remove(self, grams: float) -> float:
        """Note it."""
        self.removed_g.append(grams)
        return grams

    def refill(self) -> None:
        """Note it."""
        self.refills += 1


def presses(
    person: Person, bowl: Bowl, seen: Seen, from_ms: int, until_ms: int
) -> list[tuple[int, int]]:
    """Press (begin, end) times of a person who sees the same thing all the time."""
    found: list[tuple[int, int]] = []
    down_since = None
    for now_ms in range(from_ms, until_ms, TICK_MS):
        person.act(now_ms, seen, bowl)
        if person.start_down and down_since is None:
            down_since = now_ms
        if not person.start_down and down_since is not None:
            found.append((down_since, now_ms))
            down_since = None
    return found


def test_start_is_pressed_once_on_a_whole_second_for_a_second_and_a_half() -> None:
    """A window opened at 10.25 s is answered at 31.0 s, the first whole second 20 s later."""
    person = Person(2000)
    assert presses(person, Bowl(), Seen(READY, 0, 0), 10_250, 200_000) == [(31_000, 32_500)]
    assert person.pressed_at_ms == 31_000


def test_nothing_is_pressed_without_a_window() -> None:
    """A rig that is off sees no hand."""
    person = Person(2000)
    assert presses(person, Bowl(), Seen(OFF, 0, 0), 0, 10_000_000) == []
    assert person.pressed_at_ms is None


def test_a_second_window_is_answered_again() -> None:
    """After the batch the next window gets its own press."""
    person, bowl = Person(2000), Bowl()
    presses(person, bowl, Seen(READY, 0, 0), 0, 25_000)
    presses(person, bowl, Seen(OFF, 0, 0), 25_000, 30_000)
    assert presses(person, bowl, Seen(READY, 0, 0), 30_000, 60_000) == [(50_000, 51_500)]


def test_seed_goes_in_once_fifteen_seconds_after_it_is_asked_for() -> None:
    """The display's figure is the grams; the seed has 20 degC and is all stable."""
    person, bowl = Person(2000), Bowl()
    seen = Seen(SEEDING, PROMPTS.index("seed_in"), 120)
    assert presses(person, bowl, seen, 0, 15_000) == []
    assert bowl.added == []
    presses(person, bowl, seen, 15_000, 300_000)
    assert bowl.added == [(120.0, 20.0, 1.0)]


def test_other_prompts_are_answered_by_a_tap() -> None:
    """`lumps_gone` is answered 20 s after it appears by a press of two ticks."""
    seen = Seen(MELTING, PROMPTS.index("lumps_gone"), 0)
    assert presses(Person(2000), Bowl(), seen, 0, 30_000) == [(20_000, 20_500)]


def test_a_look_every_twenty_minutes_says_i_am_here() -> None:
    """With nothing asked, a tap every 1200 s keeps the rig attended."""
    found = presses(Person(2000), Bowl(), Seen(MELTING, 0, 0), 0, 4_000_000)
    assert found == [(1_200_000, 1_200_500), (2_400_000, 2_400_500), (3_600_000, 3_600_500)]


def test_pouring_takes_85_percent_in_half_an_hour_from_four_minutes_on() -> None:
    """2 kg: nothing in the first 4 minutes, 1700 g by 34 minutes, never more."""
    person, bowl = Person(2000), Bowl()
    seen = Seen(WORKING, 0, 0)
    presses(person, bowl, seen, 0, 240_000)
    assert bowl.removed_g == []
    presses(person, bowl, seen, 240_000, 240_000 + 900_000)
    assert 830 < sum(bowl.removed_g) < 870
    presses(person, bowl, seen, 1_140_000, 6_000_000)
    assert abs(sum(bowl.removed_g) - 1700) < 1e-6


def test_pouring_goes_on_after_a_pause_of_hands() -> None:
    """A visit to `hands_in` does not make the person pour the bowl a second time."""
    person, bowl = Person(2000), Bowl()
    presses(person, bowl, Seen(WORKING, 0, 0), 0, 1_000_000)
    presses(person, bowl, Seen(HANDS_IN, 0, 0), 1_000_000, 1_060_000)
    presses(person, bowl, Seen(WORKING, 0, 0), 1_060_000, 6_000_000)
    assert abs(sum(bowl.removed_g) - 1700) < 1e-6


def test_a_second_batch_gets_a_new_bowl_and_a_first_one_does_not() -> None:
    """After pouring, the bowl is full again when the next window opens, well before its press."""
    person, bowl = Person(2000), Bowl()
    presses(person, bowl, Seen(READY, 0, 0), 0, 30_000)
    assert bowl.refills == 0
    presses(person, bowl, Seen(WORKING, 0, 0), 30_000, 1_000_000)
    assert bowl.removed_g
    presses(person, bowl, Seen(OFF, 0, 0), 1_000_000, 1_010_000)
    assert presses(person, bowl, Seen(READY, 0, 0), 1_010_000, 1_025_000) == []
    assert bowl.refills == 1
    presses(person, bowl, Seen(READY, 0, 0), 1_025_000, 1_040_000)
    assert bowl.refills == 1
    presses(person, bowl, Seen(OFF, 0, 0), 1_040_000, 1_050_000)
    presses(person, bowl, Seen(READY, 0, 0), 1_050_000, 1_080_000)
    assert bowl.refills == 1
