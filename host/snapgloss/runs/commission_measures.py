"""What the rig measures of itself in commissioning: one function a step, giving a figure or None.

Times are the rig's own, between what it told: the last reading before, and the event after. A
person's hand is not timed.
"""

from collections.abc import Callable
from statistics import fmean

from rigfw.limits import LIQUID_MS
from snapgloss.base.errors import InputError, RigError
from snapgloss.base.records import Reading
from snapgloss.link.client import RigLink
from snapgloss.rigs.sizing_cutout import from_run, hottest_c, levels_at_c
from snapgloss.runs.commission_drive import (
    BatchDrive,
    Drive,
    Told,
    whole,
)
from snapgloss.runs.commission_listen import bath_schedule, listened, mean_c, seconds
from snapgloss.runs.commission_place import PLATE_MC, Place
from snapgloss.runs.commission_stops import (
    LITTLE,
    stop_in_batch,
    stop_in_test,
    stop_in_window,
    stop_when_off,
)
from snapgloss.runs.leases import StepPlan

BALANCE_S, HELD_S = 600, 20
STIR_S = LIQUID_MS // 1000 + 15  # by then it stirs for good and no longer in pulses
MOVED_MC = 1000


def host_silent(place: Place) -> float | None:
    """Seconds from the last lease to the end of the test."""
    told = place.drive("", LITTLE, lease_s=10)
    return seconds(told.ended_ms, told.leased_ms)


def node_sense(place: Place) -> float | None:
    """The stop code that a bridged heater switch gives: 12 by its node, 13 by its heat."""
    return float(place.drive("node_sense", LITTLE, 300).stop_code)


def hang(place: Place) -> float | None:
    """1 when the rig started anew and is off, or locked. Its reset may take the USB port along."""
    before = place.link.identity
    told = place.drive("hang", LITTLE)
    if told.is_cable_out:
        place.link.close()
        place.hands.ready("Wait until the rig is back.")
        place.link = place.reopen()
    now = place.link.identity
    assert before is not None and now is not None
    is_anew = now.board == before.board and now.boot_nonce != before.boot_nonce
    return 1.0 if is_anew and now.state in ("off", "locked") else 0.0


def cable_out(place: Place) -> float | None:
    """Seconds that the rig drove on after the last lease before its cable was out."""
    told = place.drive("cable_out", LITTLE)
    if not told.is_cable_out:
        return None
    place.link.close()
    place.hands.ready("Wait 10 s, then plug the cable in again.")
    place.link = place.reopen()
    if place.link.ask_status().state != "off":
        return None
    return seconds(_last_driven_ms(place.link, told), told.leased_ms)


def _last_driven_ms(link: RigLink, told: Told) -> int:
    """From the journal: the rig's last reading in that test."""
    identity = link.identity
    assert identity is not None
    first = told.readings[-1].seq + 1
    link.follow_from(first, identity.newest_event + 1)
    records = link.catch_up(identity.newest_reading, identity.newest_event)
    missed = [one for one in records if isinstance(one, Reading) and one.state == "testing"]
    return max(one.at_ms for one in [*told.readings, *missed])


def probe_unplugged(place: Place) -> float | None:
    """Seconds from the last reading of the chocolate probe to the stop for want of one."""
    told = place.drive("probe_unplugged", LITTLE)
    if told.stop_code != 1:
        return None
    return seconds(told.stopped_ms, told.last_ms(lambda one: one.product_mc is not None))


def probe_lifted(place: Place) -> float | None:
    """Seconds from the first reading that left the bath by 1 degC to the end of heat.

    In a batch, not a test: only there is the reading judged by what hands do to it.
    """
    body = bath_schedule(mean_c(listened(place), "product"))
    drive = BatchDrive(place.link, body, place.hands, place.actor("probe_lifted"), 30)
    told = whole(drive.run(), "probe_lifted")
    place.link.off()
    left_ms = _left_ms(told.readings)
    ended_ms = told.ended_ms if told.stopped_ms is None else told.stopped_ms
    found_s = seconds(ended_ms, left_ms)
    return None if found_s is None else max(0.0, found_s)


def _left_ms(readings: list[Reading]) -> int | None:
    """When the chocolate probe was first 1 degC under the highest that it had shown."""
    highest_mc = None
    for one in readings:
        if one.product_mc is None:
            continue
        if highest_mc is not None and one.product_mc < highest_mc - MOVED_MC:
            return one.at_ms
        highest_mc = max(highest_mc or one.product_mc, one.product_mc)
    return readings[-1].at_ms if readings else None  # noticed before it had fallen so far


def stirrer_held(place: Place) -> float | None:
    """The current that a person reads while they hold the stirrer, A."""
    plan = StepPlan(0, 0, 1000, PLATE_MC, HELD_S)
    act = place.actor("stirrer_held")
    whole(Drive(place.link, plan, place.hands, act).run(), "stirrer_held")
    return place.figure("What was the motor's current while you held it?", "A")


