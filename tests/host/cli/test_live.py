"""The live block and its large numbers, and the plain lines where there is no terminal."""

import io
import sys
from dataclasses import replace

import pytest
from rich.console import Console

from snapgloss.cli import live, watch
from snapgloss.cli.clockface import PIXELS, large
from snapgloss.runs.moment import Progress

NOW = Progress(
    simulated=True, state="seeding", at_s=4567, product_mc=33_500, target_mc=33_500,
    plate_mc=33_900, room_mc=21_000, step_no=4, steps=6, step_words="Seeding at 33.5 °C",
    step_left_s=360, batch_left_s=3120, share_done=0.594, now="Seed in now: 120 g.", waiting=True,
    withheld="",
)  # fmt: skip


def drawn(now: Progress, fahrenheit: bool = False, columns: int = 80) -> list[str]:
    """The block as lines of text."""
    console = Console(file=io.StringIO(), width=columns, height=24)
    console.print(live.draw(now, "Lantern 72, 2 kg, seeded", fahrenheit, columns))
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue().splitlines()


def test_large_numbers() -> None:
    """Three rows, as wide as their digits, each digit like no other."""
    assert large("31.5") == ["▀▀█ ▄█    █▀▀", "▀▀█  █    ▀▀█", "▀▀▀ ▀▀▀ ▀ ▀▀▀"]
    assert len({tuple(large(digit)) for digit in PIXELS}) == len(PIXELS)
    assert all(len(glyph) == 5 for glyph in PIXELS.values())


def test_the_block_at_80_by_24() -> None:
    """It fits with room for what was said above, and says step, times, what to do, simulated."""
    lines = drawn(NOW)
    assert len(lines) <= 14
    assert max(len(line) for line in lines) <= 78
    text = "\n".join(lines)
    for words in (
        "Lantern 72, 2 kg, seeded", "simulated", "Step 4 of 6", "Seeding at 33.5 °C",
        "about 6 min in this step, 52 min in all", "Seed in now: 120 g.", "59%",
        "1:16 since the start   plate 33.9 °C   room 21.0 °C", large("33.5")[0],
    ):  # fmt: skip
        assert words in text


def test_the_block_in_fahrenheit() -> None:
    """The large number and the small ones are in °F."""
    text = "\n".join(drawn(NOW, fahrenheit=True))
    assert large("92.3")[0] in text
    assert "plate 93.0 °F" in text


def test_a_real_rig_is_not_called_simulated() -> None:
    """The word stands only where it is true."""
    assert "simulated" not in "\n".join(drawn(replace(NOW, simulated=False)))


def test_no_reading_is_said() -> None:
    """A missing probe is words, never a number."""
    text = "\n".join(drawn(replace(NOW, product_mc=None, plate_mc=None)))
    assert "no reading" in text
    assert "plate" not in text


def test_withheld_heat_is_said() -> None:
    """Heat held back is on the block."""
    text = "\n".join(drawn(replace(NOW, withheld="the plate is too hot")))
    assert "Heat is held back: the plate is too hot." in text


def test_plain_lines_without_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """A pipe gets one line for each thing said, on stderr, and that it is simulated."""
    with watch.watching("Lantern 72, 2 kg, seeded", True, False) as plain:
        plain.progress(NOW)
        plain.say(4567, "Seed in now: 120 g.")
    assert capsys.readouterr() == (
        "", "Lantern 72, 2 kg, seeded (simulated)\n 1:16  Seed in now: 120 g.\n",
    )  # fmt: skip


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        """It is."""
        return True


@pytest.mark.parametrize(
    ("columns", "kind", "expected"),
    [("80", "xterm", "LiveWatch"), ("50", "xterm", "PlainWatch"), ("80", "dumb", "PlainWatch")],
)
def test_the_watch_fits_the_terminal(
    monkeypatch: pytest.MonkeyPatch, columns: str, kind: str, expected: str
) -> None:
    """A wide terminal gets the block; a narrow or dumb one plain lines."""
    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("TERM", kind)
    with watch.watching("Lantern 72", True, False) as chosen:
        chosen.progress(NOW)
        chosen.say(0, "Step 1.")
        assert type(chosen).__name__ == expected
    assert "Step 1." in sys.stderr.getvalue()  # type: ignore[attr-defined]
