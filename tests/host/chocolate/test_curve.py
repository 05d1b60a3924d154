"""Cooling curves made from closed formulas, so that the right answer is known beforehand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from snapgloss.base.errors import InputError
from snapgloss.chocolate.curve import CurveNotUsable, features_of
from snapgloss.chocolate.curve_checks import set_ratio_of
from snapgloss.chocolate.curve_fit import least_squares
from snapgloss.chocolate.curve_readings import Readings, check_still, readings_of
from snapgloss.chocolate.curve_smooth import smooth
from snapgloss.chocolate.curve_turn import apparent_tau_s, dip_s, heading_of, turn_of

BATH_C, TAU_S, START_C = 12.0, 240.0, 31.0


def curve(heat_k: float, at_s: float, width_s: float, seconds: int = 2600) -> np.ndarray:
    """A sample that gives off `heat_k` kelvin in a Gaussian of time, once a second.

    dT/dt = -(T - T_b) / tau + q(t), solved by scipy: the balance that the set ratio is made of.
    """

    def change(t_s, at_c):
        heat = heat_k / (width_s * np.sqrt(2 * np.pi))
        return -(at_c - BATH_C) / TAU_S + heat * np.exp(-(((t_s - at_s) / width_s) ** 2) / 2)

    times_s = np.arange(seconds)
    solved = solve_ivp(change, (0, seconds), [START_C], t_eval=times_s, rtol=1e-8, max_step=5)
    return solved.y[0]


def true_ratio(at_c: np.ndarray) -> float:
    """R = 1 + tau S / (T_i - T_b) at the largest slope after the first fall, by hand."""
    slope = np.gradient(at_c)
    lowest = int(np.argmin(slope))
    turn = lowest + int(np.argmax(slope[lowest : lowest + 1200]))
    return float(1 + TAU_S * slope[turn] / (at_c[turn] - BATH_C))


@pytest.mark.parametrize(
    ("heat_k", "at_s", "width_s"), [(20.0, 800.0, 260.0), (22.0, 560.0, 200.0), (20, 420, 200)]
)
def test_a_curve_of_known_heat_gives_its_set_ratio(heat_k, at_s, width_s):
    """Solved by scipy's integrator, read to within 0.03; the cold and tau come out as put in."""
    at_c = curve(heat_k, at_s, width_s)
    found = features_of(np.arange(len(at_c)), at_c, BATH_C)
    assert found.set_ratio == pytest.approx(true_ratio(at_c), abs=0.03)
    assert found.bath_c == pytest.approx(BATH_C, abs=0.4)
    assert found.tau_s == pytest.approx(TAU_S, rel=0.2)
    assert found.set_ratio_error < 0.05


def test_pure_cooling_has_a_set_ratio_of_nothing():
    """By definition R is 0.00 anywhere on an exponential, and no curve of it has a turn."""
    at_s = np.arange(1500.0)
    at_c = BATH_C + 19 * np.exp(-at_s / TAU_S)
    line = smooth(readings_of(at_s, at_c), 100.0)
    for point in range(20, len(line.seconds) - 20):
        over_c, slope = line.celsius[point] - BATH_C, line.slope_c_per_s[point]
        assert set_ratio_of(slope, over_c, TAU_S) == pytest.approx(0.0, abs=0.02)
    with pytest.raises(CurveNotUsable, match="does not bend"):
        features_of(at_s, at_c, BATH_C)


def test_a_dead_flat_plateau_has_a_set_ratio_of_one():
    """By definition R is 1.00 where the temperature stands still, whatever the time constant is
    found to be: an exponential whose clock slows down to nothing and goes on."""
    at_s = np.arange(3000.0)
    clock_s = np.cumsum(1 - np.exp(-(((at_s - 550) / 300) ** 4)))
    at_c = BATH_C + 19 * np.exp(-clock_s / TAU_S)
    found = features_of(at_s, at_c, BATH_C)
    assert found.set_ratio == pytest.approx(1.00, abs=0.02)
    assert found.turn_c == pytest.approx(at_c[550], abs=0.01)


def test_wrong_readings_are_left_out_and_missing_ones_too():
    """85 °C, -127 °C, a jump of 4 °C and a nan go; a fall of 1 °C a second stays whole."""
    at_c = np.linspace(32, 12, 100)
    spoilt = at_c.copy()
    spoilt[[10, 30, 50, 70]] = 85.0, -127.0, spoilt[50] + 4.0, np.nan
    kept = readings_of(np.arange(100.0), spoilt)
    assert set(range(100)) - set(kept.seconds) == {10, 30, 50, 70}
    assert len(readings_of(np.arange(80.0), 45.0 - np.minimum(np.arange(80.0), 30)).seconds) == 80


