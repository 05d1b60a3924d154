"""The stop loop in every state in which a rig may have power, and while it is off."""

from rigwire.views import STOP_KEYS
from snapgloss.base.errors import RigError
from snapgloss.runs.commission_drive import BatchDrive, Told, WindowDrive, whole
from snapgloss.runs.commission_listen import bath_schedule, listened, mean_c, seconds
from snapgloss.runs.commission_place import PLATE_MC, Place
from snapgloss.runs.leases import StepPlan

LITTLE = 150  # permille of heat: warms nothing that a step could spoil
STOP_LOOP = STOP_KEYS.index("stop_loop")


def stop_in_test(place: Place) -> float | None:
    """Seconds from the last reading with heat asked for to the stop of the stop loop."""
    return _stopped_s(place.drive("stop_in_test", LITTLE))


def _stopped_s(told: Told) -> float | None:
    """Seconds from the last reading with heat asked for to the stop of the stop loop."""
    if told.stop_code != STOP_LOOP:
        return None
    return seconds(told.stopped_ms, told.last_ms(lambda one: one.heat_permille > 0))


def stop_when_off(place: Place) -> float | None:
    """1 when the rig refuses to open its window for the stop button that is pressed."""
    place.hands.ready("Press the stop button and leave it pressed.")
    try:
        place.link.ask_test(LITTLE, 0, 0, PLATE_MC, 10)
    except RigError as refused:
        found = 1.0 if "stop button" in refused.message else 0.0
    else:
        place.link.off()
        found = 0.0
    place.hands.ready("Turn the stop button free.")
    return found


def stop_in_window(place: Place) -> float | None:
    """The stop code of the stop loop in the start window; 0 where it closed by itself."""
    plan = StepPlan(LITTLE, 0, 0, PLATE_MC, 10)
    told = WindowDrive(place.link, plan, place.hands, place.actor("stop_in_window"), 1).run()
    return float(whole(told, "stop_in_window").stop_code)


def stop_in_batch(place: Place) -> float | None:
    """As stop_in_test, in a batch: there the rig decides by itself, without this computer."""
    body = bath_schedule(mean_c(listened(place), "product"))
    drive = BatchDrive(place.link, body, place.hands, place.actor("stop_in_batch"), 5)
    told = whole(drive.run(), "stop_in_batch")
    place.link.off()
    return _stopped_s(told)
