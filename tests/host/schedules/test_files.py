"""Schedule files: what is written is read back, and every mistake is one readable sentence."""

import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.base.textfiles import MAX_BYTES
from snapgloss.chocolate.types import TYPES
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules import files
from snapgloss.schedules.demo import FILES, demo, demo_text
from snapgloss.schedules.maker import make
from snapgloss.schedules.model import ScheduleFile, Step

LANTERN = demo_text("Lantern 72")


def refused(text):
    """Return the message that refuses the text."""
    with pytest.raises(InputError) as problem:
        files.from_text(text, "lantern.toml")
    message = problem.value.message
    assert "\n" not in message
    assert message.startswith("lantern.toml")
    assert not re.search("pydantic|Input should|validation error|type=", message)
    return message


@pytest.mark.parametrize("chocolate", FILES)
def test_demo_files(chocolate):
    """Each demo file is what the maker makes for the workshop's chocolate."""
    kind = {"Lantern 72": "dark", "Ferry Milk 48": "milk", "Chalk White": "white"}[chocolate]
    mass_g = 1500 if kind == "white" else 2000
    made = make(TYPES[kind], BENCH_RIG, mass_g, chocolate_name=chocolate)
    assert demo(chocolate) == made
    assert demo_text(chocolate).endswith(files.to_text(made))


def test_demo_lantern_figures():
    """The figures of the dark demo, read by hand from the file's text."""
    schedule = demo("Lantern 72")
    assert [(s.kind, s.target_mc, s.hold_s) for s in schedule.steps] == [
        ("melt", 48_000, 300),
        ("rest", 48_000, 600),
        ("cool", 33_500, 0),
        ("seed", 33_500, 360),
        ("cool", 31_500, 0),
        ("work", 31_500, 2700),
    ]
    assert (schedule.steps[3].seed_g, schedule.steps[3].wait_s) == (120, 600)
    assert (schedule.window.low_mc, schedule.window.high_mc) == (31_000, 32_000)
    assert (schedule.mass_g, schedule.ceiling_mc, schedule.work_mc) == (2000, 55_000, 31_500)


def test_fahrenheit_is_read():
    """122 F is 50 C and 88.7 F is 31.5 C, exactly."""
    text = LANTERN.replace('target = "48 C"', 'target = "122 F"')
    text = text.replace('target = "31.5 C"', 'target = "88.7 F"')
    schedule = files.from_text(text)
    assert schedule.steps[0].target_mc == 50_000
    assert schedule.steps[5].target_mc == 31_500


