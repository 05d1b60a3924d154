"""Draw the guide's pictures from the netlists: `python hardware/drawings/draw.py`.

Writes SVG files beside this one. `--check` draws into a scratch folder and names each picture
whose words are no longer those of the wiring.
"""

import re
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

import schemdraw

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from board import draw_board  # noqa: E402 - beside this file
from chain import draw_chain  # noqa: E402
from driver import draw_driver  # noqa: E402
from layout import draw_layout  # noqa: E402
from netlist import load  # noqa: E402
from power import draw_heater  # noqa: E402
from signals import draw_outputs, draw_senses  # noqa: E402

PICTURES: dict[str, Callable[[str], None]] = {
    f"{build}-{name}": partial(make, load(build))
    for build, name, make in (
        ("bench", "heater", draw_heater),
        ("bench", "chain", draw_chain),
        ("bench", "layout", draw_layout),
        ("bench", "outputs", draw_outputs),
        ("bench", "senses", draw_senses),
        ("bench", "board", draw_board),
        ("large", "heater", draw_heater),
        ("pump", "heater", draw_heater),
    )
} | {"edge-driver": draw_driver}


STROKES = ("path", "line", "circle", "polyline", "polygon", "rect")


def words_in(path: Path) -> list[str]:
    """Every text of an SVG, in the order it is drawn: beside its part, whatever drew it."""
    svg = path.read_text(encoding="utf-8")
    return [text.strip() for text in re.findall(r"<tspan[^>]*>([^<]+)</tspan>", svg)]


def strokes_in(path: Path) -> dict[str, int]:
    """How many lines of each kind an SVG has."""
    svg = path.read_text(encoding="utf-8")
    return {kind: len(re.findall(f"<{kind}[ >]", svg)) for kind in STROKES}


def draw_all(folder: Path) -> None:
    """Every picture of the guide, into a folder."""
    schemdraw.use("svg")
    for name, make in PICTURES.items():
        make(str(folder / f"{name}.svg"))


def stale(folder: Path = HERE) -> list[str]:
    """Names of the pictures in a folder that differ from the wiring's: in a word, in the order of
    the words, or in the number of lines."""
    with tempfile.TemporaryDirectory() as scratch:
        draw_all(Path(scratch))
        return [
            name
            for name in PICTURES
            if not (folder / f"{name}.svg").exists()
            or _seen(folder / f"{name}.svg") != _seen(Path(scratch) / f"{name}.svg")
        ]


def _seen(path: Path) -> tuple[list[str], dict[str, int]]:
    return words_in(path), strokes_in(path)


def main(arguments: list[str]) -> int:
    """Exit code 1 when `--check` finds a stale picture."""
    if "--check" not in arguments:
        draw_all(HERE)
        return 0
    found = stale()
    for name in found:
        sys.stdout.write(f"hardware/drawings/{name}.svg is stale\n")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
