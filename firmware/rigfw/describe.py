"""The rig's description as the device keeps it: one line of text with a check sum.

`rig|2|heater_w|...|checks_off|crc8hex`, fields in the order of FIELDS, each a plain integer. The
text is canonical. Whatever else it is, it is refused and the rig stays locked: there are no
defaults to run on.
"""

from rigfw import limits
from rigfw.config import ConfigRefused
from rigwire.frames import crc_hex

HEAD = "rig"
FORMAT = "2"

FIELDS = (
    # name, least, most
    ("heater_w", 10, 2000),
    ("plate_j_per_k", 20, 20000),
    ("plate_w_per_k", 1, 500),
    ("loss_mw_per_k", 0, 20000),
    ("fan_loss_mw_per_k", 0, 50000),
    ("probe_lag_ms", 0, 60000),
    ("ceiling_mc", 30000, limits.PRODUCT_CEILING_MC),
    ("plate_ceiling_mc", 40000, limits.PLATE_CEILING_MC),
    ("attended_limit_s", 300, limits.ATTENDED_CEILING_S),
    ("min_on_ms", 250, 10000),
    ("min_off_ms", 250, 10000),
    ("fan_min_ms", 0, 60000),
    ("has_plate", 0, 1),
    ("has_room", 0, 1),
    ("has_tacho", 0, 1),
    ("has_sense", 0, 1),
    ("tacho_pulses", 1, 12),
    ("checks_off", 0, 7),
)


def fill(config, fields):
    """Every field by its name into a RigConfig. Raises ConfigRefused."""
    for name, least, most in FIELDS:
        value = fields.pop(name, None)
        if type(value) is not int or not least <= value <= most:
            raise ConfigRefused(name + " is missing or out of range")
        setattr(config, name, value)
    if fields:
        raise ConfigRefused("a field is unknown")
    words = _why_impossible(config)
    if words:
        raise ConfigRefused(words)


def _why_impossible(config):
    """Words for figures that are each within range and do not go together, "" for none."""
    if config.ceiling_mc > config.plate_ceiling_mc:
        return "the chocolate may get hotter than the plate"
    if config.tacho_pulses > 1 and not config.has_tacho:
        return "tacho_pulses are given and there is no tachometer"
    if config.fan_min_ms and not config.fan_loss_mw_per_k:
        return "fan_min_ms is given and there is no fan"
    if config.checks_off & limits.OFF_COLD and not config.has_plate:
        return "a check of two probes is off and there is one"
    return _why_too_strong(config) if config.heater_w > limits.FREE_W else ""


def _why_too_strong(config):
    """Above FREE_W a shorted switch must be sensed before the plate is 5 K over its limit."""
    if not config.has_sense:
        return "a heater above 100 W needs the sense of its node"
    if not config.has_plate:
        return "a heater above 100 W needs a plate probe"
    if config.heater_w * limits.SHORTED_MS > config.plate_j_per_k * limits.PLATE_OVER_MC:
        return "the plate is too light for its heater"
    return ""


def to_text(config):
    """The one line of a RigConfig."""
    return _written([str(getattr(config, field[0])) for field in FIELDS])


def _written(figures):
    body = "|".join([HEAD, FORMAT] + figures)
    return body + "|" + crc_hex(body.encode())


def fields_of(text):
    """{name: figure} of a line in its one form; their ranges are not judged here. Raises
    ConfigRefused and nothing else."""
    parts = text.split("|") if type(text) is str else []
    if len(parts) != len(FIELDS) + 3 or parts[:2] != [HEAD, FORMAT]:
        raise ConfigRefused("the rig's description is missing or not of format 2")
    if crc_hex("|".join(parts[:-1]).encode()) != parts[-1]:
        raise ConfigRefused("the rig's description is damaged")
    try:
        figures = [int(part) for part in parts[2:-1]]
    except ValueError:
        raise ConfigRefused("the rig's description is damaged")
    if _written([str(figure) for figure in figures]) != text:
        raise ConfigRefused("the rig's description is not in its one form")
    return {field[0]: figures[at] for at, field in enumerate(FIELDS)}