# what is replaced, by what, and what the sentence must hold
MISTAKES = [
    ('target = "48 C"', "target = 48", "step 1, target: read 48, a number without its unit"),
    ('target = "48 C"', "target = nan", "step 1, target: read nan, a number without its unit"),
    ('target = "48 C"', "target = true", "step 1, target: read true, not a text"),
    ('target = "48 C"', "target = []", "step 1, target: read a list, not a text"),
    ('target = "48 C"', "target = 1979-05-27", "step 1, target: read a date or time"),
    ('target = "48 C"', 'target = "48"', 'step 1, target: "48" has no unit; write'),
    ('target = "48 C"', 'target = "inf C"', 'step 1, target: "inf C" is not a temperature'),
    ('target = "48 C"', 'target = "nan C"', 'step 1, target: "nan C" is not a temperature'),
    ('target = "48 C"', 'target = "480 C"', 'step 1, target: "480 C" is out of range; give'),
    ('target = "48 C"', 'target = "65 C"', "step 1, target: 65 C is too high; the most is 60 C"),
    ('target = "48 C"', 'target = "56 C"', "step 1, target: 56 C is above the schedule's"),
    ('target = "33.5 C"', 'target = "5 C"', "step 3, target: 5 C is too low; the least is 15 C"),
    ('hold = "5 min"', "hold = 5", "step 1, hold: read 5, a number without its unit"),
    ('hold = "5 min"', 'hold = "-5 min"', 'step 1, hold: "-5 min" is out of range'),
    ('hold = "5 min"', 'hold = "5 h"', "step 1, hold: 5 h is too high; the most is 4 h"),
    ('wait = "10 min"', 'wait = "31 min"', "step 4, wait: 31 min is too high; the most is 30 min"),
    (
        'rate = "2 C/min"',
        "rate = 2",
        "step 3, rate: read 2, a number without its unit; write it in",
    ),
    ('rate = "2 C/min"', 'rate = "0 C/min"', "step 3, rate: 0 C/min is too low; the least is"),
    ('rate = "2 C/min"', "", 'step 3, rate: missing; add it, for example "1 C/min"'),
    ('mass = "2 kg"', "mass = 2", "mass: read 2, a number without its unit"),
    ('mass = "2 kg"', 'mass = "50 g"', "mass: 50 g is too low; the least is 100 g"),
    ('mass = "2 kg"', 'mass = "16 kg"', "mass: 16 kg is too high; the most is 15 kg"),
    ('seed = "120 g"', 'seed = "0 g"', "step 4, seed: a seed step without seed"),
    ('seed = "120 g"', 'seeds = "120 g"', 'step 4, seeds: no such field; perhaps "seed" is meant'),
    ('kind = "seed"', 'kind = "sead"', 'step 4, kind: read "sead"; choose "melt", "rest"'),
    ('kind = "seed"', "kind = 4", "step 4, kind: read 4; choose"),
    ('prompt = "seed_in"', 'prompt = "seed"', 'step 4, prompt: read "seed"; choose "none"'),
    ('method = "seeded"', 'method = "tabled"', 'method: read "tabled"; choose "seeded"'),
    ('type = "dark"', 'type = "ruby"', 'type: read "ruby"; choose "dark", "milk" or "white"'),
    ('type = "dark"', 'type = "milk"', "ceiling: 55 C spoils milk chocolate; keep it at or below"),
    ('start = "solid"', 'start = "in_temper"', 'start: "in_temper" does not go with'),
    ('low = "31 C"', 'low = "33 C"', "window: low 33 C is not below high 32 C"),
    ('low = "31 C"', "low = 31", "window low: read 31, a number without its unit"),
    ('low = "31 C"', "", 'window low: missing; add it, for example "31.5 C"'),
    ('high = "32 C"', 'high = "33 C"', "window high: 33 C loses the temper"),
    ('name = "Lantern 72 seeded 2 kg"', 'name = ""', 'name: read ""; write 1 to 60 characters'),
    ('name = "Lantern 72 seeded 2 kg"', "name = 72", "name: read 72; write a text in quotes"),
    (
        'name = "Lantern 72 seeded 2 kg"',
        'name = "a\\u0007"',
        "name: it has a character that cannot",
    ),
    ('type = "dark"', 'type = "dark"\nmilk_fat = 18', "milk_fat: read 18, a number without its"),
    (
        'type = "dark"',
        'type = "dark"\nmilk_fat = "18"',
        'milk_fat: "18" has no unit; write a share',
    ),
    (
        'type = "dark"',
        'type = "dark"\nmilk_fat = "41 %"',
        "milk_fat: 41 % is too high; the most is",
    ),
    ('target = "48 C"', 'target = "118 C"', "is that Fahrenheit? 118 F is 47.8 C"),
    ("format = 1", "format = 2", "format: read 2; this program reads format 1"),
    ("format = 1", "format = true", "format: read true; this program reads format 1"),
    ("format = 1", "", "format: missing"),
    ("format = 1", "format = 1\ncolour = 1", "colour: no such field; the fields here are"),
    ("format = 1", "format = 1\nformat = 1", "line 7: this is not TOML"),
    ("[window]", "[windows]", 'windows: no such field; perhaps "window" is meant'),
    ("[window]", "[[window]]", "window: read a list"),
]


