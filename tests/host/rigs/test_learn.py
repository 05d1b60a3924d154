"""Figures of a rig from logged runs whose truth is known."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import lsim

from snapgloss.base.errors import InputError
from snapgloss.base.records import Reading
from snapgloss.chocolate.types import type_of
from snapgloss.rigs import description
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.rigs.drift import drifts
from snapgloss.rigs.heat_model import FIGURES, Log, readings_c
from snapgloss.rigs.learn import PLATE_PART, Fit, learn, learned_rig
from snapgloss.rigs.learn_log import log_of

DARK = type_of("dark")
ROOM_C = 21.0
TRUTH = {
    "heater_w": 93.0,
    "plate_j_per_k": 640.0,
    "plate_w_per_k": 12.0,
    "loss_w_per_k": 1.7,
    "fan_loss_w_per_k": 5.2,
    "probe_lag_s": 14.0,
}
ELEMENT_S = 6.0


def drives(seconds: int) -> tuple[np.ndarray, np.ndarray]:
    """A hold, a fan, a warming, a rest: all above the crystals."""
    at_s = np.arange(seconds)
    heat = np.where(at_s < 300, 0.4, 0.0) + np.where((at_s >= 1000) & (at_s < 1300), 1.0, 0.0)
    fan = np.where((at_s >= 300) & (at_s < 800), 1.0, 0.0)
    return heat, fan


def true_run(seconds: int = 1800, mass_kg: float = 1.8, seed: int = 1, **changed: float) -> Log:
    """A run by scipy's solver, with a lag of the element that nobody told the fit."""
    truth = {**TRUTH, **changed}
    heat, fan = drives(seconds)
    product = mass_kg * DARK.specific_heat
    still = PLATE_PART * truth["loss_w_per_k"]
    top = truth["loss_w_per_k"] - still

    def slopes(at_s: float, state: np.ndarray) -> list[float]:
        element_w, plate_c, product_c, reading_c = state
        at = min(int(at_s), seconds - 1)
        flow_w = truth["plate_w_per_k"] * (plate_c - product_c)
        lost_w = (still + truth["fan_loss_w_per_k"] * fan[at]) * (plate_c - ROOM_C)
        return [
            (truth["heater_w"] * heat[at] - element_w) / ELEMENT_S,
            (element_w - flow_w - lost_w) / truth["plate_j_per_k"],
            (flow_w - top * (product_c - ROOM_C)) / product,
            (product_c - reading_c) / truth["probe_lag_s"],
        ]

    span, at_s = (0.0, float(seconds)), np.arange(seconds)
    found = solve_ivp(slopes, span, [37.0, 49.0, 48.0, 47.9], t_eval=at_s, max_step=1.0)
    noise_c = np.random.default_rng(seed).normal(0.0, 0.02, seconds)
    read_c = np.floor((found.y[3] + noise_c) * 16.0 + 0.5) / 16.0
    read_c[::97] = np.nan
    assert product_is_free_of_crystals(found.y[2])
    return Log(read_c, heat, fan, np.full(seconds, ROOM_C), mass_kg, DARK)


def product_is_free_of_crystals(product_c: np.ndarray) -> bool:
    """None is born from 30 degC on, and the run begins without."""
    return bool(product_c.min() > 30.0)


@pytest.fixture(scope="module")
def fit() -> Fit:
    """The figures learned from one run."""
    return learn(true_run(), BENCH_RIG)


@pytest.mark.parametrize(
    ("name", "share"),
    [
        ("heater_w", 0.06),
        ("plate_j_per_k", 0.40),
        ("plate_w_per_k", 0.30),
        ("loss_w_per_k", 0.06),
        ("fan_loss_w_per_k", 0.05),
        ("probe_lag_s", 0.70),
    ],
)
def test_figures_come_out(fit, name, share):
    """Each figure within what one probe can show, and within three of its own deviations."""
    error = np.log(fit.figures[name] / TRUTH[name])
    assert abs(error) < share
    assert abs(error) < 3.0 * fit.log_sd(name) + 0.01


