"""The temper check as the curve comes: how soon it answers, and how well; prints one JSON object.

    python tests/bench/temper_live.py --json
    python tests/bench/temper_live.py --curves 100 --seed 7 --json

The usable curves of `temper_check` (simulated, from another model than the program's), handed over
reading by reading until the check says that it is done. No bounds are set for it: what the whole
curve says is `temper_check`'s affair.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from snapgloss.quality.temper_live import LiveCurve
from temper_check import CLOSE, OVER_BELOW, SEED, SHADE, UNDER_ABOVE, Case, band, cases

CURVES = 400


def answered(case: Case) -> tuple[str, float | None, float]:
    """How it ended, the set ratio, and minutes from the dip to the answer."""
    live = LiveCurve(case.log.bath_c)
    for at_s, at_c in zip(case.log.seconds, case.log.celsius, strict=True):
        live.take(float(at_s), float(at_c))
        if live.phase in ("done", "refused"):
            break
    live.finish()
    ratio = live.features.set_ratio if live.features else None
    span_s = live.seconds[-1] - live.seconds[0] if live.seconds else 0.0
    return live.phase, ratio, span_s / 60


def trial(count: int, seed: int) -> dict[str, float | int | str]:
    """The figures of a trial. A curve without an answer at its end counts as not close."""
    drawn = [case for case in cases(count, seed) if case.truth is not None]
    found = [(case.truth, *answered(case)) for case in drawn]
    took_min = np.array([minutes for _, phase, _, minutes in found if phase == "done"])
    right = [ratio is not None and band(ratio) == band(truth) for truth, _, ratio, _ in found]
    edges = (UNDER_ABOVE, OVER_BELOW)
    clear = [min(abs(truth - edge) for edge in edges) > SHADE for truth, *_ in found]
    off = [abs(ratio - truth) for truth, _, ratio, _ in found if ratio is not None]
    return {
        "simulated": "yes",
        "curves": len(found),
        "answered_share": round(len(took_min) / len(found), 4),
        "r_within_003_share": round(sum(one <= CLOSE for one in off) / len(found), 4),
        "verdict_right_share": round(float(np.mean(np.array(right)[clear])), 4),
        "verdict_right_all_share": round(float(np.mean(right)), 4),
        "minutes_p50": round(float(np.percentile(took_min, 50)), 1),
        "minutes_p95": round(float(np.percentile(took_min, 95)), 1),
    }


def main() -> int:
    """Run a trial and print it."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--curves", type=int, default=CURVES)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--json", action="store_true", help="one JSON object (always so)")
    chosen = parser.parse_args()
    sys.stdout.write(json.dumps(trial(chosen.curves, chosen.seed), indent=2) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
