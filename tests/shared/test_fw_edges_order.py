"""Whether the rig is in order: each reading one unit to either side of what it may be."""

from fw_fakes import FakeClock, bench
from rigfw import interlocks as locks
from rigfw import order
from rigfw.readings import Inputs, Readings
from rigwire.messages import MISSING_MC
from rigwire.schedule import Schedule, Step

PROBE = "the chocolate probe gives no good reading"
RIG_HOT = "the chocolate is hotter than this rig may have"
TOO_HOT = "the chocolate is hotter than its schedule allows"
LOST = "the chocolate is too warm to be in temper: melt it and begin anew"
PLATE = "the plate probe gives no good reading or is too hot"
CLOCK = "the rig's clock runs wrong against the computer's: restart the rig"
APART = "chocolate and plate probe disagree: wait till the bowl has the room's warmth"
NOW_MS = 50000
COLD_MS = 30 * 60000


class _App:
    """All that the functions of `order` ask for; in order as it is."""

    def __init__(self, product_mc=21000, plate_mc=21000, **changes):
        self.config = bench(**changes)
        self.clock, self.now_ms = FakeClock(NOW_MS), NOW_MS
        self.inputs, self.readings = Inputs(), Readings()
        self.inputs.stop_open, self.inputs.bowl_present = 0, 1
        self.readings.plate_mc, self.readings.plate_at_ms = plate_mc, NOW_MS
        self.mc = product_mc
        self.watch = self.drive = self.sequencer = self
        self.clock_permille = self.stop_code = 0
        self.cold_ms = COLD_MS

    def product_mc(self):
        """As the test says."""
        return self.mc


def _schedule(start="liquid", ceiling_mc=50000, wall_mc=34000):
    return Schedule("x", "kept", start, 2000, ceiling_mc, [Step("work", 31500, 60, 1000, wall_mc)])


def _words(app, schedule=None):
    return order.why_not_start(app, schedule)


def test_a_rig_in_order_has_no_words():
    """With a schedule and without, with a plate probe and without."""
    assert _words(_App()) == _words(_App(), _schedule()) == ""
    assert _words(_App(has_plate=0, plate_mc=MISSING_MC)) == ""


def test_contacts_come_first():
    """The stop loop, then the bowl, then what the probes say."""
    app = _App(MISSING_MC)
    assert _words(app) == PROBE
    app.inputs.bowl_present = 0
    assert _words(app) == "there is no bowl on the plate"
    app.inputs.stop_open = 1
    assert _words(app) == "the stop button is pressed or its wire is open"


def test_chocolate_from_0_to_the_rigs_ceiling():
    """55,000 of the bench; a milli-degree to either side is refused."""
    hot = {"plate_mc": 55000}
    assert _words(_App(0, 1000)) == ""
    assert _words(_App(-1, 1000)) == PROBE
    assert _words(_App(MISSING_MC)) == PROBE
    assert _words(_App(55000, **hot)) == ""
    assert _words(_App(55001, **hot)) == RIG_HOT


def test_chocolate_to_its_schedules_ceiling():
    """One milli-degree more is refused; without a schedule the rig's own counts."""
    assert _words(_App(50000, 50000), _schedule()) == ""
    assert _words(_App(50001, 50000), _schedule()) == TOO_HOT
    assert _words(_App(50001, 50000)) == ""


def test_a_bowl_fed_hot_may_have_60_degrees():
    """Only where the schedule says so, and its ceiling has it."""
    hot = _schedule("hot", 60000)
    assert _words(_App(60000, 60000), hot) == ""
    assert _words(_App(60001, 60000), hot) == RIG_HOT
    assert _words(_App(55001, 55000), _schedule("liquid", 60000)) == RIG_HOT