def test_the_fit_is_as_good_as_the_probe(fit):
    """Readings lie about the fit by their steps and noise: 0.018 and 0.02 give 0.027 degC."""
    assert 0.024 < fit.rms_c < 0.032
    assert 0 <= fit.dead_s <= 4


def test_a_late_reading_is_found_on_the_grid():
    """Readings that come 12 s late choose 12 s, or a neighbour of it on the grid."""
    late = true_run()
    read_c = np.concatenate([np.full(12, late.product_c[1]), late.product_c[:-12]])
    assert learn(late._replace(product_c=read_c), BENCH_RIG).dead_s in (8, 12, 16)


def test_the_model_is_the_linear_system():
    """With a fan half on it is what scipy's lsim gives for the same matrices, and its dead time
    is a delay."""
    heat = np.where(np.arange(900) < 400, 1.0, 0.0)
    log = Log(np.zeros(900), heat, np.full(900, 0.5), np.full(900, 40.0), 1.8, DARK)
    figures = np.log([TRUTH[name] for name in FIGURES])
    start = np.concatenate([figures, [40.0, 40.0, 0.01, 0.5, 0.5, np.log(ELEMENT_S)]])
    ours = readings_c(start[None, :], log, 0)[:, 0]
    plate, h, lag_s = TRUTH["plate_j_per_k"], TRUTH["plate_w_per_k"], TRUTH["probe_lag_s"]
    top = 0.5 * TRUTH["loss_w_per_k"]
    fanned, product = (
        top + 0.5 * TRUTH["fan_loss_w_per_k"],
        1.8 * DARK.specific_heat * np.exp(0.01),
    )
    element = 1.0 / ELEMENT_S
    system = (
        [
            [-element, 0.0, 0.0, 0.0],
            [TRUTH["heater_w"] / plate, -(h + fanned) / plate, h / plate, 0.0],
            [0.0, h / product, -(h + top) / product, 0.0],
            [0.0, 0.0, 1.0 / lag_s, -1.0 / lag_s],
        ],
        [[element, 0.0], [0.0, fanned / plate], [0.0, top / product], [0.0, 0.0]],
        [[0.0, 0.0, 0.0, 1.0]],
        [[0.0, 0.0]],
    )
    inputs = np.column_stack([heat, np.full(900, 0.5)])  # the room is half a degree over the start
    _, response, _ = lsim(system, inputs, np.arange(900.0), X0=[1.0, 0.0, 0.0, 0.0])
    assert ours - 40.0 == pytest.approx(response, abs=0.06)
    assert readings_c(start[None, :], log, 16)[16:, 0] == pytest.approx(ours[:-16])


def test_what_a_run_does_not_show_stays_as_said():
    """A run that never had the fan on says nothing of it: as described, and in as much doubt."""
    whole = true_run(fan_loss_w_per_k=0.0)
    log = whole._replace(fan=np.zeros(len(whole.fan)))
    found = learn(log, BENCH_RIG)
    assert found.figures["fan_loss_w_per_k"] == pytest.approx(BENCH_RIG.fan_loss_w_per_k, rel=0.02)
    assert found.log_sd("fan_loss_w_per_k") > 0.34


def test_a_fan_that_clogs_is_named(fit):
    """Over four runs the fan falls to 60 %; it is told with its share, and nothing else moves."""
    falling = [
        fit._replace(figures={**fit.figures, "fan_loss_w_per_k": value})
        for value in (5.2, 4.5, 3.8, 3.1)
    ]
    moves = {move.name: move for move in drifts(falling)}
    assert "clogged" in moves["fan_loss_w_per_k"].words
    assert moves["fan_loss_w_per_k"].change == pytest.approx(3.1 / 5.2 - 1.0, abs=0.03)
    assert [name for name, move in moves.items() if move.words] == ["fan_loss_w_per_k"]
    assert not any(move.words for move in drifts(falling[:2]))


