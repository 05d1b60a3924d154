"""Cooling curves kept as files: whose they are stands above the readings, for a person to read.

A file is what `snapgloss temper` reads: lines of comment, then seconds and °C.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from snapgloss.base.errors import StoreError

MOST_NAMES = 1000
MOST_HEAD_LINES = 10


class About(NamedTuple):
    """What a curve is of; an empty text where nobody said."""

    chocolate: str = ""
    method: str = ""
    rig: str = ""
    simulated: bool = False


def write_curve(
    seconds: Iterable[float], celsius: Iterable[float], folder: Path, name: str, about: About
) -> Path:
    """Write a curve from its first reading on, nan as an empty cell; return its path.

    A file that is there is left alone: the name gets a number. Raises StoreError.
    """
    at_s, at_c = list(seconds), list(celsius)
    head = about._asdict() | {"simulated": "yes" if about.simulated else "no"}
    lines = [f"# {key}: {value}\n" for key, value in head.items()]
    lines += ["seconds,celsius\n"]
    for one_s, one_c in zip(at_s, at_c, strict=True):
        lines.append(f"{one_s - at_s[0]:.3f},{'' if math.isnan(one_c) else f'{one_c:.3f}'}\n")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(1, MOST_NAMES):
            path = folder / (f"{name}.csv" if number == 1 else f"{name}-{number}.csv")
            if not path.exists():
                path.write_text("".join(lines), encoding="utf-8")
                return path
    except OSError as problem:
        raise StoreError(f"The curve cannot be written: {problem.strerror}.") from problem
    raise StoreError(f"There are {MOST_NAMES} curves named {name}.", "Move some elsewhere.")


def about_of(path: Path) -> About:
    """Return what stands above a curve; nothing for a file that says nothing or cannot be read."""
    said: dict[str, str] = {}
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            for _ in range(MOST_HEAD_LINES):
                line = file.readline()
                if not line.startswith("#"):
                    break
                key, _colon, value = line[1:].partition(":")
                said[key.strip()] = value.strip()
    except OSError:
        return About()
    chocolate, method, rig = (said.get(key, "") for key in ("chocolate", "method", "rig"))
    return About(chocolate, method, rig, said.get("simulated") == "yes")


def kept_curves(folder: Path, chocolate: str, simulated: bool) -> list[Path]:
    """Return the files of a chocolate's curves, the oldest first; of a simulation or of none."""
    named = ((path, about_of(path)) for path in sorted(folder.glob("*.csv")))
    return [
        path
        for path, about in named
        if (about.chocolate, about.simulated) == (chocolate, simulated)
    ]