@pytest.mark.parametrize(("old", "new", "words"), MISTAKES)
def test_mistakes(old, new, words):
    """One sentence: the file, the step and field, what was read, what would be right."""
    assert old in LANTERN
    assert words in refused(LANTERN.replace(old, new, 1))


@pytest.mark.parametrize("count", [0, 17])
def test_number_of_steps(count):
    """A schedule has 1 to 16 steps."""
    head, _, rest = LANTERN.partition("[[steps]]")
    steps = "\n[[steps]]" + rest.split("[[steps]]")[0]
    assert "steps" in refused(head + steps * count)


def test_sixteen_steps_are_read():
    """The sixteenth step is still allowed: fifteen melts before the work."""
    parts = LANTERN.split("[[steps]]")
    text = parts[0] + "[[steps]]".join(["", *parts[1:7], *[parts[6]] * 10])
    assert len(files.from_text(text).steps) == 16


@pytest.mark.parametrize("text", ["", "  \n", "\ufeff"])
def test_empty_text(text):
    """An empty file is said to be empty or not to be TOML."""
    assert refused(text)


def test_every_truncation_is_refused_or_whole():
    """A file cut at any place is refused in one sentence, unless what is left is whole."""
    whole = 0
    for length in range(len(LANTERN)):
        try:
            files.from_text(LANTERN[:length], "lantern.toml")
            whole += 1
        except InputError as problem:
            assert problem.message.startswith("lantern.toml")
    # Only cuts inside the last, optional line (its prompt) and its line end can be whole.
    assert whole <= len('prompt = "dip_knife"\n')


@pytest.mark.parametrize(
    ("written", "read"),
    [('steps = "x"', 'read "x"'), ("steps = [1, 2]", "read a list"), ("[steps]", "read a table"),
     ("[steps]\nkind = 1", "read a table")],
)  # fmt: skip
def test_steps_written_wrongly_are_not_called_missing(written, read):
    """What stands there is named, with its line and how steps are written."""
    head = LANTERN.partition("[window]")[0]
    text = f"{head}{written}\n[window]\n" + 'low = "31 C"\nhigh = "32 C"\n'
    line = head.count("\n") + 1
    assert refused(text) == (
        f"lantern.toml, line {line}, steps: {read}; write [[steps]], with two brackets, once "
        "for each step."
    )


def test_a_window_written_wrongly_is_not_called_missing():
    """What stands there is named."""
    head, _, rest = LANTERN.partition("[window]")
    text = f'{head}window = "x"\n[[steps]]{rest.partition("[[steps]]")[2]}'
    assert 'window: read "x"; add [window] with low = "31 C"' in refused(text)


def test_a_number_without_end_is_found_on_its_line():
    """Python reads 4,300 digits; one more and its error names no line. Ours does."""
    text = LANTERN.replace('mass = "2 kg"', f"mass = {'7' * 5000}")
    line = text[: text.index("mass =")].count("\n") + 1
    assert refused(text) == (
        f"lantern.toml, line {line}: a number of more than 4300 digits; no file of ours has one."
    )


def test_nesting_bomb_is_refused():
    """Endless nesting and endless numbers end in the same sentence."""
    assert "TOML" in refused("format = " + "[" * 50_000)
    assert refused("format = " + "9" * 5000)


_BASIC = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), min_size=1, max_size=60)
_NAMES = _BASIC.filter(lambda text: text.isprintable() and text.strip())