def test_the_rigs_file_says_how_well_it_is_known(fit):
    """The learned description keeps each figure with its deviation, and reads back equal."""
    rig = learned_rig(BENCH_RIG, fit)
    assert rig.heater_w == round(fit.figures["heater_w"])
    assert rig.known_percent["loss_w_per_k"] == pytest.approx(
        100 * fit.log_sd("loss_w_per_k"), abs=0.06
    )
    assert description.from_text(description.to_text(rig)) == rig
    assert "known_percent" not in description.to_text(BENCH_RIG)


def test_what_is_learned_can_be_read_again_however_far_off(fit):
    """A lag of 70 s and 103 W of a heater without sense: a file that the program itself reads."""
    far = {**fit.figures, "probe_lag_s": 70.0, "loss_w_per_k": 1e-4, "heater_w": 103.0}
    rig = learned_rig(BENCH_RIG, fit._replace(figures=far))
    assert (rig.probe_lag_s, rig.heater_w) == (60.0, 100)
    assert rig.loss_w_per_k == 0.0
    assert description.from_text(description.to_text(rig)) == rig
    sensed = BENCH_RIG.model_copy(update={"has_sense": True, "has_plate": True})
    assert learned_rig(sensed, fit._replace(figures=far)).heater_w == 103


@pytest.mark.parametrize("line", ["known_percent = { fan = 3.0 }", "known_percent = 3"])
def test_a_wrong_line_of_what_is_known_is_refused(line):
    """A figure nobody learns, or no table, is refused by the name of the field."""
    with pytest.raises(InputError, match="known_percent"):
        description.from_text(description.to_text(BENCH_RIG) + line + "\n")


def test_too_little_is_refused():
    """Ten minutes and five degrees are needed."""
    short = true_run(500)
    with pytest.raises(InputError, match="too little to learn from"):
        learn(short, BENCH_RIG)


def reading(at_s: int, state: str, product_mc: int | None, room_mc: int | None = None) -> Reading:
    """A reading with heat and fan of its second."""
    return Reading(at_s, 1000 * at_s, state, 1, 0, product_mc, None, room_mc, 100, 200, 0, 0)


def test_a_log_is_what_is_liquid_and_sets_nothing():
    """From 40 degC to the first reading under 30.5; a lost second is a gap, outputs go on."""
    rows = [reading(at, "melting", 30_000 + 100 * at, 20_500) for at in range(150)]
    rows += [reading(at, "cooling", 40_000, 20_500) for at in range(150, 300) if at != 200]
    rows += [reading(at, "cooling", 30_400, 20_500) for at in range(300, 900)]
    log = log_of(rows, 1500, DARK, None)
    assert len(log.product_c) == 100 + 100
    assert np.isnan(log.product_c).sum() == 1
    assert (log.heat == 0.1).all()
    assert (log.fan == 0.2).all()
    assert log.room_c.mean() == pytest.approx(20.5)
    assert log_of(rows, 1500, DARK, 25.0).room_c[0] == 25.0


def test_a_log_ends_where_seed_goes_in():
    """What is added has its own cold: the step of the seed is left out."""
    rows = [reading(at, "cooling", 41_000, 20_500) for at in range(100)]
    rows += [reading(at, "seeding", 33_500, 20_500) for at in range(100, 900)]
    assert len(log_of(rows, 1500, DARK, None).product_c) == 100


def test_a_run_without_its_room_or_its_melt_is_refused():
    """What is missing is named, with what to do."""
    rows = [reading(at, "cooling", 45_000) for at in range(700)]
    with pytest.raises(InputError, match="nothing of the room"):
        log_of(rows, 1500, DARK, None)
    with pytest.raises(InputError, match="no readings of chocolate"):
        log_of([reading(0, "cooling", 30_000)], 1500, DARK, 20.0)