def test_a_shift_in_time_changes_nothing():
    """The log's clock may begin anywhere."""
    at_c = curve(22.0, 560.0, 200.0)
    at_s = np.arange(len(at_c), dtype=float)
    one, other = (features_of(at_s + shift, at_c, BATH_C) for shift in (0.0, 86_400.0))
    assert other.set_ratio == pytest.approx(one.set_ratio, abs=1e-6)
    assert other.turn_s - one.turn_s == pytest.approx(86_400.0, abs=1e-3)


def test_steps_noise_holes_and_wrong_readings_change_little():
    """0.0625 °C steps, noise, every tenth reading gone, a hole of 40 s, 85 °C and -127 °C."""
    at_c = curve(22.0, 560.0, 200.0)
    right = true_ratio(at_c)
    rng = np.random.default_rng(3)
    spoilt = np.round((at_c + rng.normal(0, 0.03, len(at_c))) / 0.0625) * 0.0625
    spoilt[[300, 700]] = 85.0, -127.0
    spoilt[900] += 4.0
    keep = rng.random(len(at_c)) > 0.1
    keep[500:540] = False
    found = features_of(np.arange(len(at_c))[keep], spoilt[keep], BATH_C)
    assert found.set_ratio == pytest.approx(right, abs=0.03)
    assert 0.02 < found.noise_c < 0.06


def test_a_cold_stated_wrongly_is_found_out():
    """2.5 °C off: the curve's end says where the cold is, and the ratio hardly moves."""
    at_c = curve(22.0, 560.0, 200.0)
    at_s = np.arange(len(at_c))
    for stated_c in (BATH_C - 2.5, BATH_C + 2.5, None):
        found = features_of(at_s, at_c, stated_c)
        assert found.bath_c == pytest.approx(BATH_C, abs=0.8)
        assert found.set_ratio == pytest.approx(true_ratio(at_c), abs=0.03)


def test_an_early_and_a_late_log_agree():
    """Two minutes warm before the dip, or begun 60 s after it."""
    at_c = curve(22.0, 560.0, 200.0)
    early_c = np.concatenate([np.full(120, START_C), at_c])
    early = features_of(np.arange(len(early_c)), early_c, BATH_C)
    late = features_of(np.arange(len(at_c) - 60), at_c[60:], BATH_C)
    assert early.set_ratio == pytest.approx(late.set_ratio, abs=0.02)
    assert early.turn_s - late.turn_s == pytest.approx(180.0, abs=20.0)


SECONDS = np.arange(2000.0)
COOLING = BATH_C + 19 * np.exp(-SECONDS / TAU_S)


@pytest.mark.parametrize(
    ("seconds", "celsius", "bath_c", "words"),
    [
        ([], [], None, "it has no reading"),
        ([1.0], [30.0], None, "it has 1 reading"),
        ([0, 1], [31, 30], BATH_C, "it has 2 readings"),
        (SECONDS, np.full(2000, 20.0), BATH_C, "hardly cools"),
        (SECONDS, COOLING * 1.8 + 32, BATH_C, "is that Fahrenheit?"),
        (SECONDS, np.full(2000, np.nan), BATH_C, "most of its readings are missing"),
        (SECONDS, np.full(2000, np.inf), BATH_C, "most of its readings are missing"),
        (SECONDS[::-1], COOLING, BATH_C, "its times do not rise"),
        (np.zeros(2000), COOLING, BATH_C, "its times do not rise"),
        (np.where(SECONDS == 7, np.nan, SECONDS), COOLING, BATH_C, "a time is missing"),
        (SECONDS[:-1], COOLING, BATH_C, "not equally many"),
        (SECONDS * 60, COOLING, BATH_C, "too far apart"),
        (SECONDS, COOLING, BATH_C, "does not bend"),
        (SECONDS, COOLING, 40.0, "no sample sets at 40 °C"),
        (SECONDS, COOLING, float("nan"), "no sample sets at nan °C"),
        (SECONDS, BATH_C + 19 * np.exp(-SECONDS / 15), BATH_C, "jumps faster"),
        (SECONDS, np.full(2000, 1e300), BATH_C, "no temperature"),
    ],
)
def test_what_is_no_curve_is_refused_with_its_reason(seconds, celsius, bath_c, words):
    """One sentence for each; it is an InputError with something to do."""
    with pytest.raises(CurveNotUsable, match=r"^Not a usable curve: ") as refused:
        features_of(seconds, celsius, bath_c)
    assert words in refused.value.message
    assert refused.value.remedy
    assert len(str(refused.value)) < 200
    assert isinstance(refused.value, InputError)


