"""Everything a person can get wrong with a file, a name or the record: what they then read.

One table, run through the command line in this process. Each row ends with its own code and its
own sentences, shows no traceback, writes nothing down as a fault of ours, and leaves all that was
stored. host/docs/mistakes.md shows the rows that have a title.
"""

import contextlib
import os
import re
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from snapgloss.base.errors import StoreError
from snapgloss.schedules.demo import demo_text
from snapgloss.schedules.files import from_text, to_text
from snapgloss.schedules.wire import to_wire
from snapgloss.store import engine as engines
from snapgloss.store import open_store

PAGE = Path(__file__).parents[3] / "host" / "docs" / "mistakes.md"
LANTERN = demo_text()
STEP = '\n[[steps]]\nkind = "rest"\ntarget = "48 C"\nrate = "3 C/min"\nwall = "60 C"\n'
HEAD = LANTERN.partition("# 1. Melt")[0]
NOBODY = 65534


def cooled(low: str) -> str:
    """The demo by cooling alone, its low point at `low`."""
    text = LANTERN.replace('method = "seeded"', 'method = "cooled"')
    text = text.replace('kind = "cool"\ntarget = "31.5 C"', 'kind = "rewarm"\ntarget = "31.5 C"')
    text = text.replace('kind = "seed"', 'kind = "cool"').replace('seed = "120 g"\n', "")
    return text.replace('target = "33.5 C"\nhold', f'target = "{low}"\nhold')


class Mistake(NamedTuple):
    """A file that cannot be used; `said` is after "mine.toml" and before the end."""

    content: str | bytes
    said: str
    title: str = ""


def changed(old: str, new: str, said: str, title: str = "") -> Mistake:
    """The demo with one thing replaced."""
    assert old in LANTERN
    return Mistake(LANTERN.replace(old, new, 1), said, title)


