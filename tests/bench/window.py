"""Does the suggested schedule find the window? Simulated makers, one JSON object.

    python tests/bench/window.py --json --seed 1 --makers 300

Each maker has a window of his own about the usual schedule, drawn from `window_population.toml`,
which the map is not told. The first batch is the usual schedule, each later one the schedule then
suggested, with `--explore` the one that teaches most. Bars are graded, some grades are flipped.
After 3, 8, 15 and 20 batches the suggested schedule is held against the true window, before any
flip. `calibration_error` is the expected calibration error in ten equal bins (Naeini, Cooper and
Hauskrecht 2015; from memory) of the probabilities at the suggested schedules and at ten places
drawn anew for each maker; `calibration_error_suggested` has the suggested ones alone.

`foretold_share` is the mean of the suggested schedules' own probability. The belief of the map has
the population's spreads, so it is also what somebody who knew the population would expect.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from snapgloss.chocolate.types import DARK
from snapgloss.quality.window import USUAL_DWELL_S, Place, Tried, WindowMap, window_map
from snapgloss.quality.window_next import Aim, Safe, safe_ranges, suggest, usual_place

AFTER = (3, 8, 15, 20)
ASKED = {"success_share_15": 0.90, "calibration_error": 0.08, "template_share_15": 0.60}
BINS, PROBED = 10, 10
POPULATION = Path(__file__).with_name("window_population.toml")


@dataclass(frozen=True)
class Maker:
    """A maker's true window, off the usual schedule, and what a long dwell does there."""

    middle_c: tuple[float, float]
    half_c: tuple[float, float]
    dwell_c: float
    corners: float

    def is_right(self, low_off_c: float, work_off_c: float) -> bool:
        """Whether a batch of the usual dwell comes out right."""
        low, work = (
            abs(off - middle) / half
            for off, middle, half in zip(
                (low_off_c, work_off_c), self.middle_c, self.half_c, strict=True
            )
        )
        power = 2.0 / self.corners if self.corners else float("inf")
        if power == float("inf"):
            return max(low, work) <= 1.0
        return low**power + work**power <= 1.0


def draw(population: dict[str, Any], random: np.random.Generator) -> Maker:
    """One maker of the population."""
    return Maker(
        (
            random.normal(0.0, population["middle_low_sd_c"]),
            random.normal(0.0, population["middle_work_sd_c"]),
        ),
        tuple(random.uniform(*population["half_width_c"], 2)),
        random.uniform(*population["dwell_c"]),
        population["corners"],
    )


@dataclass
class Answers:
    """What was foretold and what was so, and the suggestions after some batches."""

    right: dict[int, list[bool]]
    foretold: dict[int, list[float]]
    probed: list[tuple[float, bool]]


def follow(maker: Maker, population: dict[str, Any], aim: Aim, random: np.random.Generator,
           answers: Answers) -> None:  # fmt: skip
    """Twenty batches of one maker."""
    usual, safe = usual_place(DARK, "cooled"), safe_ranges(DARK, "cooled")
    found, place = window_map(usual), usual
    for number in range(1, max(AFTER) + 1):
        found = found.after(_batch(number, place, maker, population, random))
        if number in AFTER:
            _judge(number, found, safe, maker, random, answers)
        place = suggest(found, safe, aim).place


def _batch(
    number: int, place: Place, maker: Maker, population: dict[str, Any],
    random: np.random.Generator,
) -> Tried:  # fmt: skip
    low_c, work_c = np.array(place) + random.normal(0.0, population["landing_sd_c"], 2)
    longer = random.normal(0.0, population["dwell_sd_log"])
    usual = usual_place(DARK, "cooled")
    is_right = maker.is_right(low_c - maker.dwell_c * longer - usual.low_c, work_c - usual.work_c)
    good = is_right != (random.random() < population["flipped_share"])
    return Tried(number, float(low_c), float(work_c), USUAL_DWELL_S * float(np.exp(longer)), good)