def test_a_good_curve_that_was_spoilt_is_refused():
    """Cut before its turn, a hole over it, a probe that stands still, a tube lifted out."""
    at_c = curve(22.0, 560.0, 200.0)
    at_s = np.arange(len(at_c), dtype=float)
    turn_s = round(features_of(at_s, at_c, BATH_C).turn_s)
    cut = at_s < turn_s - 120
    hole = np.abs(at_s - turn_s) > 150
    still_c = np.where(at_s < turn_s, at_c, at_c[turn_s])
    lifted_c = np.where(
        at_s < turn_s - 150, at_c, 22 + (at_c[turn_s - 150] - 22) * np.exp(-(at_s - turn_s) / 900)
    )
    for seconds, celsius, words in (
        (at_s[cut], at_c[cut], "does not bend"),
        (at_s[hole], at_c[hole], "missing where it matters"),
        (at_s, still_c, "stands still"),
        (at_s, lifted_c, "Not a usable curve"),
    ):
        with pytest.raises(CurveNotUsable, match=words):
            features_of(seconds, celsius, BATH_C)


@settings(max_examples=60, deadline=None)
@given(
    values=st.lists(
        st.floats(allow_nan=True, allow_infinity=True, width=32) | st.floats(5, 35),
        max_size=120,
    ),
    bath_c=st.none() | st.floats(-50, 60),
)
def test_any_numbers_end_in_features_or_in_a_reason(values, bath_c):
    """Whatever a file holds: features that are numbers, or CurveNotUsable, and nothing else."""
    try:
        found = features_of(np.arange(len(values), dtype=float), values, bath_c)
    except CurveNotUsable as refused:
        assert refused.remedy
    else:
        assert np.isfinite([found.set_ratio, found.tau_s, found.bath_c]).all()


