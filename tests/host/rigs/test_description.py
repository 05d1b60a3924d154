"""Rig descriptions: read, written, and handed to the board."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from rigfw.config import RigConfig
from snapgloss.base.errors import InputError
from snapgloss.rigs import description
from snapgloss.rigs.description import BENCH_RIG, RigDescription

TEXT = description.to_text(BENCH_RIG)


def test_bench_rig_on_the_board():
    """The board reads the line and gets the same figures in its own units."""
    config = RigConfig.from_text(BENCH_RIG.to_config_text())
    assert (config.heater_w, config.plate_j_per_k, config.plate_w_per_k) == (100, 500, 15)
    assert (config.loss_mw_per_k, config.fan_loss_mw_per_k) == (1400, 4000)
    assert (config.probe_lag_ms, config.ceiling_mc, config.plate_ceiling_mc) == (
        8000,
        60000,
        80000,
    )
    assert (config.attended_limit_s, config.has_plate, config.has_tacho) == (3600, 1, 0)


def test_probe_uncertainty_is_the_data_sheets():
    """DS18B20 data sheet: +-0.5 degC from -10 to 85 degC."""
    assert BENCH_RIG.probe_uncertainty_c == 0.5


def test_file_round_trip(tmp_path):
    """What is written is read back equal."""
    description.write(tmp_path / "rig.toml", BENCH_RIG)
    assert description.read(tmp_path / "rig.toml") == BENCH_RIG


@given(
    st.text(min_size=1, max_size=40).filter(lambda text: text.isprintable() and text.strip()),
    st.integers(10, 2000),
    st.floats(20, 20_000),
    st.floats(0, 20),
    st.booleans(),
)
def test_round_trip_of_any_rig(name, heater_w, plate_j_per_k, loss_w_per_k, has_room):
    """Names with quotes and figures with many places survive the file."""
    rig = BENCH_RIG.model_copy(
        update={
            "name": name,
            "heater_w": heater_w,
            "has_sense": heater_w > 100,
            "plate_j_per_k": max(plate_j_per_k, 0.6 * heater_w + 1),  # else too light for it
            "loss_w_per_k": loss_w_per_k,
            "has_room": has_room,
        }
    )
    assert description.from_text(description.to_text(rig)) == rig
    assert RigConfig.from_text(rig.to_config_text()).heater_w == heater_w


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("heater_w = 100", "heater_w = 5000", "heater_w: 5000 is too high; the most is 2000"),
        ("heater_w = 100", "heater_w = 1", "heater_w: 1 is too low; the least is 10"),
        ("heater_w = 100", 'heater_w = "100"', 'heater_w: read "100"; write a whole number'),
        ("heater_w = 100", "heater_w = 99.5", "heater_w: read 99.5; write a whole number"),
        ("heater_w = 100", "heater = 100", 'heater: no such field; perhaps "heater_w" is meant'),
        ("heater_w = 100", "", "heater_w: missing; add it"),
        ("loss_w_per_k = 1.4", "loss_w_per_k = nan", "loss_w_per_k: read nan; write a number"),
        ("loss_w_per_k = 1.4", "loss_w_per_k = inf", "loss_w_per_k: read inf; write a number"),
        ("has_plate = true", "has_plate = 1", "has_plate: read 1; write true or false"),
        ("ceiling_c = 60.0", "ceiling_c = 61", "ceiling_c: 61 is too high; the most is 60"),
        ('name = "bench rig"', 'name = ""', 'name: read ""; write 1 to 40 characters'),
        ('name = "bench rig"', 'name = "\\u202e"', "line 4, name: The rig's name has a character"),
        ('name = "bench rig"', 'name = " "', "line 4, name: The rig's name is empty; write 1"),
        ("format = 1", "format = 2", 'format: the first line must be "format = 1"'),
        ("format = 1", "", 'format: the first line must be "format = 1"'),
        ("format = 1", "format 1", "line 3: this is not TOML"),
    ],
)
def test_mistakes(old, new, words):
    """One sentence: the file, the field, what was read, what would be right."""
    assert old in TEXT
    with pytest.raises(InputError) as problem:
        description.from_text(TEXT.replace(old, new, 1), "rig.toml")
    assert problem.value.message.startswith("rig.toml, ")
    assert words in problem.value.message


@given(st.text())
def test_any_text_gives_a_rig_or_an_input_error(text):
    """Whatever is in the file, nothing but an InputError comes out."""
    with pytest.raises(InputError):
        description.from_text(text)


def test_no_rig_is_outside_the_firmwares_ceilings():
    """The compiled-in ceilings of the firmware bound every description."""
    for field, value in (("ceiling_c", 60.001), ("plate_ceiling_c", 80.001)):
        with pytest.raises(ValidationError):
            RigDescription(**{**BENCH_RIG.model_dump(), field: value})


def test_config_refusal_is_an_input_error():
    """What the device would refuse is said as the description's fault."""
    broken = BENCH_RIG.model_copy(update={"heater_w": 9})
    with pytest.raises(InputError, match="heater_w"):
        broken.to_config_text()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            ("ceiling_c = 60.0", "ceiling_c = 60.0\nplate_ceiling_c = 59.9"),
            "hotter than the plate",
        ),
        (("tacho_pulses = 1", "tacho_pulses = 2"), "there is no tachometer"),
        (
            ("fan_loss_w_per_k = 4.0", "fan_loss_w_per_k = 0.0\nfan_min_ms = 5000"),
            "there is no fan",
        ),
    ],
)
def test_what_the_board_would_refuse_is_refused_in_the_file(change, words):
    """Figures that do not go together: in the words of the firmware."""
    text = description.to_text(BENCH_RIG).replace("plate_ceiling_c = 80.0\n", "")
    text = text.replace("fan_min_ms = 0\n", "")
    with pytest.raises(InputError, match=words):
        description.from_text(text.replace(*change))


def test_a_strong_heater_needs_its_sense():
    """101 W without it is refused with the line; with it the device takes the rig."""
    text = description.to_text(BENCH_RIG).replace("heater_w = 100", "heater_w = 101")
    with pytest.raises(InputError, match="above 100 W a rig must sense its heater's node"):
        description.from_text(text)
    strong = description.from_text(text.replace("has_sense = false", "has_sense = true"))
    assert RigConfig.from_text(strong.to_config_text()).has_sense == 1
