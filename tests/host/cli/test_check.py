"""The command that says whether a file can be used."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.chocolate import description as chocolates
from snapgloss.rigs import description as rigs
from snapgloss.runs.checking import NAMES, check_bytes, check_text
from snapgloss.schedules.demo import FILES, demo_text

PAGE = Path(__file__).parents[3] / "host" / "docs" / "files.md"
BLOCKS = re.findall(r"^```toml\n(.*?)^```", PAGE.read_text(encoding="utf-8"), re.S | re.M)
CHOCOLATE, RIG = BLOCKS


def test_a_schedule_that_can_be_used(call: Any, tmp_path: Path) -> None:
    """One sentence with the key figures on stdout, nothing else, and 0."""
    path = tmp_path / "lantern.toml"
    path.write_text(demo_text())
    assert call("check", str(path)) == (
        0,
        "lantern.toml is a schedule and can be used: Lantern 72, dark, 2 kg, seeded, 6 steps, "
        "120 g of seed, work at 31.5 °C in a window of 31.0 °C to 32.0 °C.\n",
        "",
    )


def test_in_fahrenheit(call: Any, tmp_path: Path) -> None:
    """31.5 °C is 88.7 °F."""
    path = tmp_path / "lantern.toml"
    path.write_text(demo_text())
    assert (
        "work at 88.7 °F in a window of 87.8 °F to 89.6 °F"
        in call("check", str(path), "--fahrenheit").out
    )


def test_a_rig_and_a_chocolate_are_told_apart(call: Any, tmp_path: Path) -> None:
    """The examples of the page are what the page says, by their content alone."""
    path = tmp_path / "some.toml"
    path.write_text(RIG)
    assert call("check", str(path)).out == (
        "some.toml is a rig and can be used: bench rig, 100 W, a bowl of up to 6 kg, chocolate "
        "never above 60.0 °C, probe within ±0.50 °C.\n"
    )
    assert rigs.from_text(RIG) == rigs.BENCH_RIG
    path.write_text(CHOCOLATE)
    # By hand: 2 % more milk fat than usual, 31 - 0.16.
    assert call("check", str(path)).out == (
        "some.toml is a chocolate and can be used: Ferry Milk 48, milk, 36 % fat, 18 % of the fat "
        "from milk, worked at 30.8 °C at most.\n"
    )
    assert call("check", str(path), "--json").value["figures"]["cap_mc"] == 30_840


def test_as_json(call: Any, tmp_path: Path) -> None:
    """A program gets the kind and the figures, or the line and the field, and the same codes."""
    path = tmp_path / "lantern.toml"
    path.write_text(demo_text())
    good = call("check", str(path), "--json")
    assert (good.code, good.value["kind"], good.value["unusual"]) == (0, "schedule", [])
    assert good.value["figures"]["work_mc"] == 31_500
    path.write_text(demo_text().replace('target = "31.5 C"', 'target = "88 C"'))
    bad = call("check", str(path), "--json")
    assert (bad.code, bad.err) == (2, "")
    assert bad.value == {
        "usable": False,
        "file": "lantern.toml",
        "line": 58,
        "field": "step 5, target",
        "sentence": "lantern.toml, line 58, step 5, target: 88 C is too high; the most is 60 C; "
        "is that Fahrenheit? 88 F is 31.1 C.",
    }
    missing = call("check", str(tmp_path / "none.toml"), "--json")
    assert (missing.code, missing.value["usable"], missing.value["line"]) == (2, False, None)


def test_what_is_unusual_goes_to_stderr(call: Any, tmp_path: Path) -> None:
    """A file can be used and still be told to be unusual; the code stays 0."""
    path = tmp_path / "lantern.toml"
    path.write_text(demo_text().replace('seed = "120 g"', 'seed = "250 g"'))
    answer = call("check", str(path))
    assert answer.code == 0
    assert answer.err.startswith("Unusual: 250 g of seed is more than 10 % of the bowl")
    path.write_text(demo_text().replace('target = "48 C"', 'target = "44 C"'))
    told = " ".join(call("check", str(path), "--fahrenheit").err.split())
    assert "at 111.2 °F is outside the usual 113 °F to 131 °F of dark chocolate." in told


@pytest.mark.parametrize("chocolate", FILES)
def test_demo_files_can_be_used(chocolate: str) -> None:
    """Every schedule that comes with the program."""
    assert check_text(demo_text(chocolate), "demo.toml").unusual == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = 1\n", "x.toml is none of our files: a schedule has [[steps]]"),
        ('format = 1\nname = "a"\n', "x.toml is none of our files"),
        ("[[steps]]\n", "x.toml, format: missing"),
        ('format = 1\nlot = "7"\n', "x.toml, name: missing; add it"),
        ("format = 1\nheater_w = 5\n", "x.toml, name: missing"),
        (
            CHOCOLATE.replace("36 %", "90 %"),
            "x.toml, line 4, fat: 90 % is too high; the most is 65 %",
        ),
        (CHOCOLATE.replace('"36 %"', "36"), "x.toml, line 4, fat: read 36, a number without its"),
        (CHOCOLATE.replace('"milk"', '"ruby"'), 'x.toml, line 3, type: read "ruby"; choose'),
        (CHOCOLATE.replace("lot", "lott"), 'x.toml, line 7, lott: no such field; perhaps'),
        (
            CHOCOLATE.replace("2024-117", "a\\u0007"),
            "x.toml, line 7, lot: the text has a character that cannot be shown on one line",
        ),
        (
            CHOCOLATE.replace("Thicker", "\\u202e"),
            "x.toml, line 8, notes: a character cannot be shown",
        ),
        (CHOCOLATE.replace("Thicker", "x" * 2000), "x.toml, line 8, notes: read"),
        (CHOCOLATE.replace("format = 1", "format = 3"), "x.toml, line 1, format: read 3; this"),
    ],
)  # fmt: skip
def test_what_cannot_be_used(text: str, words: str) -> None:
    """One sentence with line and field."""
    with pytest.raises(InputError) as refused:
        check_text(text, "x.toml")
    assert words in refused.value.message
    assert "\n" not in refused.value.message


def test_the_page_explains_every_name() -> None:
    """Each name that a rig or a chocolate may have stands on the page in code, and no other."""
    page = PAGE.read_text(encoding="utf-8")
    tables = "\n".join(re.findall(r"^\| `.*$", page, re.M))
    explained = set(re.findall(r"`([a-z_]+)`", "\n".join(r.split("|")[1] for r in
                                                          tables.splitlines())))  # fmt: skip
    assert explained == NAMES["rig"] | NAMES["chocolate"]


def test_the_page_gives_the_defaults() -> None:
    """What the page says of a figure that is left out is what the program takes."""
    page = PAGE.read_text(encoding="utf-8")
    for name, info in rigs.RigDescription.model_fields.items():
        row = next(line for line in page.splitlines() if f"`{name}`" in line and "|" in line)
        if not info.is_required():
            default = info.get_default(call_default_factory=True)
            if default == {}:
                assert "only as described" in row
            else:
                assert json.dumps(default) in row.rsplit("|", 2)[1]


_LINE = st.text(min_size=1, max_size=60).filter(lambda t: t.isprintable() and t.strip())


@given(
    st.builds(
        chocolates.ChocolateDescription,
        name=_LINE,
        type=st.sampled_from(["dark", "milk", "white"]),
        fat_permille=st.none() | st.integers(150, 650),
        milk_fat_permille=st.none() | st.integers(0, 400),
        origin=st.none() | _LINE,
        lot=st.none() | _LINE,
        notes=st.none() | st.lists(_LINE, max_size=3).map("\n".join),
    )
)
@settings(deadline=None)
def test_a_chocolate_is_read_back_as_written(chocolate: Any) -> None:
    """Quotes, emoji and line ends in notes included."""
    assert chocolates.from_text(chocolates.to_text(chocolate)) == chocolate


def test_a_chocolate_file_is_never_overwritten_unasked(tmp_path: Path) -> None:
    """Written whole, read back, and kept."""
    path = tmp_path / "ferry.toml"
    ferry = chocolates.from_text(CHOCOLATE)
    chocolates.write(path, ferry)
    assert chocolates.read(path) == ferry
    assert ferry.chocolate_type.fat_share == 0.36
    with pytest.raises(InputError, match="is there already"):
        chocolates.write(path, ferry)


@given(st.binary(max_size=300))
def test_any_bytes_give_a_verdict_or_an_input_error(data: bytes) -> None:
    """Whatever the file holds, nothing but an InputError of one line comes out."""
    try:
        assert check_bytes(data, "x.toml").sentence
    except InputError as refused:
        assert refused.message.startswith("x.toml")
        assert "\n" not in refused.message


_PIECES = [line for text in (demo_text(), CHOCOLATE, RIG) for line in text.splitlines()]


@given(st.data())
@settings(deadline=None, max_examples=200)
def test_files_shuffled_and_damaged_give_a_verdict_or_an_input_error(data: Any) -> None:
    """Lines of all three kinds in any order, with bytes overwritten."""
    lines = data.draw(st.lists(st.sampled_from(_PIECES) | st.text(max_size=10), max_size=30))
    raw = bytearray("\n".join(lines).encode(errors="replace"))
    for _ in range(data.draw(st.integers(0, 3)) if raw else 0):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        assert check_bytes(bytes(raw), "x.toml").kind in NAMES
    except InputError as refused:
        assert refused.message.startswith("x.toml")
