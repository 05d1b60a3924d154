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


def words_in(path: Path) -> list[str]:
    """Every text of an SVG, sorted: what a reader sees, whatever the version that drew it."""
    svg = path.read_text(encoding="utf-8")
    return sorted(text.strip() for text in re.findall(r"<tspan[^>]*>([^<]+)</tspan>", svg))


def draw_all(folder: Path) -> None:
    """Every picture of the guide, into a folder."""
    schemdraw.use("svg")
    for name, make in PICTURES.items():
        make(str(folder / f"{name}.svg"))


def stale(folder: Path = HERE) -> list[str]:
    """Names of the pictures in a folder whose words differ from the wiring's."""
    with tempfile.TemporaryDirectory() as scratch:
        draw_all(Path(scratch))
        return [
            name
            for name in PICTURES
            if not (folder / f"{name}.svg").exists()
            or words_in(folder / f"{name}.svg") != words_in(Path(scratch) / f"{name}.svg")
        ]


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
