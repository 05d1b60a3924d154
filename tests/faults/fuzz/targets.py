"""What is fuzzed: for each name a function of bytes, what it may raise, and inputs to begin with.

A function returns for whatever it is given, or raises one of REFUSALS; it asserts what must hold
of what was accepted. Anything else that comes out is a crash.
"""

import json
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import rigwire
from rigfw import codelist, commissioned, slots
from rigfw.config import ConfigRefused
from rigfw.describe import fields_of
from rigfw.drivers import probelist
from rigfw.memory import Memory
from rigfw.upload import UploadRefused
from rigwire import frames, messages, schedule
from rigwire.errors import FrameRefused, MessageRefused, ScheduleRefused
from rigwire.reader import FrameReader
from snapgloss.base.errors import SnapglossError
from snapgloss.base.records import Event, Status
from snapgloss.chocolate import description as chocolate
from snapgloss.link import decode
from snapgloss.quality import event_words, log_file, temper_file
from snapgloss.rigs import description as rig
from snapgloss.rigs import probe_list
from snapgloss.schedules import reader, wire, writer
from snapgloss.web.api import history, routes, strict_json
from snapgloss.web.api.schema import COMMANDS

REFUSALS = (
    SnapglossError, FrameRefused, MessageRefused, ScheduleRefused, ConfigRefused, UploadRefused,
)  # fmt: skip
VECTORS = Path(rigwire.__file__).parent / "vectors"
DEMO = Path(reader.__file__).parent / "demo"
DIRECTIONS = (messages.TO_DEVICE, messages.TO_HOST)


class Target(NamedTuple):
    """`most_bytes` is how long an input is made; what is taken at most: host/docs/bounds.md."""

    run: Callable[[bytes], None]
    seeds: Callable[[], list[bytes]]
    most_bytes: int


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _vectors() -> list[bytes]:
    rows = json.loads((VECTORS / "good.json").read_text("utf-8"))
    return [bytes.fromhex(row["hex"]) for row in rows]


def _bodies() -> list[bytes]:
    return [line.rpartition(b" ")[0] for line in _vectors()]


def _signed(body: bytes) -> bytes:
    return body + b" " + frames.crc_hex(body).encode() + b"\n"


def frame_reader(data: bytes) -> None:
    """A stream in pieces, the first byte says how long: each byte comes out once or is kept."""
    step, rest = (data[0] % 64 + 1, data[1:]) if data else (1, b"")
    taken: list[bytes] = []
    found = FrameReader()
    for at in range(0, len(rest), step):
        found.feed(rest[at : at + step], lambda _array, line: taken.append(line), taken.append)
        assert len(found.pending) < frames.MAX_FRAME_BYTES
    assert b"".join(taken) + found.pending == rest
    # Behind any of it the next good frame is found.
    found.feed(b"\n" + OFF, lambda _array, line: taken.append(line), taken.append)
    assert taken[-1] == OFF


OFF = messages.encode("off", 7)


def codec(data: bytes) -> None:
    """Any text under a good check sum: refused, or a message that is written the same again."""
    line = _signed(data)
    array = frames.decode(line)
    assert frames.encode(array) == line
    for direction in DIRECTIONS:
        with suppress(MessageRefused):
            found = messages.parse(array, direction)
            assert found is not None
            again = messages.encode(found.name, found.number, found.values, found.groups)
            assert again == line


def newer_rig(data: bytes) -> None:
    """The same from a rig that may be newer than we are: its records have words for a person."""
    found = messages.parse(frames.decode(_signed(data)), messages.TO_HOST, lenient=True)
    if found is None or found.name not in HEARD:
        return
    record = HEARD[found.name](found)
    for one in record if isinstance(record, list) else [record]:
        if isinstance(one, Event):
            event_words.say(one)
        if isinstance(one, Status):
            event_words.stop_words(one.stop_code)


HEARD: dict[str, Callable[[Any], object]] = {
    "hello_is": decode.identity,
    "status": decode.status,
    "reading": lambda found: decode.reading(found.number, found.values),
    "batch": decode.readings,
    "sample": decode.sample,
    "samples": decode.samples,
    "event": decode.event,
    "events": decode.events,
    "lost": decode.lost_range,
}


def schedule_body(data: bytes) -> None:
    """A schedule as a rig is sent it."""
    found = schedule.from_body(data)
    assert schedule.to_body(found) == data


def schedule_file(data: bytes) -> None:
    """A schedule as a person writes it: what is taken can be written, read again and sent."""
    found = reader.from_text(_text(data))
    assert reader.from_text(writer.to_text(found)) == found
    schedule.from_body(schedule.to_body(wire.to_wire(found)))


def chocolate_file(data: bytes) -> None:
    """A chocolate as a person describes it."""
    found = chocolate.from_text(_text(data))
    assert chocolate.from_text(chocolate.to_text(found)) == found


def rig_file(data: bytes) -> None:
    """A rig as a person describes it."""
    found = rig.from_text(_text(data))
    assert rig.from_text(rig.to_text(found)) == found


class _Keep:
    def read(self, _name: str) -> bytes:
        return b""

    def write(self, _name: str, _data: bytes) -> bool:
        return True