WORK = 'kind = "work"\ntarget = "31.5 C"'
FILES = {
    "over the cap": changed(
        WORK,
        'kind = "work"\ntarget = "33 C"',
        ", line 65, step 6, target: 33 C loses the temper of dark chocolate; keep it at or below "
        "32.5 C.",
        "A working temperature over the cap of the chocolate",
    ),
    "over the cap by milk fat": Mistake(
        LANTERN.replace('type = "dark"', 'type = "dark"\nmilk_fat = "15 %"')
        .replace('high = "32 C"', 'high = "31.2 C"')
        .replace('low = "31 C"', 'low = "30 C"')
        .replace('"33.5 C"', '"32.5 C"')
        .replace('"34 C"', '"32.8 C"')
        .replace('kind = "cool"\ntarget = "31.5 C"', 'kind = "cool"\ntarget = "31.3 C"'),
        ", line 66, step 6, target: 31.5 C loses the temper of dark chocolate; keep it at or "
        "below 31.3 C.",
    ),
    "low point at the rewarm": Mistake(
        cooled("31.5 C"),
        ", line 47, step 4, target: the low point 31.5 C is not below the rewarm target 31.5 C; "
        "cool to about 28 C.",
        "Cooling alone, without a low point",
    ),
    "low point over the rewarm": Mistake(
        cooled("32 C"),
        ", line 47, step 4, target: the low point 32 C is not below the rewarm target 31.5 C; "
        "cool to about 28 C.",
    ),
    "rewarm under the low point": Mistake(
        cooled("28 C").replace('kind = "rewarm"\ntarget = "31.5 C"',
                               'kind = "rewarm"\ntarget = "27 C"'),
        ", line 57, step 5, target: the rewarm target 27 C is not above the low point 28 C; "
        "rewarm to about 31 C to 32 C.",
    ),
    "melt under 40": changed(
        'target = "48 C"',
        'target = "39 C"',
        ", line 22, step 1, target: 39 C does not melt out all old crystals; melt at 40 C or "
        "above.",
        "A melt that leaves old crystals",
    ),
    "nan": changed(
        WORK,
        'kind = "work"\ntarget = nan',
        ", line 65, step 6, target: read nan, a number without its unit; write it in quotes like "
        '"31.5 C".',
    ),
    "nan with unit": changed(
        WORK,
        'kind = "work"\ntarget = "nan C"',
        ', line 65, step 6, target: "nan C" is not a temperature; write it like 31.5 C or 89 F.',
    ),
    "inf": changed(
        'mass = "2 kg"',
        "mass = inf",
        ', line 12, mass: read inf, a number without its unit; write it in quotes like "120 g".',
    ),
    "inf with unit": changed(
        'hold = "45 min"',
        'hold = "inf min"',
        ', line 66, step 6, hold: "inf min" is not a length of time; write it like 10 min or 1 h '
        "10 min.",
    ),
    "negative hold": changed(
        'hold = "45 min"',
        'hold = "-45 min"',
        ', line 66, step 6, hold: "-45 min" is out of range; give a value between 0 s and 7 days.',
        "A negative time",
    ),
    "no step": Mistake(HEAD, ", steps: missing; add one [[steps]] for each step."),
    "an empty list of steps": Mistake(
        HEAD.replace("[window]", "steps = []\n[window]"),
        ", line 15, steps: read 0; a schedule has 1 to 16 steps.",
    ),
    "17 steps": Mistake(
        LANTERN.replace("\n# 2. Rest", STEP * 11 + "\n# 2. Rest"),
        ", line 20, steps: read 17; a schedule has 1 to 16 steps.",
    ),
    "no unit": changed(
        WORK,
        'kind = "work"\ntarget = "31.5"',
        ', line 65, step 6, target: "31.5" has no unit; write a temperature like 31.5 C or 89 F.',
        "A temperature without its unit",
    ),
    "Fahrenheit": changed(
        WORK,
        'kind = "work"\ntarget = "88 C"',
        ", line 65, step 6, target: 88 C is too high; the most is 60 C; is that Fahrenheit? 88 F "
        "is 31.1 C.",
        "Fahrenheit written as Celsius",
    ),
    "unknown field": changed(
        'hold = "45 min"',
        'hlod = "45 min"',
        ', line 66, step 6, hlod: no such field; perhaps "hold" is meant.',
        "A slip of the pen",
    ),
    "unknown field of the head": changed(
        'mass = "2 kg"',
        'weight = "2 kg"',
        ", line 12, weight: no such field; the fields here are name, chocolate, type, milk_fat, "
        "method, start, mass, ceiling, format, window, steps.",
    ),
    "truncated": Mistake(
        LANTERN[: LANTERN.index("31.5 C") + 3],
        ', line 58: this is not TOML; write name = "value", close every quote and bracket, and '
        "use a name once.",
        "A file that ends in the middle",
    ),
    "truncated between steps": Mistake(
        LANTERN[: LANTERN.index("\n# 6.")],
        ', line 57, step 5, kind: the last step is "cool"; end with a step of kind "work".',
    ),
    "empty": Mistake(b"", ' is empty; begin with the line "format = 1".'),
    "10 MB": Mistake(
        b"#" * 10_000_000, " is larger than 256 kB; name a file that people wrote."
    ),
    "not UTF-8": Mistake(
        LANTERN.replace("Lantern", "L\xe4ntern").encode("latin-1"),
        ", line 7: this is not UTF-8; save the file as UTF-8.",
        "A file in an old encoding",
    ),
    "binary": Mistake(bytes(range(256)), ", line 2: this is not UTF-8; save the file as UTF-8."),
    "a rig's line end": Mistake(
        LANTERN.replace('"Lantern 72"', '"Lantern\\n72"'),
        ", line 8, chocolate: it has a character that cannot be shown on one line; leave out line "
        "ends, tabs and joined emoji.",
    ),
    "10,000 characters": Mistake(
        LANTERN.replace('"Lantern 72"', '"' + "L" * 10_000 + '"'),
        f', line 8, chocolate: read "{"L" * 40}..."; write 1 to 60 characters.',
    ),
    "a terminal's own commands": Mistake(
        LANTERN.replace('"Lantern 72"', '"\\u001b[2J\\u202e"'),
        ", line 8, chocolate: it has a character that cannot be shown on one line; leave out line "
        "ends, tabs and joined emoji.",
    ),
    "a name that eats all memory": Mistake(
        "a" + ".a" * 100_000 + " = 1", ": more than 2000 points; no file of ours has them."
    ),
    "hot without saying so": changed(
        'ceiling = "55 C"',
        'ceiling = "60 C"',
        ", line 13, ceiling: 60 C spoils dark chocolate; keep it at or below 55 C, or, for a bowl "
        'that is fed hot, say start = "hot".',
    ),
}  # fmt: skip


