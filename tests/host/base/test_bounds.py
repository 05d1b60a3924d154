"""What is larger than its bound is refused, and refusing it takes neither memory nor time."""

import subprocess
import sys
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from rigwire import frames, messages, schedule
from rigwire.errors import FrameRefused, ScheduleRefused
from rigwire.reader import FrameReader
from snapgloss.base import textfiles
from snapgloss.base.errors import InputError
from snapgloss.link.client import INBOX_MOST, RigLink
from snapgloss.link.testing import ScriptedClock, ScriptedRig
from snapgloss.quality import log_file, log_table, temper_file
from snapgloss.rigs import description
from snapgloss.runs import photos
from snapgloss.web.api.strict_json import read_object
from snapgloss.web.gate.limits import BODY_MOST_BYTES

LITTLE_BYTES = 2_000_000
COLUMNS = log_file.LogColumns(celsius="2", seconds="1", began="2026-11-30 10:00", zone="UTC")


@contextmanager
def little_memory(most_bytes: int = LITTLE_BYTES) -> Iterator[None]:
    """Fails when what runs inside holds more than this at any moment."""
    tracemalloc.start()
    try:
        yield
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < most_bytes, f"{peak} bytes"


def endless(path: Path) -> Path:
    """A file of 4 GB that takes no room on the disk."""
    with path.open("wb") as file:
        file.truncate(4_000_000_000)
    return path


@pytest.mark.parametrize(
    "read",
    [
        textfiles.read_text,
        description.read,
        temper_file.read_curve,
        temper_file.read_bars,
        lambda path: log_file.read_log(path, COLUMNS),
        photos.read_photo,
    ],
)
def test_a_file_of_4_gb_is_refused_by_its_size(
    tmp_path: Path, read: Callable[[Path], object]
) -> None:
    """It is not read."""
    with little_memory(), pytest.raises(InputError):
        read(endless(tmp_path / "endless.csv"))


def test_a_cable_that_never_ends_its_line_costs_a_frame() -> None:
    """5 MB of it: all is handed on as text, and less than a frame is kept."""
    reader, count = FrameReader(), 0

    def told(data: bytes) -> None:
        nonlocal count
        count += len(data)

    piece = b'["' * 2048
    with little_memory(100_000):
        for _ in range(1250):
            reader.feed(piece, lambda _array, _line: None, told)
            assert len(reader.pending) < frames.MAX_FRAME_BYTES
    assert count + len(reader.pending) == 1250 * len(piece)


def test_a_frame_and_a_schedule_a_byte_too_long_are_refused() -> None:
    """At the bound a frame is written and read; a byte more is neither."""
    room = frames.MAX_FRAME_BYTES - len(frames.encode(["a", "b", "c", ""]))
    texts = ["x" * 80, "x" * 80]
    array = [*texts, "x" * (room - 160 + 3), ""]
    assert len(frames.encode(array)) == frames.MAX_FRAME_BYTES
    assert frames.decode(frames.encode(array)) == array
    with pytest.raises(FrameRefused):
        frames.encode([*array[:3], "x"])
    with pytest.raises(ScheduleRefused, match="too long"):
        schedule.from_body(b"1" * (schedule.MAX_BODY_BYTES + 1))


def test_a_body_of_brackets_is_refused_before_it_is_parsed() -> None:
    """As large as the page lets in; a parser would go so deep that it ends the program."""
    with little_memory(), pytest.raises(InputError):
        read_object(b"[" * BODY_MOST_BYTES)


def test_pushes_that_nobody_takes_are_bounded() -> None:
    """What comes to a full inbox is dropped; the journal of the rig has it still."""
    rig = ScriptedRig()
    link = RigLink(rig, ScriptedClock(rig))
    push = messages.Message("status", 0, [], [])
    for _ in range(INBOX_MOST + 500):
        link._keep_push(push)
    assert len(link._inbox) == INBOX_MOST
    link.close()


def test_a_log_of_a_row_too_many_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One row fewer is read."""
    monkeypatch.setattr(log_table, "MOST_ROWS", 100)
    path = tmp_path / "log.csv"
    rows = [f"{at * 15};{45 - at / 10:.2f}" for at in range(101)]
    path.write_text("\n".join(rows))
    with pytest.raises(InputError, match="more than 100 rows"):
        log_file.read_log(path, COLUMNS)
    path.write_text("\n".join(rows[:-1]))
    assert len(log_file.read_log(path, COLUMNS).at_ms) == 100


LARGEST = """
import re, sys
from pathlib import Path
from snapgloss.quality.log_file import LogColumns, read_log
columns = LogColumns(celsius="2", seconds="1", began="2026-11-30 10:00", zone="UTC")
assert len(read_log(Path(sys.argv[1]), columns).at_ms) == 300_000
print(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1])
"""
# Not getrusage: on Linux its figure counts what the program that started this one had, too.


@pytest.mark.campaign
@pytest.mark.skipif(sys.platform != "linux", reason="the memory is read from /proc")
def test_the_largest_log_takes_less_than_500_mb(tmp_path: Path) -> None:
    """All the rows that are let in, nearly as long as the file may be."""
    path = tmp_path / "log.csv"
    rows = (f"{at / 2:.1f};{45 - (at % 9000) / 4000:.2f};{'x' * 75}" for at in range(300_000))
    path.write_text("\n".join(rows))
    assert 0.9 * log_file.MOST_BYTES < path.stat().st_size <= log_file.MOST_BYTES
    done = subprocess.run(
        [sys.executable, "-c", LARGEST, str(path)], capture_output=True, text=True, check=True
    )
    assert int(done.stdout) * 1024 < 500e6
