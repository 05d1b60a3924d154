"""Is the rig in order: before a start, and before a stop is cleared. Functions of an App."""

from rigfw import limits
from rigfw.interlocks import (
    CHOCOLATE_HOT,
    PLATE_HOT,
    PLATE_MISSING,
    PROBE_JUMP,
    PROBE_MISSING,
    PROBE_RANGE,
)

HOT, IN_TEMPER = "hot", "in_temper"
OF_PRODUCT = (PROBE_MISSING, PROBE_RANGE, PROBE_JUMP, CHOCOLATE_HOT)
OF_PLATE = (PLATE_MISSING, PLATE_HOT)


def why_not_start(app, schedule=None):
    """Words for what keeps this rig from starting `schedule`, "" when nothing does."""
    if app.inputs.stop_open:
        return "the stop button is pressed or its wire is open"
    if not app.inputs.bowl_present:
        return "there is no bowl on the plate"
    words = _why_not_this_chocolate(app, schedule)
    if not words and app.config.has_plate and not is_plate_good(app):
        words = "the plate probe gives no good reading or is too hot"
    return words or _why_not_trusted(app)


def _why_not_this_chocolate(app, schedule):
    product_mc = app.product_mc()
    if product_mc < limits.PRODUCT_LOW_MC:
        return "the chocolate probe gives no good reading"
    if not is_product_good(app, schedule):
        return "the chocolate is hotter than this rig may have"
    if schedule is not None and product_mc > schedule.ceiling_mc:
        return "the chocolate is hotter than its schedule allows"
    if schedule is not None and _has_lost_temper(schedule, product_mc):
        return "the chocolate is too warm to be in temper: melt it and begin anew"
    return ""


def _has_lost_temper(schedule, product_mc):
    """Said to be in temper, and warmer than its first step lets even the wall be."""
    return schedule.start_state == IN_TEMPER and product_mc > schedule.steps[0].wall_mc


def _why_not_trusted(app):
    """Words for what the rig found out about itself."""
    if app.watch.clock_permille:
        return "the rig's clock runs wrong against the computer's: restart the rig"
    if not do_probes_agree(app):
        return "chocolate and plate probe disagree: wait till the bowl has the room's warmth"
    return ""


def do_probes_agree(app):
    """Cold, and not heated for long: two probes at one place, or one is wrong."""
    config, product_mc, plate_mc = app.config, app.product_mc(), app.readings.plate_mc
    if not config.has_plate or config.checks_off & limits.OFF_COLD:
        return True
    if app.drive.cold_ms < limits.COLD_AFTER_MS:
        return True
    if product_mc >= limits.COLD_MC or plate_mc >= limits.COLD_MC:
        return True
    return -limits.COLD_AGREE_MC <= product_mc - plate_mc <= limits.COLD_AGREE_MC


def is_cause_gone(app):
    """True when what stopped this rig is over."""
    code = app.sequencer.stop_code
    if app.inputs.stop_open:
        return False
    if code in OF_PLATE:
        return is_plate_good(app)
    return code not in OF_PRODUCT or is_product_good(app)


def is_product_good(app, schedule=None):
    """A fresh reading of the chocolate, inside what the rig may have, or was fed hot."""
    most_mc = app.config.ceiling_mc
    if schedule is not None and schedule.start_state == HOT:
        most_mc = limits.PRODUCT_CEILING_MC
    return limits.PRODUCT_LOW_MC <= app.product_mc() <= most_mc


def is_plate_good(app):
    """A fresh reading of the plate, inside what the rig may have."""
    readings = app.readings
    if app.clock.diff(app.now_ms, readings.plate_at_ms) > limits.PRODUCT_STALE_MS:
        return False
    return limits.PLATE_LOW_MC <= readings.plate_mc <= app.config.plate_ceiling_mc