@contextlib.contextmanager
def nobody() -> Iterator[None]:
    """Without the rights of root, to whom every file is open; else as we are."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def stored(data: Path) -> list[Any]:
    """Everything that the record has of its runs."""
    with open_store(data) as store:
        return [
            (run, store.readings(run.id), store.events(run.id), store.gaps(run.id),
             store.notes(run.id), store.figures(run.id))
            for run in store.runs()
        ]  # fmt: skip


def no_fault_of_ours(answer: Any, data: Path) -> None:
    """A sentence, no traceback, and nothing in the log of faults."""
    assert "Traceback" not in answer.out + answer.err
    assert not (data / "faults.log").exists()


@pytest.fixture
def mine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file in the present folder, as a person names it."""
    monkeypatch.chdir(tmp_path)
    return Path("mine.toml")


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    "command", [("check",), ("schedule",), ("run", "--port", "/dev/no-rig")], ids=lambda c: c[0]
)
def test_files(
    call: Any, data: Path, run_1: int, mine: Path, command: tuple[str, ...], name: str
) -> None:
    """Checking, forecasting and tempering say the same one sentence, before any rig is asked."""
    row, before = FILES[name], stored(data)
    content = row.content.encode() if isinstance(row.content, str) else row.content
    mine.write_bytes(content)
    answer = call(*command, str(mine))
    assert answer == (2, "", f"mine.toml{row.said}\n")
    no_fault_of_ours(answer, data)
    assert stored(data) == before
    assert mine.read_bytes() == content


def test_every_cut_of_a_file_is_told_or_whole(call: Any, data: Path, mine: Path) -> None:
    """A file cut anywhere ends with a sentence and 2; a whole one with 0."""
    codes = []
    for length in range(0, len(LANTERN), 29):
        mine.write_text(LANTERN[:length])
        answer = call("check", str(mine))
        no_fault_of_ours(answer, data)
        assert answer.err.startswith("mine.toml")
        codes.append(answer.code)
    assert set(codes) == {2}


def folder(mine: Path) -> None:
    """A folder of that name."""
    mine.mkdir()


def closed(mine: Path) -> None:
    """A file that only its owner may read."""
    mine.write_text(LANTERN)
    mine.chmod(0)


@pytest.mark.parametrize(
    ("prepare", "said"),
    [
        (folder, "mine.toml is a folder.\nName a file in it.\n"),
        (closed, "mine.toml cannot be read: Permission denied.\nCheck the file.\n"),
        (os.mkfifo, "mine.toml is not an ordinary file.\nName a file.\n"),
        (lambda _mine: None, "There is no file mine.toml.\nCheck the name and the folder.\n"),
    ],
    ids=["folder", "closed", "pipe", "none"],
)
def test_what_is_no_file_to_read(
    call: Any, data: Path, mine: Path, prepare: Callable[[Path], None], said: str
) -> None:
    """What happened, and what to do."""
    call("check", "warm up")  # all that must be imported is, before the rights are given away
    prepare(mine)
    with nobody() if prepare is closed else contextlib.nullcontext():
        answer = call("check", str(mine))
    assert answer == (2, "", said)
    no_fault_of_ours(answer, data)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("a\nb.toml", "a?b.toml"),
        ("a\x1b[2Jb.toml", "a?[2Jb.toml"),
        ("x" * 200 + ".toml", "x" * 40 + "..."),
        ('"quoted" 🍫.toml', '"quoted" 🍫.toml'),
    ],
)
def test_names_of_files(call: Any, mine: Path, name: str, shown: str) -> None:
    """A file may be called anything; the sentence stays one line, and not endless."""
    Path(name).write_text("")
    answer = call("check", name)
    assert answer == (2, "", f'{shown} is empty; begin with the line "format = 1".\n')


