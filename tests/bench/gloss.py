"""How well the figures of gloss and snap come out again, on simulated photos and sounds. JSON.

    python tests/bench/gloss.py --json

`gloss` has for each roughness (rms slope of the surface, rad) of how many photos the figure is,
its mean, and its standard deviation over its mean (`deviation_share`): photos differ by angle,
distance, roll, lean of the card, light, exposure, focus and noise, as `card_photos.drawn_shot`
draws them. `law_share` is the mean over what the law of reflection says, less 1. `monotone`: each
rougher bar has the smaller mean. `pairs_right_share`: of pairs of one photo each of neighbouring
roughness, in how many the rougher one has the smaller figure. `snap` has the same for sounds.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.host.card_photos import drawn_shot, photo_of
from tests.host.card_sounds import snap_sound, wav_of

from snapgloss.base.errors import InputError
from snapgloss.quality import line_card
from snapgloss.quality.gloss_photo import gloss_of_photo
from snapgloss.quality.snap_sound import snap_of_sound

ROUGH_RAD = (0.004, 0.008, 0.012, 0.018, 0.026)
MIDDLES_HZ = (1500.0, 3000.0, 5000.0)
DEVIATION_MOST = 0.05


def law(rough_rad: float) -> float:
    """The figure of a bar of that roughness by the law of reflection, without camera or noise."""
    sigma_mm = 2 * rough_rad * np.linspace(*line_card.BAND_MM, 200)
    blurred = [
        np.exp(-2 * np.pi**2 * sigma_mm**2 / field.period_mm**2).mean()
        for field in line_card.FIELDS
    ]
    return float(sum(blurred[1:]) / blurred[0] / 3)


def gloss_trial(photos: int, seed: int) -> dict[str, object]:
    """The figures of so many photos of each bar."""
    rows, before, right, pairs = [], np.array([]), 0, 0
    for number, rough_rad in enumerate(ROUGH_RAD):
        seeds = range(seed + 1000 * number, seed + 1000 * number + photos)
        found = np.array(_figures(rough_rad, seeds))
        rows.append(
            {
                "rough_rad": rough_rad,
                "photos": len(found),
                "refused": photos - len(found),
                **_spread(found, 4),
                "law_share": round(float(found.mean() / law(rough_rad) - 1), 4),
            }
        )
        if len(before):
            right += int((before[:, None] > found[None, :]).sum())
            pairs += before.size * found.size
        before = found
    means = [row["mean"] for row in rows]
    return {
        "bars": rows,
        "monotone": all(a > b for a, b in pairwise(means)),
        "pairs_right_share": round(right / pairs, 4),
        "deviation_share_most": max(row["deviation_share"] for row in rows),
    }


def _figures(rough_rad: float, seeds: range) -> list[float]:
    found = []
    for seed in seeds:
        try:
            found.append(gloss_of_photo(photo_of(drawn_shot(rough_rad, seed))).sharpness)
        except InputError as refused:
            print(f"{rough_rad} rad, seed {seed}: {refused}", file=sys.stderr)
    return found


def _spread(found: np.ndarray, digits: int) -> dict[str, float]:
    return {
        "mean": round(float(found.mean()), digits),
        "deviation_share": round(float(found.std(ddof=1) / found.mean()), 4),
    }


def sheet(path: Path) -> None:
    """Draw five photos with their figures, each bar rougher than the one before."""
    whole = Image.new("RGB", (1500, 760), "white")
    for number, rough_rad in enumerate((0.004, 0.008, 0.014, 0.022, 0.035)):
        content = photo_of(drawn_shot(rough_rad, 60 + number))
        with Image.open(io.BytesIO(content)) as photo:
            small = photo.resize((500, 375))
        words = f"simulated, {rough_rad} rad: {100 * gloss_of_photo(content).sharpness:.0f} %"
        ImageDraw.Draw(small).text((8, 8), words, fill="white", font_size=20)
        whole.paste(small, (500 * (number % 3), 380 * (number // 3)))
    whole.save(path, quality=80)


def snap_trial(sounds: int, seed: int) -> list[dict[str, float]]:
    """The figures of so many sounds of each bar."""
    rows = []
    for middle_hz in MIDDLES_HZ:
        heard = [snap_of_sound(wav_of(snap_sound(seed + n, middle_hz))) for n in range(sounds)]
        loud = np.array([one.loudness_db for one in heard])
        rows.append(
            {
                "middle_hz": middle_hz,
                "sounds": sounds,
                **_spread(np.array([one.centroid_hz for one in heard]), 0),
                "loudness_db": round(float(loud.mean()), 1),
                "deviation_db": round(float(loud.std(ddof=1)), 2),
            }
        )
    return rows


def main() -> int:
    """Print the figures; 1 when a bar does not come out again."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="as JSON, as it always is")
    parser.add_argument("--photos", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sheet", type=Path, help="draw five photos into this file instead")
    given = parser.parse_args()
    if given.sheet:
        sheet(given.sheet)
        return 0
    gloss = gloss_trial(given.photos, given.seed)
    found = {"simulated": True, "gloss": gloss, "snap": snap_trial(given.photos, given.seed)}
    print(json.dumps(found, indent=1))
    return int(not gloss["monotone"] or gloss["deviation_share_most"] > DEVIATION_MOST)


if __name__ == "__main__":
    sys.exit(main())