def test_what_is_said_to_be_in_temper_may_have_its_steps_wall():
    """34,000; a milli-degree more has lost it. Liquid chocolate may."""
    kept = _schedule("in_temper")
    assert _words(_App(34000, 34000), kept) == ""
    assert _words(_App(34001, 34000), kept) == LOST
    assert _words(_App(34001, 34000), _schedule()) == ""


def test_the_plate_from_0_to_its_ceiling_and_not_older_than_2_s():
    """70,000 of the bench; a unit to either side is refused, with a plate probe alone."""
    assert _words(_App(31000, 70000)) == ""
    assert _words(_App(31000, 70001)) == PLATE
    assert _words(_App(2000, 0)) == ""
    assert _words(_App(2000, -1)) == PLATE
    assert _words(_App(31000, 70001, has_plate=0)) == ""
    app = _App(31000)
    app.readings.plate_at_ms = NOW_MS - 2000
    assert _words(app) == ""
    app.readings.plate_at_ms = NOW_MS - 2001
    assert _words(app) == PLATE


def test_what_is_wrong_with_the_chocolate_is_said_before_the_plate():
    """Both wrong: the chocolate's words."""
    assert _words(_App(MISSING_MC, MISSING_MC)) == PROBE


def test_a_wrong_clock_starts_nothing():
    """Either way; and it is said before probes that disagree."""
    for permille in (31, -31, 1):
        app = _App(20000, 29000)
        app.clock_permille = permille
        assert _words(app) == CLOCK


def test_cold_probes_agree_within_2_k():
    """Either one the warmer; a milli-degree more is too much."""
    for apart_mc in (-2000, 2000):
        assert _words(_App(20000, 20000 + apart_mc)) == ""
    for apart_mc in (-2001, 2001):
        assert _words(_App(20000, 20000 + apart_mc)) == APART


def test_from_30_degrees_on_they_need_not_agree():
    """Either of them; a milli-degree less and they must."""
    assert _words(_App(30000, 20000)) == ""
    assert _words(_App(29999, 20000)) == APART
    assert _words(_App(20000, 30000)) == ""
    assert _words(_App(20000, 29999)) == APART


def test_after_heat_they_need_not_agree_for_half_an_hour():
    """1,800,000 ms after it they must again; a ms less they need not."""
    app = _App(20000, 29000)
    for cold_ms, words in ((0, ""), (COLD_MS - 1, ""), (COLD_MS, APART)):
        app.cold_ms = cold_ms
        assert _words(app) == words, cold_ms


def test_they_need_not_agree_where_the_check_is_off():
    """Nor without a plate probe."""
    assert _words(_App(20000, 29000, checks_off=2)) == ""
    assert _words(_App(20000, 29000, checks_off=5)) == APART
    assert _words(_App(20000, 29000, has_plate=0)) == ""


def test_a_stop_is_cleared_when_its_cause_is_gone():
    """That of a probe by its reading, that of the plate by the plate's, others by the loop."""
    of_product = (
        locks.PROBE_MISSING, locks.PROBE_RANGE, locks.PROBE_JUMP, locks.CHOCOLATE_HOT,
    )  # fmt: skip
    for code in of_product:
        assert _is_gone(_App(31000, 99000), code)
        assert not _is_gone(_App(55001), code)
        assert not _is_gone(_App(-1), code)
    for code in (locks.PLATE_MISSING, locks.PLATE_HOT):
        assert _is_gone(_App(-1, 70000), code)
        assert not _is_gone(_App(31000, 70001), code)
        assert not _is_gone(_App(31000, -1), code)
    assert _is_gone(_App(-1, -1), locks.STOP_LOOP)


def test_nothing_is_cleared_while_the_loop_is_open():
    """Whatever stopped it."""
    for code in (locks.PROBE_MISSING, locks.PLATE_HOT, locks.STOP_LOOP):
        app = _App()
        app.inputs.stop_open = 1
        assert not _is_gone(app, code)


def _is_gone(app, code):
    app.stop_code = code
    return order.is_cause_gone(app)