def test_a_name_that_no_system_has(call: Any, data: Path, mine: Path) -> None:
    """10,000 characters are no file name: told, and not shown whole."""
    answer = call("check", "x" * 10_000)
    assert answer == (
        2, "", f"{'x' * 40}... cannot be read: File name too long.\nCheck the file.\n",
    )  # fmt: skip
    no_fault_of_ours(answer, data)


GOOD_NAMES = {
    'Ines\' "best" 72': "Ines' best 72 seeded 2 kg",
    "Crème brûlée": "Creme brulee seeded 2 kg",
    "🍫 nº 1": "no 1 seeded 2 kg",
    "チョコ": "seeded 2 kg",
    "a|b,c;d\\e": "a b c d e seeded 2 kg",
    "</script><b>": "</script><b> seeded 2 kg",
    "[bold]{x} %s": "[bold]{x} %s seeded 2 kg",
    "x" * 60: "x" * 40,
}


@pytest.mark.parametrize("name", GOOD_NAMES)
def test_names_that_are_kept(call: Any, data: Path, mine: Path, name: str) -> None:
    """People read the name as it was written; the rig gets its plain letters."""
    made = call("schedule", "--chocolate", name, "--out", str(mine))
    assert made.code == 0
    assert call("check", str(mine)).code == 0
    figures = call("check", str(mine), "--json").value["figures"]
    assert figures["chocolate"] == name
    assert figures["name_on_rig"] == GOOD_NAMES[name]
    read = from_text(mine.read_text(encoding="utf-8"))
    assert to_wire(read).name == GOOD_NAMES[name]
    assert from_text(to_text(read)) == read
    no_fault_of_ours(made, data)


BAD_NAMES = {
    "two\nlines": "The chocolate's name has a character that cannot be shown on one line.\n"
    "Leave out line ends, tabs and joined emoji.\n",
    "x" * 10_000: "The chocolate's name has 10000 characters.\nWrite 1 to 60.\n",
    "\x1b[31mred": "The chocolate's name has a character that cannot be shown on one line.\n"
    "Leave out line ends, tabs and joined emoji.\n",
    "\udcff": "The chocolate's name has a character that cannot be shown on one line.\n"
    "Leave out line ends, tabs and joined emoji.\n",
    "👩\u200d🍳": "The chocolate's name has a character that cannot be shown on one line.\n"
    "Leave out line ends, tabs and joined emoji.\n",
    "   ": "The chocolate's name is empty.\nWrite 1 to 60.\n",
}


@pytest.mark.parametrize("name", BAD_NAMES, ids=range(len(BAD_NAMES)))
def test_names_that_are_refused(call: Any, data: Path, mine: Path, name: str) -> None:
    """What would break a line is refused in a sentence, and no file is left."""
    answer = call("schedule", "--chocolate", name, "--out", str(mine))
    assert answer == (2, "", BAD_NAMES[name])
    assert not mine.exists()
    no_fault_of_ours(answer, data)


@pytest.mark.parametrize("name", BAD_NAMES, ids=range(len(BAD_NAMES)))
def test_names_of_workshops_that_are_refused(call: Any, data: Path, mine: Path, name: str) -> None:
    """Said of a workshop as of a chocolate, before any rig is asked."""
    mine.write_text(LANTERN)
    answer = call("run", str(mine), "--port", "/dev/no-rig", "--workshop", name)
    assert answer == (2, "", BAD_NAMES[name].replace("chocolate", "workshop"))
    no_fault_of_ours(answer, data)


@pytest.mark.parametrize("name", [n for n in GOOD_NAMES if n != "x" * 60])
def test_names_in_record_and_report(call: Any, data: Path, run_1: int, name: str) -> None:
    """A batch of any name is listed, shown and reported; the page holds it as text only."""
    with sqlite3.connect(data / engines.FILE_NAME) as raw:
        raw.execute("UPDATE runs SET chocolate = ?, workshop = ?", (name, name))
    raw.close()
    assert call("runs", "--json").value[0]["chocolate"] == name
    assert name in call("runs").out
    assert name in call("show", "1").out
    paths = call("report", "1", "--json").value
    page = Path(paths["html"]).read_text(encoding="utf-8")
    assert "</script><b>" not in page
    assert sorted(path.name for path in Path(paths["html"]).parent.iterdir()) == [
        "run-1.html", "run-1.pdf", "run-1.png",
    ]  # fmt: skip


