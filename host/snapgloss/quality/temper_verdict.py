"""One plain sentence and a three-band strip from a cooling curve; the details folded away."""

from __future__ import annotations

from dataclasses import dataclass

from snapgloss.base.units import show_difference, show_temperature
from snapgloss.chocolate.curve import CurveFeatures
from snapgloss.quality.temper_bands import Bands, Place

LOOKS = {"under": "looks under", "in": "looks in temper", "over": "looks over"}
CALIBRATED = {"under": "Under", "in": "In temper", "over": "Over"}
MEANS = {
    "under": "few crystals, set late",
    "in": "set as it should",
    "over": "many crystals, set early",
}
BATH_OFF_C = 1.0
STRIP_CELLS = 41
STRIP_LOW, STRIP_HIGH = 0.80, 1.30
"""The ratios at the two ends of the strip; its middle band then takes about the middle third."""


@dataclass(frozen=True, slots=True)
class TemperVerdict:
    """What a curve says. `near` is the neighbouring band when the place is borderline;
    `failed_near` own bars with such a curve that did not sell, though it lies in temper."""

    features: CurveFeatures
    bands: Bands
    place: Place
    near: Place | None
    calibrated: bool
    failed_near: int = 0

    @property
    def borderline(self) -> bool:
        """True inside the shade of an edge."""
        return self.near is not None


def verdict_of(features: CurveFeatures, bands: Bands) -> TemperVerdict:
    """Judge a curve by the bands of its method."""
    place = bands.place(features.set_ratio)
    near = bands.near_edge(features.set_ratio)
    failed = bands.failed_near(features.set_ratio) if place == "in" else 0
    calibrated = bands.is_calibrated(place) and not failed
    return TemperVerdict(features, bands, place, near, calibrated, failed)


def sentence_of(verdict: TemperVerdict) -> str:
    """The one sentence; it never says "in temper" of bands that no bar of the maker's has tried,
    nor where the maker's bars failed.

    "The curve looks in temper, close to under: set as it should; not calibrated yet."
    """
    if verdict.failed_near:
        return (
            f"No answer from the curve: {verdict.failed_near} of your own bars with one like it "
            "did not sell. Go by the knife."
        )
    near = f", close to {_band(verdict.near)}" if verdict.near else ""
    if verdict.calibrated:
        by = f"by {verdict.bands.sold} of your own bars that sold"
        return f"{CALIBRATED[verdict.place]}{near}, {by}: {MEANS[verdict.place]}."
    return f"The curve {LOOKS[verdict.place]}{near}: {MEANS[verdict.place]}; not calibrated yet."


def _band(place: Place | None) -> str:
    return "in temper" if place == "in" else str(place)


def caution_of(verdict: TemperVerdict, fahrenheit: bool = False) -> str:
    """A sentence on the cold when the curve says another temperature than was stated; or empty."""
    features = verdict.features
    if features.stated_bath_c is None:
        found = show_temperature(round(features.bath_c * 1000), fahrenheit)
        return f"The cold was not measured; the curve heads for {found}."
    if abs(features.bath_c - features.stated_bath_c) < BATH_OFF_C:
        return ""
    stated, found = (
        show_temperature(round(c * 1000), fahrenheit)
        for c in (features.stated_bath_c, features.bath_c)
    )
    return f"The cold was stated as {stated}, but the curve heads for {found}: measure it again."


def strip_of(verdict: TemperVerdict) -> str:
    """The three bands as one line of text, under at the left, and where this curve stands."""
    cells = []
    for cell in range(STRIP_CELLS):
        ratio = STRIP_HIGH - (STRIP_HIGH - STRIP_LOW) * cell / (STRIP_CELLS - 1)
        shaded = verdict.bands.near_edge(ratio) is not None
        inside = verdict.bands.place(ratio) == "in"
        cells.append("▒" if shaded else "█" if inside else "░")
    cells[_cell(verdict.features.set_ratio)] = "●"
    return f"under {''.join(cells)} over"


def strip_share(set_ratio: float) -> float:
    """Where a ratio stands on the strip, 0 at the left end (under) and 1 at the right (over)."""
    share = (STRIP_HIGH - set_ratio) / (STRIP_HIGH - STRIP_LOW)
    return min(max(share, 0.0), 1.0)


def _cell(set_ratio: float) -> int:
    return round(strip_share(set_ratio) * (STRIP_CELLS - 1))


def details_of(verdict: TemperVerdict, fahrenheit: bool = False) -> list[tuple[str, str]]:
    """Names and values behind the sentence, for whoever unfolds them."""
    features, bands = verdict.features, verdict.bands
    turn, cold = (
        show_temperature(round(c * 1000), fahrenheit) for c in (features.turn_c, features.bath_c)
    )
    slope = show_difference(features.slope_c_per_min, fahrenheit, 2)
    return [
        ("Set ratio", f"{features.set_ratio:.2f} ± {2 * features.set_ratio_error:.2f}"),
        ("Bands", f"in temper {bands.over_below:.2f} to {bands.under_above:.2f}, {bands.method}"),
        ("Turn", f"{turn}, {features.turn_s / 60:.1f} min into the log"),
        ("Slope there", f"{slope} a minute"),
        ("Time constant", f"{features.tau_s / 60:.1f} min"),
        ("Cold", cold),
        ("Scatter of the probe", show_difference(features.noise_c, fahrenheit, 3)),
        ("Readings", str(features.readings)),
    ]
