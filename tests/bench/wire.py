"""Frames a second of the wire's codec: one encode and one decode of a reading of 11 values.

    python tests/bench/wire.py --json

Ranges are checked both ways, and the decoded frame is written again and compared, as always. On
CPython beside plain `json` and `zlib.crc32` on the same data in turn with it, which check nothing
but the sum; and on MicroPython (the unix port of the virtual rig, its heap, the source as it is).
Each figure is the best of its rounds, for whatever else the machine does can only slow them.
Bounds asked for: 50,000 and 10,000 frames a second, and 2.5 times plain JSON's seconds.
"""

import argparse
import json
import os
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import rigwire
from rigwire import frames, messages
from snapgloss.virtual.interpreter import find

READING = (3723250, 4, 3, 31700, 31642, 33120, 21437, 412, 300, 650, 17)
"""A reading after an hour: time, state, step, target, three probes, three outputs, flags."""

ON_MICROPYTHON = """
import time
from rigwire import frames, messages
reading = %r
def one(number):
    line = messages.encode("reading", number, reading)
    assert messages.parse(frames.decode(line), "to_host", True).number == number
def best(rounds, many):
    least = 1 << 60
    for _ in range(rounds):
        began = time.ticks_us()
        for number in range(1000, 1000 + many):
            one(number)
        least = min(least, time.ticks_diff(time.ticks_us(), began))
    return many * 1e6 / least
print(best(%d, %d))
"""


def checked(number: int) -> None:
    """The wire's own way, there and back."""
    line = messages.encode("reading", number, READING)
    message = messages.parse(frames.decode(line), messages.TO_HOST, lenient=True)
    assert message is not None and message.number == number


def plain(number: int) -> None:
    """The same bytes by `json` and `zlib` alone: nothing is looked at but the check sum."""
    body = json.dumps(["reading", number, *READING], separators=(",", ":")).encode()
    line = body + b" %08x\n" % zlib.crc32(body)
    body = line[:-10]
    assert line[-9:-1] == b"%08x" % zlib.crc32(body)
    assert json.loads(body)[1] == number


def seconds(work: Callable[[int], None], many: int) -> float:
    """Of so many frames, by this process's own clock."""
    began_s = time.process_time()
    for number in range(1000, 1000 + many):
        work(number)
    return time.process_time() - began_s


def on_cpython(rounds: int, many: int) -> dict[str, float]:
    """Ours and plain JSON, in turn."""
    taken = [(seconds(checked, many), seconds(plain, many)) for _ in range(rounds)]
    ours_s, plain_s = (min(column) for column in zip(*taken, strict=True))
    return {
        "cpython_frames_per_s": round(many / ours_s),
        "plain_json_frames_per_s": round(many / plain_s),
        "ratio_to_plain_json": round(ours_s / plain_s, 2),
    }


def on_micropython(rounds: int, many: int) -> dict[str, float | str]:
    """The same on the interpreter of the virtual rig; no figure where there is none."""
    interpreter = find()
    if not interpreter.is_micropython:
        return {"micropython": interpreter.words}
    script = ON_MICROPYTHON % (READING, rounds, many)
    protocol = Path(rigwire.__file__).parents[1]
    done = subprocess.run(
        [*interpreter.command, "-c", script],
        env={**os.environ, "MICROPYPATH": str(protocol)},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return {"micropython_frames_per_s": round(float(done.stdout))}


def measure(rounds: int = 15, many: int = 2000) -> dict[str, object]:
    """All figures, and that the two write the same bytes."""
    body = json.dumps(["reading", 7, *READING], separators=(",", ":")).encode()
    assert messages.encode("reading", 7, READING) == body + b" %08x\n" % zlib.crc32(body)
    return {
        **on_cpython(rounds, many),
        **on_micropython(rounds, many // 2),
        "python": sys.version.split()[0],
    }


def main() -> None:
    """Print the figures, as JSON with --json."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print exactly one JSON object")
    figures = measure()
    if parser.parse_args().json:
        print(json.dumps(figures))
    else:
        for name, value in figures.items():
            print(f"{name}: {value}")


if __name__ == "__main__":
    main()
