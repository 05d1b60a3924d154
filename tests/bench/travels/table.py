"""The bench's result as a table for people."""

from __future__ import annotations

from typing import Any

import numpy as np

from travels.figures import TRAVELS, Figures
from travels.run import Outcome

SLOWER = 1.05
RIPPLE = 1.2


def as_text(result: dict[str, Any], outcome: Outcome) -> str:
    """Return one row for each controller, and how often ours is the better."""
    head = f"{result['rigs']} rigs, seed {result['seed']}, {result['actuator']}, refused "
    lines = [head + f"{result['refused']}. p50/p95/max of degC past the target; time over bound"]
    lines += [_row(name, table) for name, table in result["controllers"].items() if table]
    return "\n".join(lines + _better(outcome, result["actuator"]))


def _row(name: str, table: dict[str, Any]) -> str:
    cells = [f"{name:>10}"]
    for kind in TRAVELS:
        if kind in table:
            over, time = table[kind]["overshoot_c"], table[kind]["time_ratio_to_bound"]
            past = "/".join(f"{value:.2f}" for value in over.values())
            ratios = ["-" if value is None else f"{value:.2f}" for value in time.values()]
            cells.append(f"{kind} {past} x" + "/".join(ratios))
    work = table["work"]
    cells.append("rms " + "/".join(f"{value:.3f}" for value in work["hold_rms_c"].values()))
    cells.append("in " + "/".join(f"{value:.3f}" for value in work["in_window_share"].values()))
    cells.append("cyc " + "/".join(f"{value:.0f}" for value in work["cycles_per_h"].values()))
    cells.append(f"wall {table['wall_over_limit_share']:.3f}")
    cells.append(f"lost {table['seed_lost_share']:.3f}")
    return "  ".join(cells)


def _greatest(figures: Figures) -> float:
    return max(travel.overshoot_c for travel in figures.travels.values())


def _slowest(figures: Figures, other: Figures) -> float:
    kinds = figures.travels
    return max(
        figures.travels[one].within_s / max(other.travels[one].within_s, 1) for one in kinds
    )


def _better(outcome: Outcome, actuator: str) -> list[str]:
    """Where ours has the smaller of the largest overshoots, and where it is slower than the PI."""
    if not outcome.rigs:
        return []
    lines = []
    for name in ("thermostat", "pid"):
        pairs = [(rig.figures["ours"], rig.figures[name]) for rig in outcome.rigs]
        share = np.mean([_greatest(ours) < _greatest(other) for ours, other in pairs])
        slower = np.mean([_slowest(ours, other) > SLOWER for ours, other in pairs])
        lines.append(f"smaller largest overshoot than {name}: {share:.3f}; slower: {slower:.3f}")
    if actuator == "relay":
        ripple = np.mean([
            rig.figures["ours"].hold_rms_c > RIPPLE * rig.ideal_ripple_c for rig in outcome.rigs
        ])  # fmt: skip
        lines.append(f"hold rms over {RIPPLE} x a relay's ideal ripple: {ripple:.3f} of the rigs")
    wall_c = max(rig.figures["ours"].wall_over_c for rig in outcome.rigs)
    return [*lines, f"greatest excess of the wall over its limit, ours: {wall_c:.2f} degC"]
