"""What the measures of a commissioning share: readings of a rig at rest, a batch of its own."""

from statistics import fmean

from rigwire.schedule import Schedule, Step, to_body
from snapgloss.base.errors import RigError
from snapgloss.base.records import Reading
from snapgloss.runs.commission_drive import follow_from_now
from snapgloss.runs.commission_place import Place

FIRST_READINGS, LISTEN_READINGS = 3, 30  # the first may be from before the last change
LISTEN_S = 120.0
HOLD_S = 600  # a batch goes on without its host: no longer than a step needs


def seconds(later_ms: int | None, earlier_ms: int | None) -> float | None:
    """Seconds between two of the rig's own times; None without one of them."""
    return None if later_ms is None or earlier_ms is None else (later_ms - earlier_ms) / 1000


def listened(place: Place) -> list[Reading]:
    """Half a minute of readings while nothing is driven. Raises RigError for a silent probe."""
    found: list[Reading] = []
    follow_from_now(place.link)
    until_s = place.link.now_s() + LISTEN_S
    while len(found) < FIRST_READINGS + LISTEN_READINGS and place.link.now_s() < until_s:
        place.hands.look_up()
        place.link.wait(1.0)
        found += [one for one in place.link.take() if isinstance(one, Reading)]
    if len(found) < FIRST_READINGS + LISTEN_READINGS:
        raise RigError("The rig tells no readings.", "Look at its cable, then do the step again.")
    return found[FIRST_READINGS : FIRST_READINGS + LISTEN_READINGS]


def mean_c(readings: list[Reading], role: str) -> float | None:
    """The mean of a probe in degC; None when any reading of it is missing."""
    values = [getattr(one, f"{role}_mc") for one in readings]
    return None if None in values else fmean(values) / 1000


def bath_schedule(now_c: float | None) -> bytes:
    """A short work step 3 degC over the bath, so that the heat is on; 15 to 55 degC."""
    if now_c is None:
        raise RigError("The chocolate probe gives no reading.", "Look at its plug and cable.")
    target_mc = round(1000 * min(max(now_c + 3, 15), 55))
    work = Step("work", target_mc, HOLD_S, 5000, max(60_000, target_mc), 0, 0, 0)
    return to_body(Schedule("Commissioning", "kept", "in_temper", 1000, 60_000, [work]))