@st.composite
def schedules(draw):
    """Draw a valid schedule: a usual one with its free figures changed."""
    kind = TYPES[draw(st.sampled_from(sorted(TYPES)))]
    method = draw(st.sampled_from(["seeded", "cooled", "kept"]))
    starts = ["in_temper"] if method == "kept" else ["solid", "liquid", "hot"]
    start, milk_fat = draw(st.sampled_from(starts)), draw(st.none() | st.integers(0, 400))
    mass_g = draw(st.integers(100, BENCH_RIG.largest_mass_g))
    made = make(kind, BENCH_RIG, mass_g, method, start, draw(_NAMES), milk_fat)
    steps = [
        Step(
            **{
                **step.model_dump(),
                "hold_s": draw(st.integers(0, 3600)),
                "rate_mc_per_min": draw(st.integers(100, 1000)),
                "wall_mc": draw(st.integers(step.target_mc, step.wall_mc)),
            }
        )
        for step in made.steps
    ]
    return ScheduleFile(**{**made.model_dump(), "name": draw(_NAMES), "steps": tuple(steps)})


@given(schedules())
@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_round_trip(schedule):
    """What is written is read back equal, to the milli-degree, second and gram."""
    assert files.from_text(files.to_text(schedule)) == schedule


@given(st.text())
def test_any_text_gives_a_schedule_or_an_input_error(text):
    """Whatever is in the file, nothing but an InputError comes out."""
    try:
        files.from_text(text)
    except InputError as problem:
        assert problem.message.startswith("schedule")


_LINES = LANTERN.splitlines()
_JUNK = [
    "",
    "x = nan",
    'target = "-1e9 C"',
    "[[steps]]",
    "steps = 3",
    "[steps]",
    '"" = ""',
    "\x00",
]


@given(st.data())
@settings(deadline=None)
def test_damaged_files_give_a_schedule_or_an_input_error(data):
    """A real file with lines lost, doubled or overwritten gives no other error."""
    lines = list(_LINES)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        lines[at] = data.draw(st.sampled_from([*_LINES, *_JUNK]) | st.text(max_size=20))
    try:
        assert isinstance(files.from_text("\n".join(lines)), ScheduleFile)
    except InputError as problem:
        assert "\n" not in problem.message


def test_write_and_read(tmp_path):
    """A written file is read back equal and leaves nothing else in the folder."""
    path = tmp_path / "lantern.toml"
    files.write(path, demo())
    assert files.read(path) == demo()
    assert [entry.name for entry in tmp_path.iterdir()] == ["lantern.toml"]


def test_write_does_not_overwrite_unasked(tmp_path):
    """An existing file is kept, and replaced whole only when asked."""
    path = tmp_path / "lantern.toml"
    path.write_text("mine")
    with pytest.raises(InputError, match="there already"):
        files.write(path, demo())
    assert path.read_text() == "mine"
    files.write(path, demo(), overwrite=True)
    assert files.read(path) == demo()


def test_write_into_no_folder(tmp_path):
    """A missing folder is an InputError, not a traceback."""
    with pytest.raises(InputError, match="cannot be written"):
        files.write(tmp_path / "none" / "lantern.toml", demo())


def test_read_refuses_what_is_no_text_file(tmp_path):
    """Missing, folder, pipe, too large, not UTF-8: each is said."""
    with pytest.raises(InputError, match="There is no file"):
        files.read(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a folder"):
        files.read(tmp_path)
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(InputError, match="not an ordinary file"):
        files.read(tmp_path / "pipe.toml")
    with pytest.raises(InputError, match="cannot be read"):
        files.read(tmp_path / "nul\0.toml")
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * (MAX_BYTES + 1))
    with pytest.raises(InputError, match="256 kB"):
        files.read(large)
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'format = 1\nname = "\xe9"\n')
    with pytest.raises(InputError, match="line 2: this is not UTF-8"):
        files.read(latin)


def test_largest_file_is_still_read(tmp_path):
    """The size limit itself is allowed, and so is a byte-order mark."""
    path = tmp_path / "lantern.toml"
    text = "\ufeff" + LANTERN + "#"
    path.write_bytes(text.encode() + b"#" * (MAX_BYTES - len(text.encode())))
    assert path.stat().st_size == MAX_BYTES
    assert files.read(path) == demo()
