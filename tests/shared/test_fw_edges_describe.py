"""A rig's description: every field at its limits, and every way in which a line can be wrong."""

from fw_fakes import BENCH, bench
from rigfw.config import ConfigRefused, RigConfig
from rigfw.describe import FIELDS
from rigwire.frames import crc_hex


def _refusal(make, *given):
    try:
        make(*given)
    except ConfigRefused as refused:
        return refused.reason
    return ""


def _with(**changes):
    return lambda: bench(**changes)


def _line(parts):
    body = "|".join(parts)
    return body + "|" + crc_hex(body.encode())


GOOD = bench().to_text()
PARTS = GOOD.split("|")[:-1]
GOES_WITH = {
    "heater_w": {"has_sense": 1, "plate_j_per_k": 1200},
    "plate_ceiling_mc": {"ceiling_mc": 40000},
    "tacho_pulses": {"has_tacho": 1},
}
"""What else must be so where a field is to be at either of its limits."""


def test_every_field_is_taken_at_its_limits_and_refused_beyond():
    """The least, the most, one less, one more; no truth and no text for a number."""
    for name, least, most in FIELDS:
        more = GOES_WITH.get(name, {})
        for value in (least, most):
            fields = dict(more)
            fields[name] = value
            assert getattr(bench(**fields), name) == value
        words = name + " is missing or out of range"
        for value in (least - 1, most + 1, True, "1", None, 1.0):
            fields = dict(more)
            fields[name] = value
            assert _refusal(_with(**fields)) == words, (name, value)


def test_no_description_goes_over_what_is_compiled_in():
    """60 and 80 degC, 4 h alone, and checks that are known."""
    for name, most in (
        ("ceiling_mc", 60000), ("plate_ceiling_mc", 80000), ("attended_limit_s", 14400),
        ("checks_off", 7),
    ):  # fmt: skip
        assert getattr(bench(**{name: most}), name) == most
        assert _refusal(_with(**{name: most + 1})) == name + " is missing or out of range"


def test_a_missing_and_an_unknown_field_are_refused():
    """By name, and in words."""
    for name in BENCH:
        fields = dict(BENCH)
        del fields[name]
        assert _refusal(lambda fields=fields: RigConfig(**fields)).startswith(name)
    assert _refusal(_with(whisks=2)) == "a field is unknown"


def test_above_100_w_the_node_must_be_sensed():
    """100 W without, 101 W with; 101 W without is refused."""
    assert bench(heater_w=100).heater_w == 100
    assert bench(heater_w=101, has_sense=1).heater_w == 101
    words = "a heater above 100 W needs the sense of its node"
    assert _refusal(_with(heater_w=101)) == words


def test_above_100_w_the_plate_must_be_measured():
    """100 W without its probe, 101 W with; 101 W without is refused."""
    assert bench(heater_w=100, has_plate=0).has_plate == 0
    words = "a heater above 100 W needs a plate probe"
    assert _refusal(_with(heater_w=101, has_sense=1, has_plate=0)) == words


def test_above_100_w_all_heat_warms_the_plate_by_5_k_in_3_s_at_the_most():
    """1,000 W on 600 J/K and 101 W on 61 are taken, a J/K less is not; 100 W may have any."""
    words = "the plate is too light for its heater"
    for heater_w, least_j_per_k in ((101, 61), (1000, 600)):
        given = {"heater_w": heater_w, "has_sense": 1}
        assert bench(plate_j_per_k=least_j_per_k, **given).heater_w == heater_w
        assert _refusal(_with(plate_j_per_k=least_j_per_k - 1, **given)) == words
    assert bench(heater_w=100, plate_j_per_k=20).plate_j_per_k == 20


def test_the_chocolate_may_get_as_hot_as_the_plate_and_no_hotter():
    """Both at 55 degC; a milli-degree less of the plate is refused."""
    assert bench(ceiling_mc=55000, plate_ceiling_mc=55000).ceiling_mc == 55000
    words = "the chocolate may get hotter than the plate"
    assert _refusal(_with(ceiling_mc=55000, plate_ceiling_mc=54999)) == words


def test_figures_of_what_is_not_fitted_are_refused():
    """Pulses without tachometer, a fan's least time without fan, a check of a probe not there."""
    for words, refused, taken in (
        (
            "tacho_pulses are given and there is no tachometer",
            {"tacho_pulses": 2, "has_tacho": 0},
            ({"tacho_pulses": 1, "has_tacho": 0}, {"tacho_pulses": 2, "has_tacho": 1}),
        ),
        (
            "fan_min_ms is given and there is no fan",
            {"fan_min_ms": 1, "fan_loss_mw_per_k": 0},
            (
                {"fan_min_ms": 0, "fan_loss_mw_per_k": 0},
                {"fan_min_ms": 1, "fan_loss_mw_per_k": 1},
            ),
        ),
        (
            "a check of two probes is off and there is one",
            {"checks_off": 2, "has_plate": 0},
            ({"checks_off": 5, "has_plate": 0}, {"checks_off": 2, "has_plate": 1}),
        ),
    ):
        assert _refusal(_with(**refused)) == words
        for fields in taken:
            assert _refusal(_with(**fields)) == "", fields


def test_a_line_comes_back_as_it_went():
    """The same text again."""
    assert RigConfig.from_text(GOOD).to_text() == GOOD


def test_a_line_of_another_form_is_refused():
    """No text, nothing, a part too few or too many, another head, another format."""
    words = "the rig's description is missing or not of format 2"
    for line in (
        None, 7, "", "rig", _line(PARTS[:-1]), _line(PARTS + ["0"]), _line(["wig"] + PARTS[1:]),
        _line([PARTS[0], "1"] + PARTS[2:]),
    ):  # fmt: skip
        assert _refusal(RigConfig.from_text, line) == words, line


def test_a_line_with_another_check_sum_or_no_numbers_is_damaged():
    """The right sum of a word is no figure either."""
    words = "the rig's description is damaged"
    other = "0" if GOOD[-1] != "0" else "1"
    assert _refusal(RigConfig.from_text, GOOD[:-1] + other) == words
    assert _refusal(RigConfig.from_text, _line(PARTS[:3] + ["much"] + PARTS[4:])) == words


def test_a_figure_written_otherwise_is_not_in_its_one_form():
    """A zero before it, a plus, a blank: each the same number."""
    words = "the rig's description is not in its one form"
    for figure in ("0500", "+500", " 500"):
        line = _line(PARTS[:3] + [figure] + PARTS[4:])
        assert _refusal(RigConfig.from_text, line) == words, figure


def test_a_figure_out_of_its_range_is_refused_by_its_name():
    """Though the line is whole."""
    line = _line(PARTS[:3] + ["19"] + PARTS[4:])
    assert _refusal(RigConfig.from_text, line) == "plate_j_per_k is missing or out of range"