def _judge(number: int, found: WindowMap, safe: Safe, maker: Maker, random: np.random.Generator,
           answers: Answers) -> None:  # fmt: skip
    best = suggest(found, safe)
    answers.right[number].append(_is_right(maker, best.place, found.usual))
    answers.foretold[number].append(best.right)
    for _ in range(PROBED):
        at = Place(*(np.array(found.usual) + random.normal(0.0, (0.8, 0.5))))
        answers.probed.append((found.right_at(at), _is_right(maker, at, found.usual)))


def _is_right(maker: Maker, place: Place, usual: Place) -> bool:
    return maker.is_right(place.low_c - usual.low_c, place.work_c - usual.work_c)


def calibration_error(foretold: Sequence[float], right: Sequence[bool]) -> float:
    """Expected calibration error: over ten equal bins, the share of the forecasts in the bin times
    the difference between their mean and how often it was so."""
    said, was = np.asarray(foretold, dtype=float), np.asarray(right, dtype=float)
    bins = np.minimum((said * BINS).astype(int), BINS - 1)
    return float(
        sum(
            (bins == n).mean() * abs(said[bins == n].mean() - was[bins == n].mean())
            for n in np.unique(bins)
        )
    )


def trial(seed: int, makers: int, aim: Aim, population: dict[str, Any]) -> dict[str, Any]:
    """The figures of one seed."""
    began_s = time.perf_counter()
    answers = Answers({n: [] for n in AFTER}, {n: [] for n in AFTER}, [])
    usual_right = []
    for number in range(makers):
        random = np.random.default_rng((seed, number))
        maker = draw(population, random)
        usual_right.append(maker.is_right(0.0, 0.0))
        follow(maker, population, aim, random, answers)
    suggested = [one for n in AFTER for one in answers.foretold[n]]
    suggested_right = [one for n in AFTER for one in answers.right[n]]
    probed, probed_right = zip(*answers.probed, strict=True)
    template = round(float(np.mean(usual_right)), 4)
    return {
        "simulated": True,
        "seed": seed,
        "makers": makers,
        "next": aim,
        "success_share": {str(n): round(float(np.mean(answers.right[n])), 4) for n in AFTER},
        "template_success_share": {str(n): template for n in AFTER},
        "foretold_share": {str(n): round(float(np.mean(answers.foretold[n])), 4) for n in AFTER},
        "calibration_error": round(
            calibration_error([*suggested, *probed], [*suggested_right, *probed_right]), 4
        ),
        "calibration_error_suggested": round(calibration_error(suggested, suggested_right), 4),
        "seconds": round(time.perf_counter() - began_s, 1),
    }


def shortfalls(found: dict[str, Any]) -> list[str]:
    """What was asked and not reached, by name; empty when all was."""
    success, template = found["success_share"], found["template_success_share"]
    reached = {
        "success_share_15": success["15"] >= ASKED["success_share_15"],
        "template_share_15": template["15"] <= ASKED["template_share_15"],
        "success_share_3": success["3"] >= template["3"],
        "calibration_error": found["calibration_error"] <= ASKED["calibration_error"],
    }
    return [name for name, is_reached in reached.items() if not is_reached]


def main() -> int:
    """Print the figures; 1 when one that was asked is missed."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--json", action="store_true", help="one JSON object (always so)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--makers", type=int, default=300)
    parser.add_argument("--explore", action="store_true", help="batches that teach most")
    parser.add_argument("--population", type=Path, default=POPULATION)
    given = parser.parse_args()
    population = tomllib.loads(given.population.read_text(encoding="utf-8"))
    aim: Aim = "learn" if given.explore else "good"
    found = trial(given.seed, given.makers, aim, population)
    found["missed"] = shortfalls(found)
    sys.stdout.write(json.dumps(found, indent=2) + "\n")
    return 1 if found["missed"] else 0


if __name__ == "__main__":
    sys.exit(main())