# --- the record ---


def not_a_record(file: Path) -> None:
    """Something else of the same name."""
    file.write_text("shopping list\n" * 200)


def damaged(file: Path) -> None:
    """All pages but the first overwritten."""
    content = file.read_bytes()
    file.write_bytes(content[:4096] + b"\xa5" * (len(content) - 4096))


def cut(file: Path) -> None:
    """Half of it is gone."""
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


def a_folder(file: Path) -> None:
    """A folder in its place."""
    file.unlink()
    file.mkdir()


RECORDS = {
    "not a record": (
        not_a_record,
        "is not a snapgloss database.\nMove that file away, or choose another folder with --data.",
    ),
    "damaged": (
        damaged,
        "is damaged.\nSalvage it, which keeps what can be read and deletes nothing: "
        "snapgloss salvage. Or put back your last backup: snapgloss restore FILE.",
    ),
    "cut": (
        cut,
        "is damaged.\nSalvage it, which keeps what can be read and deletes nothing: "
        "snapgloss salvage. Or put back your last backup: snapgloss restore FILE.",
    ),
    "a folder": (
        a_folder,
        "could not be opened.\nCheck that the folder exists and is yours, or choose another with "
        "--data.",
    ),
}


UNREADABLE = [
    (name, command)
    for name in RECORDS
    for command in (("runs",), ("show", "1"), ("saveit",), ("try",))
    if command != ("try",) or name not in ("damaged", "cut")  # a batch is let go on: see below
]


@pytest.mark.parametrize(("name", "command"), UNREADABLE)
def test_records_that_cannot_be_read(
    call: Any, data: Path, run_1: int, command: tuple[str, ...], name: str
) -> None:
    """Listing, showing, saving and tempering say which file and what to do, and leave it be."""
    spoil, said = RECORDS[name]
    file = data / engines.FILE_NAME
    spoil(file)
    before = file.read_bytes() if file.is_file() else b""
    answer = call(*command)
    told = answer.err.removeprefix("Starting the simulated rig ...\n")
    assert (answer.code, answer.out, told) == (5, "", f"The record in {file} {said}\n")
    assert (file.read_bytes() if file.is_file() else b"") == before
    no_fault_of_ours(answer, data)


@pytest.mark.parametrize("name", ["damaged", "cut"])
def test_a_batch_goes_on_over_a_damaged_record(
    call: Any, data: Path, run_1: int, name: str
) -> None:
    """It is set aside as it was found, which is said, and the batch is in a new one."""
    file = data / engines.FILE_NAME
    RECORDS[name][0](file)
    before = file.read_bytes()
    answer = call("try")
    assert answer.code == 0
    (aside,) = data.glob("snapgloss-damaged-*.sqlite3")
    assert aside.read_bytes() == before
    assert "set aside, and not deleted" in " ".join(answer.err.split())
    assert call("runs").code == 0


@pytest.fixture(params=["of another", "of our own"])
def shut(request: pytest.FixtureRequest, data: Path, run_1: int) -> Iterator[Path]:
    """A record in a folder that may not be written, the file itself of another or of our own."""
    place = Path(tempfile.mkdtemp())
    shutil.copytree(data, place / "data")
    file = place / "data" / engines.FILE_NAME
    file.chmod(0o444)
    if request.param == "of our own":
        file.chmod(0o644)
        if os.geteuid() == 0:
            os.chown(file, NOBODY, NOBODY)
    (place / "data").chmod(0o555)
    place.chmod(0o755)
    yield place / "data"
    (place / "data").chmod(0o755)
    shutil.rmtree(place)


READERS = [("runs",), ("show", "1"), ("saveit", "1"), ("report", "1", "--out")]


@pytest.mark.parametrize("words", READERS, ids=lambda words: words[0])
def test_a_record_that_may_only_be_read_is_read(
    call: Any, shut: Path, words: tuple[str, ...]
) -> None:
    """What reads it says the same as with all rights, and leaves nothing beside it."""
    out = Path(tempfile.mkdtemp())
    out.chmod(0o777)
    command = (*words, str(out)) if words[-1] == "--out" else words
    before = call(*command)
    with nobody():
        answer = call("--data", str(shut), *command)
    shutil.rmtree(out)
    assert (answer.code, answer.out, answer.err) == (0, before.out, "")
    assert [path.name for path in shut.iterdir()] == [engines.FILE_NAME]


