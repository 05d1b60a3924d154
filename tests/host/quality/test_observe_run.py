"""The crystals of a batch are followed with the chocolate's own melting points."""

from dataclasses import replace

import numpy as np
import pytest

from snapgloss.chocolate import observer_fit
from snapgloss.chocolate.observer import Observer, observe
from snapgloss.chocolate.observer_fit import Growth
from snapgloss.chocolate.types import DARK
from snapgloss.quality import observe_run
from snapgloss.quality.observe_run import RunLog

OWN = replace(DARK, own_depression_k=1.5)
GROWTH = Growth(0.9, 0.1, (0.02,), (-0.9,), 3, 0.1)


def test_an_own_depression_reaches_the_observer() -> None:
    """A bowl in temper at 31.5 °C: as the observer has it with 1.5 K, not as without."""
    seconds = [float(s) for s in range(1800)]
    same = [31.5] * len(seconds)
    log = RunLog(seconds, same, same, [1.0] * len(seconds), [])
    found = observe_run.observed(log, OWN, "kept", GROWTH)
    rows = (log.seconds, log.product_c, log.wall_c, log.shear, log.additions)
    asked, other = (
        observe(*rows, Observer(k, GROWTH.rates, observe_run.IN_TEMPER)) for k in (1.5, 0.0)
    )
    assert np.array_equal(found.v, asked.v)
    assert not np.allclose(found.v, other.v)


def test_an_own_depression_reaches_the_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """The curves are fitted with fat, heat and melting points of this chocolate."""
    asked = []
    monkeypatch.setattr(observe_run, "fit_growth", lambda *given: asked.append(given))
    samples = [None] * observer_fit.LEAST_CURVES
    observe_run.growth_of(samples, OWN)
    assert asked == [(samples, DARK.fat_share, DARK.specific_heat, 1.5)]
