"""The person at the terminal: what counts as an answer to a step of commissioning."""

from collections.abc import Iterator

import pytest

from snapgloss.cli import commission
from snapgloss.rigs.commissioning_steps import BEFORE


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is typed, in turn; a prompt without an answer left fails the test."""
    given: list[str] = []
    typed: Iterator[str] = iter(given)
    monkeypatch.setattr("click.prompt", lambda *_words, **_how: next(typed))
    return given


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        (["10.1"], 10.1), (["10.1 kΩ"], 10.1), ([" 9 "], 9.0), (["-0.25"], -0.25),
        (["ten", "", "10,1", "nan", "inf", "1e12", "10 Ω Ω", "10"], 10.0),
        (["skip"], None), (["SKIP "], None),
    ],
)  # fmt: skip
def test_a_figure_is_a_number_or_passed_over(
    answers: list[str], typed: list[str], value: float | None
) -> None:
    """With its unit or without; what is none is asked for again, never taken for 0."""
    answers += typed
    assert commission._Hands().figure("Measure.", "kΩ") == value


def test_what_was_just_said_is_not_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The step's own words stand above; a question within a step is asked in full."""
    asked: list[str] = []
    monkeypatch.setattr("click.prompt", lambda words, **_how: asked.append(words) or "1")
    hands = commission._Hands()
    hands.say("fuses: Read each fuse. Must be: as bought.")
    hands.figure("Read each fuse.", "A")
    hands.figure("What was the current?", "A")
    assert asked == ["Your figure [A, or skip]", "What was the current? [A, or skip]"]


@pytest.mark.parametrize(("typed", "seen"), [("yes", True), ("no", False), ("skip", None)])
def test_a_look_is_yes_no_or_passed_over(
    answers: list[str], typed: str, seen: bool | None
) -> None:
    """The three words that are offered."""
    answers.append(typed)
    assert commission._Hands().seen("Look.", "dark") is seen


def test_what_is_said_fits_the_terminal(
    answers: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Eighty columns, and a bell when it is time to act."""
    answers.append("")
    hands = commission._Hands()
    hands.say(BEFORE["Probes"] * 3)
    hands.act("hang")
    hands.ready(BEFORE["Without power"])
    said = capsys.readouterr().err
    assert max(map(len, said.splitlines())) <= 80
    assert "\aNow: do what the step says (hang)." in said