def test_a_record_that_may_only_be_read_is_not_written(call: Any, shut: Path) -> None:
    """What would record there says that it is read-only, before anything is begun."""
    call("runs")
    with nobody(), pytest.raises(StoreError) as caught:
        open_store(shut)
    assert str(caught.value) == (
        f"The record in {shut / engines.FILE_NAME} is read-only. "
        "Give yourself write permission on the folder, or choose another with --data."
    )


def test_a_log_that_cannot_be_read_is_not_passed_over(call: Any, shut: Path) -> None:
    """Readings still in the write-ahead log, and no right to open it: told, not left out."""
    call("runs")
    shut.chmod(0o755)
    log = shut / f"{engines.FILE_NAME}-wal"
    log.write_bytes(b"x" * 4096)
    log.chmod(0o000)
    shut.chmod(0o555)
    with nobody():
        answer = call("--data", str(shut), "runs")
    assert (answer.code, "is read-only" in answer.err) == (5, True)


LIMITS = {
    "read only": (
        "PRAGMA query_only = ON",
        "is read-only.\nGive yourself write permission on the folder, or choose "
        "another with --data.\n",
    ),
    "full": (
        "PRAGMA max_page_count = 40",
        "has no room left on its disk.\nFree some space on that disk; the rig keeps its last "
        "readings meanwhile. This batch is no longer recorded. A real rig carries on by "
        "itself.\n",
    ),
}


@pytest.mark.parametrize("name", LIMITS)
def test_a_batch_that_cannot_be_recorded(
    call: Any, data: Path, run_1: int, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """SQLite's own limit stands for the disk's. What was stored before is all there after."""
    pragma, said = LIMITS[name]
    before = stored(data)
    monkeypatch.setattr(engines, "_PRAGMAS", (*engines._PRAGMAS, pragma))
    answer = call("try")
    assert (answer.code, answer.out) == (5, "")
    assert answer.err.endswith(f"The record in {data / engines.FILE_NAME} {said}")
    no_fault_of_ours(answer, data)
    monkeypatch.undo()
    assert stored(data)[-1] == before[0]
    assert call("runs").code == 0


def test_a_record_that_another_program_writes(
    call: Any, data: Path, run_1: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader does not wait; a batch is told who holds the record, and nothing is lost."""
    monkeypatch.setattr(engines, "_PRAGMAS", ("PRAGMA busy_timeout = 1", *engines._PRAGMAS[1:]))
    before = stored(data)
    other = sqlite3.connect(data / engines.FILE_NAME, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    assert call("runs").code == 0
    answer = call("try")
    other.close()
    assert (answer.code, answer.out) == (5, "")
    assert answer.err.endswith(
        f"The record in {data / engines.FILE_NAME} is being written by another program and stayed "
        "locked.\nClose the other snapgloss that uses this data folder, then try again.\n"
    )
    no_fault_of_ours(answer, data)
    assert stored(data) == before


# --- the page ---


def shown_blocks() -> list[str]:
    """What the page must show: a title, the command, and what is said, from the tables above."""
    blocks = [
        f"## {row.title}\n\n```text\n$ snapgloss check mine.toml\nmine.toml{row.said}\n```\n"
        for row in FILES.values()
        if row.title
    ]
    said = RECORDS["damaged"][1]
    record = "/home/ines/snapgloss/snapgloss.sqlite3"
    return [
        *blocks,
        f"## A damaged record\n\n```text\n$ snapgloss runs\nThe record in {record} {said}\n```\n",
    ]


def test_the_page_shows_ten_of_them() -> None:
    """host/docs/mistakes.md has each titled row as it is said, in this order, and no other."""
    text = PAGE.read_text(encoding="utf-8")
    on_page = re.findall(r"^## .*?^```\n(?=\n|\Z)", text, re.S | re.M)
    assert on_page == shown_blocks()
    assert len(on_page) == 10
