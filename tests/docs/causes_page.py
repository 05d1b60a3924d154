"""Write the table of rules in host/docs/causes.md from causes.toml; `--check` only compares.

python tests/docs/causes_page.py [--check]
"""

import re
import sys
from pathlib import Path
from typing import Any

from made_page import keep
from snapgloss.quality.causes import rules

PAGE = Path(__file__).parents[2] / "host" / "docs" / "causes.md"
BLOCK = re.compile(r"<!-- generated: rules -->\n.*?<!-- end -->", re.S)
UNITS = {"k": "°C", "c": "°C", "min": "min", "share": "of the whole", "percent": "%"}
FIGURES = {
    "seed_share": "seed that went in, of what was asked for",
    "seed_drawn_share": "heat drawn as the seed went in, of what all of it takes",
    "seed_over_k": "over the warmest that seed bears",
    "probe_high_k": "chocolate's probe over the plate's, against good batches",
    "probe_low_k": "chocolate's probe under the plate's, against good batches",
    "room_c": "room",
    "fan_lost_share": "less heat taken by the fan than in good batches",
    "low_over_k": "over the low point",
    "dwell_min": "within 0.5 °C of the lowest, and on the way there and back",
    "still_min": "unstirred between low point or seed and work",
    "gap_share": "wider between plate and chocolate at full heat than in good batches",
    "over_cap_k_min": "over the cap, °C times minutes",
    "wall_over_k_min": "wall over its limit, °C times minutes",
    "melted_min": "over 40 °C",
    "under_work_k_min": "under the usual working range, °C times minutes",
    "work_min": "in work until the last pour",
    "crystals_share": "of the fat set, by the crystal model",
    "remelt_share": "of the bowl tempered before",
    "fridge_c": "refrigerator",
    "trays_at_once": "trays at once",
    "tray_least_min": "shortest stay of a tray",
    "bar_dew_k": "dew point over the bars as they were turned out",
    "mould_c": "moulds",
    "mould_dew_k": "dew point over the moulds",
    "store_high_c": "store, warmest",
    "store_swing_k": "store, coolest to warmest of a day",
    "store_humidity_percent": "humidity of the store",
}
"""What each figure is, in words."""


def generated(text: str) -> str:
    """The page with its table as causes.toml has it."""
    lines = ["| Cause | Place | Counts from, wholly at | Explains (3 = best) | Source |",
             "| --- | --- | --- | --- | --- |"]  # fmt: skip
    lines += [_row(rule) for rule in rules().rules]
    block = "\n".join(["<!-- generated: rules -->", *lines, "<!-- end -->"])
    return BLOCK.sub(lambda _: block, text)


def _row(rule: dict[str, Any]) -> str:
    signs = "; ".join(_sign(sign) for sign in rule["signs"]) or "marks alone"
    fits = ", ".join(f"{name} {weight}" for name, weight in rule["symptoms"].items())
    return f"| `{rule['key']}` | {rule['place']} | {signs} | {fits} | {rule['source']} |"


def _sign(sign: dict[str, Any]) -> str:
    name = sign["figure"]
    unit = "" if name.endswith("_k_min") else UNITS.get(name.rpartition("_")[2], "")
    return f"{FIGURES[name]}: {sign['from']:g}, {sign['full']:g} {unit}".strip()


def main() -> int:
    """Write or, with --check, compare; 1 when they differ."""
    return keep(PAGE, generated)


if __name__ == "__main__":
    sys.exit(main())
