"""The coach for tempering by hand: what it says, when, and what it does not take for a step."""

import pytest

from snapgloss.chocolate.types import type_of
from snapgloss.quality.hand_coach import Coach

DARK = type_of("dark")


def _follow(coach, curve):
    """Feed (seconds, milli-degC) one a second; the sentences with their second, and the states."""
    said, states, at_s = [], [], 0
    for seconds, mc in curve:
        for _ in range(seconds):
            now = coach.take(at_s * 1000, mc)
            said += [(at_s, words) for words in now.words]
            if not states or states[-1][1:] != (now.state, now.step_no):
                states.append((at_s, now.state, now.step_no))
            at_s += 1
    return said, states


def test_a_batch_on_the_stone_from_melt_to_work():
    """Every step begins at the third reading that says so; each sentence has its figure."""
    curve = [(60, 40_000), (10, 48_100), (597, 48_000), (10, 29_400), (10, 28_000), (5, 30_000),
             (20, 31_200)]  # fmt: skip
    said, states = _follow(Coach(DARK, "cooled", 2000), curve)
    assert states == [
        (0, "melting", 1), (62, "resting", 2), (664, "cooling", 3), (679, "rewarming", 4),
        (694, "working", 5),
    ]  # fmt: skip
    assert [at_s for at_s, _ in said] == [0, 62, 664, 667, 679, 694]
    words = [line for _, line in said]
    assert words[0].startswith("Melt it over warm water to 48.0 °C, never over 55.0 °C.")
    assert words[1] == "All lumps gone? Keep it warm and stir for 10 min."
    assert words[3] == "Nearly: 29.4 °C. Stop at 28.0 °C."
    assert words[4] == "Warm it gently to 31.5 °C, not over 32.5 °C."
    assert words[5] == "Dip a knife, then pour. Keep it between 31.0 °C and 32.0 °C."


def test_seed_goes_in_at_its_temperature_and_work_waits_for_it():
    """120 g for 2 kg at 33.5; six minutes, and not before it is cool enough."""
    coach = Coach(DARK, "seeded", 2000, liquid=True)
    said, states = _follow(coach, [(5, 36_000), (400, 33_400), (5, 31_900)])
    assert states == [(0, "cooling", 1), (7, "seeding", 2), (407, "working", 3)]
    assert said[2][1].startswith("Seed in now: 120 g.")


def test_a_splash_ends_no_step():
    """Two cold readings are not three; the count begins anew."""
    coach = Coach(DARK, "cooled", 2000, liquid=True)
    _, states = _follow(coach, [(9, 40_000), (2, 27_900), (9, 40_000), (2, 27_900), (9, 40_000)])
    assert [state for _, state, _ in states] == ["cooling"]


@pytest.mark.parametrize(
    ("method", "curve", "says"),
    [
        ("kept", [(5, 31_200), (5, 32_600)], "Too warm: 32.6 °C. Over 32.5 °C the crystals melt"),
        ("kept", [(5, 31_200), (5, 29_900)], "Getting cool: 29.9 °C."),
        ("cooled", [(5, 55_100)], "Too hot: 55.1 °C. Take it off now."),
        ("cooled", [(5, None)], "No reading: is the probe in the chocolate?"),
    ],
)
def test_warnings_are_said_once_a_minute(method, curve, says):
    """At once, then not again for a minute; after that again while it lasts."""
    said, _ = _follow(Coach(DARK, method, 2000), [*curve[:-1], (130, curve[-1][1])])
    warned = [at_s for at_s, words in said if words.startswith(says)]
    began_s = sum(seconds for seconds, _ in curve[:-1])
    assert warned == [began_s, began_s + 60, began_s + 120]


def test_in_fahrenheit():
    """No °C in any sentence."""
    said, _ = _follow(Coach(DARK, "kept", 2000, fahrenheit=True), [(5, 31_200), (5, 33_000)])
    assert all("°C" not in words for _, words in said) and "°F" in said[0][1]


def _told(said):
    return [(kind, a, b) for kind, a, b in said.told]


def test_what_it_asks_and_hears_is_told_as_a_rig_tells_it():
    """Steps, questions, temperatures reached, answers; the minutes of seed count from its own."""
    coach = Coach(DARK, "seeded", 2000)
    heard = [_told(coach.take(n * 1000, 48_000)) for n in range(4)]
    assert heard == [
        [("step", 1, 0)], [], [("reached", 1, 48_000), ("step", 2, 1), ("prompt", 1, 0)], [],
    ]  # fmt: skip
    assert _told(coach.answer(4_000)) == [("answered", 1, 2)]
    assert _told(coach.answer(5_000)) == []  # nothing is asked in a rest
    # Ten minutes of rest count from the answer at 4 s, so it cools from 604 s on.
    states = [coach.take(at_s * 1000, 48_000).state for at_s in range(5, 610)]
    assert states.index("cooling") + 5 == 606
    seeded = [coach.take((610 + n) * 1000, 33_400) for n in range(3)][-1]
    assert _told(seeded) == [("reached", 3, 33_400), ("step", 4, 3), ("prompt", 2, 120)]
    said = coach.answer(700_000)
    assert _told(said) == [("answered", 2, 2), ("added", 1, 120)]
    assert said.words == ["Seed is in. Stir until it is smooth."]
    for at_s in range(701, 1063):
        now = coach.take(at_s * 1000, 31_500)
    assert (now.state, _told(now)) == ("working", [("step", 5, 5), ("prompt", 3, 0)])
    assert _told(coach.answer(1_070_000)) == [("answered", 3, 2)]
    assert _told(coach.answer(1_080_000)) == [("added", 3, 0)]  # a mould


def test_each_step_has_its_target():
    """What the chocolate should come to, for strips and for the minutes inside each band."""
    coach = Coach(DARK, "cooled", 2000, liquid=True)
    curve = [(5, 40_000), (10, 28_000), (10, 31_300)]
    found, at_s = [], 0
    for seconds, mc in curve:
        for _ in range(seconds):
            said = coach.take(at_s * 1000, mc)
            at_s += 1
        found.append((said.state, said.target_mc))
    assert found == [("cooling", 28_000), ("rewarming", 31_500), ("working", 31_500)]