@settings(max_examples=80, deadline=None)
@given(
    kind=st.sampled_from(["noise", "walk", "fall", "bump", "line"]),
    period_s=st.sampled_from([1e-9, 1e-3, 0.5, 1.0, 5.0, 19.0]),
    jump_s=st.sampled_from([0.0, 0.0, 100.0, 1100.0, 1e9]),
    count=st.integers(0, 900),
    seed=st.integers(0, 10**6),
)
def test_whatever_a_logger_does_ends_in_features_or_in_a_reason(
    kind, period_s, jump_s, count, seed
):
    """Long holes, hardly any time between readings, curves of any shape: never another error."""
    rng = np.random.default_rng(seed)
    at_s = np.cumsum(rng.uniform(0.2, 1.8, count) * period_s)
    at_s[count // 2 :] += jump_s
    shapes = {
        "noise": rng.uniform(-20, 50, count),
        "walk": 20 + np.cumsum(rng.normal(0, 0.1, count)),
        "fall": 12 + 19 * np.exp(-at_s / rng.uniform(3, 800)),
        "bump": 12
        + 19 * np.exp(-at_s / 200)
        + 6 * np.exp(-(((at_s - 500) / rng.uniform(5, 300)) ** 2)),
        "line": 31 - 0.01 * np.arange(count),
    }
    try:
        found = features_of(at_s, shapes[kind] + rng.normal(0, 0.02, count), 12.0)
    except CurveNotUsable as refused:
        assert refused.remedy
    else:
        assert np.isfinite([found.set_ratio, found.set_ratio_error, found.bath_c]).all()


def test_smoothing_passes_a_parabola_and_halves_a_wave_of_its_period():
    """Third differences of a parabola are 0; a wave of the period is halved."""
    at_s = np.arange(1200.0)
    parabola = 30 - 0.02 * at_s + 8e-6 * at_s**2
    line = smooth(Readings(at_s, parabola), 100.0)
    assert line.celsius == pytest.approx(
        30 - 0.02 * line.seconds + 8e-6 * line.seconds**2, abs=1e-3
    )
    wave = smooth(Readings(at_s, np.sin(2 * np.pi * at_s / 100)), 100.0)
    inner = slice(100, -100)
    assert np.ptp(wave.celsius[inner]) / 2 == pytest.approx(0.5, abs=0.08)


def test_noise_and_its_slope_error_are_known():
    """White noise of 0.05 °C is measured as such; the slope scatters as the formula says."""
    rng = np.random.default_rng(5)
    at_s = np.arange(4000.0)
    line = smooth(Readings(at_s, 20 + rng.normal(0, 0.05, 4000)), 120.0)
    assert line.noise_c == pytest.approx(0.05, rel=0.1)
    spread = np.std(line.slope_c_per_s[100:-100])
    assert line.slope_error_c_per_s == pytest.approx(spread, rel=0.4)


def test_least_squares_finds_what_scipy_finds():
    """An exponential with noise against scipy.optimize.curve_fit, values and covariance."""
    from scipy.optimize import curve_fit

    rng = np.random.default_rng(8)
    x = np.linspace(0, 3, 60)
    y = 2.0 * np.exp(-1.3 * x) + rng.normal(0, 0.02, 60)

    def residuals(unknowns):
        height, rate = unknowns
        return (height * np.exp(-rate * x[:, None]) - y[:, None]) / 0.02

    found = least_squares(residuals, np.array([1.0, 1.0]))
    best, covariance = curve_fit(
        lambda x, a, b: a * np.exp(-b * x), x, y, p0=(1, 1), sigma=np.full(60, 0.02),
        absolute_sigma=True,
    )  # fmt: skip
    assert found.unknowns == pytest.approx(best, abs=2e-3)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(
        np.sqrt(np.diag(covariance)), rel=0.02
    )


def test_the_parts_of_a_pure_fall():
    """Time constant, dip and heading of an exponential are those it was made with."""
    at_s = np.arange(1500.0)
    at_c = np.concatenate([np.full(100, 31.0), BATH_C + 19 * np.exp(-at_s / TAU_S)])
    line = smooth(readings_of(np.arange(1600.0), at_c), 60.0)
    assert dip_s(line) == pytest.approx(100.0, abs=20.0)
    fall = smooth(readings_of(at_s, at_c[100:]), 100.0)
    assert apparent_tau_s(fall, BATH_C) == pytest.approx(TAU_S, rel=0.05)
    heading = heading_of(fall, 10)
    assert heading is not None
    assert heading.at_c == pytest.approx(BATH_C, abs=0.1)
    assert 0.1 < heading.spread_c < 0.3
    assert apparent_tau_s(smooth(readings_of(at_s, 12 + at_s / 100), 100.0), BATH_C) is None


def test_a_reading_that_stands_still_is_told_from_a_hole():
    """The same reading for 300 s is refused; 300 s without any are not this check's matter."""
    rng = np.random.default_rng(2)
    at_s = np.arange(1000.0)
    at_c = 20 + rng.normal(0, 0.1, 1000)
    still = np.where((at_s > 300) & (at_s < 600), 20.0, at_c)
    with pytest.raises(CurveNotUsable, match=r"stands still for 29[0-9] s"):
        check_still(Readings(at_s, still), 200.0)
    keep = (at_s < 300) | (at_s > 600)
    check_still(Readings(at_s[keep], at_c[keep]), 200.0)


def test_a_turn_is_the_most_prominent_one():
    """Of two bumps of the slope the higher is the turn; a straight slope has none."""
    at_s = np.arange(2000.0)
    slope = (
        -0.03
        + 0.01 * np.exp(-(((at_s - 500) / 80) ** 2))
        + 0.03 * np.exp(-(((at_s - 1300) / 80) ** 2))
    )
    line = smooth(readings_of(at_s, 40 + np.cumsum(slope)), 60.0)
    turn = turn_of(line)
    assert turn is not None
    assert line.seconds[turn.point] == pytest.approx(1300, abs=10)
    assert turn.rise_c_per_s == pytest.approx(0.03, rel=0.1)


def test_a_tube_left_in_the_cold_until_nothing_moves_is_no_fault():
    """A probe of 1/16 K without noise ends on one value for ten minutes: the same ratio as before
    it stood still. One that sticks in mid-fall is refused all the same."""
    seconds = np.arange(3600.0)
    heat = 20.0 / (150 * np.sqrt(2 * np.pi)) * np.exp(-(((seconds - 250) / 150) ** 2) / 2)
    celsius = np.empty(len(seconds))
    at_c = 31.0
    for second, warmed in enumerate(heat):
        celsius[second] = at_c
        at_c += -(at_c - 12.0) / 240 + warmed
    stepped = np.round(celsius * 16) / 16
    still_from = int(np.flatnonzero(stepped != stepped[-1])[-1])
    assert 3600 - still_from > 600
    whole = features_of(seconds, stepped, 12.0)
    cut = features_of(seconds[: still_from + 60], stepped[: still_from + 60], 12.0)
    assert whole.set_ratio == pytest.approx(cut.set_ratio, abs=0.01)
    stuck = stepped.copy()
    stuck[200:] = stuck[200]
    with pytest.raises(CurveNotUsable):
        features_of(seconds, stuck, 12.0)