def stirrer_stalled(place: Place) -> float | None:
    """Why the rig paused its batch while somebody held the stirrer: 4 by its tachometer."""
    body = bath_schedule(mean_c(listened(place), "product"))
    drive = BatchDrive(place.link, body, place.hands, place.actor("stirrer_stalled"), STIR_S)
    told = whole(drive.run(), "stirrer_stalled")
    place.link.off()
    return float(told.hands_cause)


def ice_point(place: Place) -> float | None:
    """The chocolate probe in ice water, degC."""
    place.hands.ready("Is the chocolate probe in stirred ice water, 5 minutes by now?")
    return mean_c(listened(place), "product")


def warm_bath(place: Place) -> float | None:
    """How far the chocolate probe is off a clinical thermometer in a bath of 35 to 40 degC."""
    place.hands.ready("Is the chocolate probe in the stirred bath, 5 minutes by now?")
    found = mean_c(listened(place), "product")
    reference_c = place.figure("What does the clinical thermometer show?", "°C")
    if found is None:
        return None
    if not 35 <= reference_c <= 40:
        raise InputError(
            f"A bath of {reference_c:g} °C is not between 35 and 40 °C.",
            "Warm or cool the bath, then do the step again.",
        )
    place.remark = f"thermometer {reference_c:.2f} °C, probe {found:.2f} °C"
    return found - reference_c


def probes_agree(place: Place) -> float | None:
    """Chocolate less plate probe, degC."""
    _needs_plate(place)
    place.hands.ready("Have the two probes been side by side for 5 minutes, the rig cold?")
    found = listened(place)
    product, plate = mean_c(found, "product"), mean_c(found, "plate")
    return None if product is None or plate is None else product - plate


def _needs_plate(place: Place) -> None:
    if not place.rig.has_plate:
        raise RigError(
            f'"{place.rig.name}" is described without a plate probe: no cut-out can be chosen.',
            "Fit a plate probe, and describe the rig with it.",
        )


def stuck_on(place: Place) -> float | None:
    """Where the plate levels out at 20 W, degC: three readings at equal intervals of the run."""
    _needs_plate(place)
    told = place.drive("", place.low_permille(), place.stuck_s)
    plates = [one.plate_mc for one in told.readings]
    third = len(plates) // 3
    if third < 60 or None in plates[:: max(third, 1)]:
        return None
    picked = [plates[third * n - 1] for n in (1, 2, 3)]
    level_c = levels_at_c([mc / 1000 for mc in picked if mc is not None])
    return level_c if _chooses_cut_out(place, level_c, told.readings[0]) else None


def _chooses_cut_out(place: Place, level_c: float, first: Reading) -> bool:
    """Whether a cut-out fits this rig by its run; the remark says which, or why none does."""
    room_mc = first.plate_mc if first.room_mc is None else first.room_mc
    assert room_mc is not None
    rig, run_w = place.rig, place.low_permille() * place.rig.heater_w / 1000
    normal_c = hottest_c(rig.heater_w, rig.plate_w_per_k)
    try:
        chosen = from_run(normal_c, level_c, room_mc / 1000, run_w, rig.heater_w)
        place.remark = chosen.sentence()
    except InputError as none_fits:
        place.remark = f"{level_c:.1f} °C. {none_fits}"
        return False
    return True


def heat_balance(place: Place) -> float | None:
    """Heat found over heat given in the second half: stored by the contents, and lost to the room
    as the rig is described (W/K). A rig without a room probe is taken to lose nothing."""
    permille = place.low_permille()
    told = place.drive("", permille, BALANCE_S)
    half = told.readings[len(told.readings) // 2 :]
    if len(half) < 60 or half[0].product_mc is None or half[-1].product_mc is None:
        return None
    spent_s = (half[-1].at_ms - half[0].at_ms) / 1000
    given_w = fmean(one.heat_permille for one in half) / 1000 * place.rig.heater_w
    rise_k = (half[-1].product_mc - half[0].product_mc) / 1000
    found_w = rise_k * place.held_j_per_k / spent_s + place.rig.loss_w_per_k * _over_room_k(half)
    return found_w / given_w if given_w > 0 else None


def _over_room_k(readings: list[Reading]) -> float:
    """How much warmer than the room the chocolate was, in the mean; 0 without a room probe."""
    over = [
        (one.product_mc - one.room_mc) / 1000
        for one in readings
        if one.product_mc is not None and one.room_mc is not None
    ]
    return fmean(over) if over else 0.0


MEASURES: dict[str, Callable[[Place], float | None]] = {
    "stop_in_test": stop_in_test,
    "stop_when_off": stop_when_off,
    "stop_in_window": stop_in_window,
    "stop_in_batch": stop_in_batch,
    "host_silent": host_silent,
    "node_sense": node_sense,
    "hang": hang,
    "cable_out": cable_out,
    "probe_unplugged": probe_unplugged,
    "stirrer_held": stirrer_held,
    "stirrer_stalled": stirrer_stalled,
    "ice_point": ice_point,
    "warm_bath": warm_bath,
    "probes_agree": probes_agree,
    "probe_lifted": probe_lifted,
    "stuck_on": stuck_on,
    "heat_balance": heat_balance,
}