def board_files(data: bytes) -> None:
    """The texts on a board, under a good check sum or none: refused, or used as they say."""
    which, text = (data[0], _text(data[1:])) if data else (0, "")
    summed = text + "|" + frames.crc_hex(text.encode())
    for one in (text, summed):
        for read in (slots.from_slot, probelist.listed, fields_of, probe_list.read_line):
            with suppress(*REFUSALS):
                read(one)
        with suppress(ConfigRefused):
            slots.newest([one, None])
        codelist.why_unfit(one, lambda _name: None)
        is_proof = one == commissioned.proof_text("rig")
        assert commissioned.cap_permille(one, "rig", 100) == (1000 if is_proof else 200)
    if which % 2:
        Memory(_Keep(), "rig").take(text)


@cache
def _scratch() -> Path:
    return Path(tempfile.mkdtemp(prefix="fuzz-")) / f"{os.getpid()}.csv"


COLUMNS = (
    log_file.LogColumns(celsius="Temp", time="Time", zone="UTC"),
    log_file.LogColumns(fahrenheit="2", time="1", day="2026-11-30", zone="Europe/Berlin"),
    log_file.LogColumns(celsius="2", seconds="1", began="2026-11-30 10:00", zone="UTC"),
    log_file.LogColumns(celsius="2", minutes="1", began="2026-11-30 10:00", zone="UTC", gaps=True),
    log_file.LogColumns(celsius="2", time="1", time_format="%d.%m.%Y %H:%M:%S", zone="UTC"),
)


def csv_import(data: bytes) -> None:
    """A logger's file, a cooling curve or a table of bars; the first byte says as what."""
    which, rest = (data[0] % 7, data[1:]) if data else (0, b"")
    path = _scratch()
    path.write_bytes(rest)
    if which == 5:
        temper_file.read_curve(path)
    elif which == 6:
        temper_file.read_bars(path)
    else:
        found = log_file.read_log(path, COLUMNS[which])
        assert found.at_ms == sorted(found.at_ms)
        assert len(found.at_ms) == len(found.product_mc)
        assert found.at_ms[0] == 0


def api_bodies(data: bytes) -> None:
    """What a page may send: a body for each command, numbers and days in an address."""
    text = _text(data)
    history.number(text)
    for read in (history.run_number, history._day):
        with suppress(SnapglossError):
            read(text)
    strict_json.read_object(data)
    for model in COMMANDS.values():
        with suppress(SnapglossError):
            routes._body(model, data)


def _with_first(firsts: range, texts: Iterator[bytes] | list[bytes]) -> list[bytes]:
    kept = list(texts)
    return [bytes([first]) + text for first in firsts for text in kept]


def _frames() -> list[bytes]:
    lines = _vectors()
    return _with_first(range(0, 60, 20), [b">>> " + b"".join(lines[at : at + 3])
                                          for at in range(0, len(lines), 3)])  # fmt: skip


def _schedule_bodies() -> list[bytes]:
    return [schedule.to_body(wire.to_wire(reader.from_text(_text(text)))) for text in _demos()]


def _demos() -> list[bytes]:
    return [path.read_bytes() for path in sorted(DEMO.glob("*.toml"))]


CHOCOLATES = (
    b'format = 1\nname = "Lantern 72"\ntype = "dark"\ncocoa = "72 %"\ncocoa_butter = "6 %"\n'
    b'sugar = "27.5 %"\nlecithin = "0.5 %"\n',
    b'format = 1\nname = "Ferry Milk 48"\ntype = "milk"\ncocoa = "48 %"\ncocoa_butter = "20 %"\n'
    b'sugar = "29.5 %"\nmilk_powder = "22 %"\nlecithin = "0.5 %"\n',
)


def _rigs() -> list[bytes]:
    return [rig.to_text(rig.BENCH_RIG).encode()]


def _boards() -> list[bytes]:
    texts = [b"slot|1|rig|2", b"probes|2|ds18b20,28ff640207170384,0,0|-|-|-", b"code|1|a=00000000"]
    return _with_first(range(2), texts)


def _csvs() -> list[bytes]:
    rows = [f"2026-11-30 10:{at:02d}:00,{45 - at / 4:.2f}" for at in range(40)]
    stamped = "\n".join(["Time,Temp", *rows]).encode()
    counted = "\n".join(f"{at * 15},{45 - at / 4:.2f}" for at in range(40)).encode()
    points = "\n".join(f"30.11.2026 10:{at:02d}:00;{45 - at / 4:.2f}" for at in range(40))
    texts = [stamped, counted, points.replace(".", ",", 2).encode(), b"1.2,sell,seeded,streaks\n"]
    return _with_first(range(7), texts)


def _bodies_of_pages() -> list[bytes]:
    return [
        b"{}", b'{"words": "thick"}', b'{"key": "thick"}', b'{"prompt": "seed_in"}', b'{"by": -1}',
        b'{"moulds": 12}', b'{"schedule": "", "sample": true, "room_c": 21.5, "moulds": 4}',
        b'{"run": 1, "fahrenheit": true}', b'{"name": "Maar", "only": ["stop loop"]}',
        b'{"number": 1, "answer": "done", "figure": 1.5e3}', b"2026-11-30", b"12",
    ]  # fmt: skip


TARGETS = {
    "frames": Target(frame_reader, _frames, 1024),
    "codec": Target(codec, _bodies, 300),
    "newer_rig": Target(newer_rig, _bodies, 300),
    "schedule": Target(schedule_body, _schedule_bodies, 1024),
    "schedule_file": Target(schedule_file, _demos, 4096),
    "chocolate": Target(chocolate_file, lambda: list(CHOCOLATES), 2048),
    "rig": Target(rig_file, _rigs, 2048),
    "board": Target(board_files, _boards, 512),
    "csv": Target(csv_import, _csvs, 4096),
    "api": Target(api_bodies, _bodies_of_pages, 1024),
}
