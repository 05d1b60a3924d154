"""The regulator's record, refined from a log whose truth is known."""

import numpy as np
import pytest

from rigfw import memory
from rigfw.model import COUNT, PLATE
from snapgloss.base.errors import InputError
from snapgloss.chocolate.types import type_of
from snapgloss.rigs import bowl_model
from snapgloss.rigs.bowl_model import BEGIN, KNOTS, LEARNED, PLATE_PART
from snapgloss.rigs.heat_model import Log
from snapgloss.rigs.refine import record_of, refine
from travels.label import Label, config_of

CONFIG = config_of(Label(2000, 100, "ssr"))
TRUE = dict(zip(LEARNED, (0.02, -0.2, 0.15, 0.4, -0.3, 0.1, 2.0, 0.2, 0.05), strict=True))


def _log(noise_c: float = 0.02, bump_c: float = 0.0) -> Log:
    """10 min of heat, 5 of holding, 20 of the fan; read in steps of 1/16 K. `bump_c`: something
    else goes on while the fan runs."""
    seconds = np.arange(2100)
    heat = np.where(seconds < 600, 1.0, np.where(seconds < 900, 0.15, 0.0))
    fan = (seconds >= 900).astype(float)
    sets = np.zeros((1, KNOTS + bowl_model.knots_of(len(heat))))
    sets[0, :PLATE_PART] = list(TRUE.values())
    sets[0, PLATE_PART] = 0.6
    sets[0, BEGIN:KNOTS] = 41.5, 4.0, -0.6, -0.2, 1.0
    rates = bowl_model.rates_of(CONFIG, 2000, sets)
    read_c = bowl_model.readings_of(sets, rates, heat, fan)[:, 0]
    read_c += noise_c * np.random.default_rng(3).standard_normal(len(read_c))
    read_c += bump_c * np.sin(seconds / 40.0) * fan
    return Log(
        np.round(16.0 * read_c) / 16.0, heat, fan, np.full(len(heat), 21.0), 2.0, type_of("dark")
    )


def test_a_log_of_a_known_rig_gives_its_parameters_within_their_doubt():
    """Lags that a log shows come out within a tenth; all within three of their own sigmas."""
    found = refine(_log(), CONFIG)
    assert memory.is_sound(found.figures)
    assert found.rms_c < 0.035
    at = COUNT
    for row in range(COUNT):
        at += row
        if row + 5 in TRUE:
            off = found.figures[row] - TRUE[row + 5]
            assert abs(off) <= 3.0 * np.sqrt(found.figures[at]), row
        at += 1
    assert found.figures[PLATE - 5] == pytest.approx(0.4, abs=0.14)


class _Board:
    """A keep with one record."""

    def __init__(self, record: bytes) -> None:
        self._record = record

    def read(self, name: str) -> bytes:
        return self._record if name == memory.NAME else b""


def test_the_record_is_one_that_the_board_recalls_and_no_other_rig():
    """The same numbers come back; a rig described otherwise has none."""
    figures = refine(_log(), CONFIG).figures
    record = record_of(CONFIG, figures)
    assert memory.Memory(_Board(record), CONFIG.to_text()).recalled() == figures
    other = config_of(Label(2000, 101, "ssr")).to_text()
    assert memory.Memory(_Board(record), other).recalled() is None


def test_lost_readings_are_left_out():
    """Every seventh reading missing changes no figure by more than its sigma."""
    log = _log()
    holed_c = log.product_c.copy()
    holed_c[::7] = np.nan
    whole, holed = refine(log, CONFIG).figures, refine(log._replace(product_c=holed_c), CONFIG)
    assert np.abs(np.array(whole[:COUNT]) - np.array(holed.figures[:COUNT])).max() < 0.3


def test_a_log_that_the_model_does_not_explain_is_refused():
    """Half a degree of swings that no heat made."""
    with pytest.raises(InputError, match="something else went on"):
        refine(_log(bump_c=0.5), CONFIG)


def test_too_little_is_refused():
    """Five minutes."""
    log = _log()
    with pytest.raises(InputError, match="too little"):
        refine(log._replace(product_c=log.product_c[:300]), CONFIG)
