"""The program's look at itself: each limit one unit to either side."""

from fw_fakes import FakeClock
from rigfw.numbers import (
    FINISHED,
    HANDS_IN,
    IN_STEP,
    LOCKED,
    MELTING,
    OFF,
    READY,
    STOPPED,
    TESTING,
)
from rigfw.selfwatch import (
    CLOCK_OFF,
    EV_CHECKS_OFF,
    EV_WARNED,
    LOOP_SLOW,
    MEMORY_LOW,
    SelfWatch,
)

FLOOR_BYTES = 16000
LATE_MS = 1000


class _App:
    """All that a SelfWatch works on; `said` has what it did, in order."""

    def __init__(self, state_no=MELTING, checks_off=0, now_ms=0):
        self.said = []
        self.clock = FakeClock(now_ms)
        self.now_ms = now_ms
        self.free = FLOOR_BYTES
        self.state_no, self.checks_off = state_no, checks_off
        self.config = self.sequencer = self.journal = self.drive = self.board = self

    def note(self, *row):
        """Kept."""
        self.said.append(row)

    def chime(self, buzz_ms):
        """Kept."""
        self.said.append(("chime", buzz_ms))

    def stop(self, *why):
        """Kept."""
        self.said.append(("stop",) + why)

    def free_bytes(self):
        """As the test says."""
        return self.free


def test_checks_that_are_off_are_told_and_none_is_not():
    """Which, and a buzzer of 3 s; a rig with all its checks says nothing."""
    app = _App(checks_off=5)
    SelfWatch(app).begin()
    assert app.said == [(EV_CHECKS_OFF, 5), ("chime", 3000)]
    app = _App()
    SelfWatch(app).begin()
    assert app.said == []


def test_memory_at_its_floor_is_enough_and_a_byte_less_is_not():
    """16,000 bytes are left in peace; 15,999 stop, and the figure is told."""
    app = _App()
    watch = SelfWatch(app)
    watch.second()
    assert app.said == []
    app.free = FLOOR_BYTES - 1
    watch.second()
    assert app.said == [("stop", MEMORY_LOW, FLOOR_BYTES - 1)]


def test_it_stops_where_something_may_run_and_nowhere_else():
    """Every step, hands, the start window and a test; not off, finished, stopped, locked."""
    steps = [at for at in range(len(IN_STEP)) if IN_STEP[at]]
    for state_no in steps + [READY, HANDS_IN, TESTING]:
        app = _App(state_no)
        app.free = 0
        SelfWatch(app).second()
        assert app.said == [("stop", MEMORY_LOW, 0)], state_no
    for state_no in (OFF, FINISHED, STOPPED, LOCKED):
        app = _App(state_no)
        app.free = 0
        SelfWatch(app).second()
        assert app.said == [], state_no


def _late(watch, count, passed_ms=LATE_MS):
    for _ in range(count):
        watch.passed(passed_ms)


def test_the_fourth_pass_of_a_second_stops_and_those_of_a_ms_less_never():
    """The figure told is that of the last pass; then it counts anew."""
    app = _App()
    watch = SelfWatch(app)
    _late(watch, 8, LATE_MS - 1)
    assert app.said == []
    _late(watch, 3)
    assert app.said == []
    _late(watch, 1, LATE_MS + 7)
    assert app.said == [("stop", LOOP_SLOW, LATE_MS + 7)]
    _late(watch, 3)
    assert len(app.said) == 1
    _late(watch, 1)
    assert len(app.said) == 2


def test_late_passes_are_forgotten_after_a_minute_without_one():
    """60,000 ms of quick passes forget three late ones; a ms less does not."""
    for calm_ms, stops in ((60000, 0), (59999, 1)):
        app = _App()
        watch = SelfWatch(app)
        _late(watch, 3)
        for _ in range(calm_ms // 500):
            watch.passed(500)
        watch.passed(calm_ms % 500)
        _late(watch, 1)
        assert len(app.said) == stops, calm_ms


def test_the_minute_begins_anew_with_each_late_pass():
    """Half a minute, one more that is late, half a minute: three of them still count."""
    app = _App()
    watch = SelfWatch(app)
    _late(watch, 2)
    for _ in range(60):
        watch.passed(500)
    _late(watch, 1)
    for _ in range(60):
        watch.passed(500)
    _late(watch, 1)
    assert app.said == [("stop", LOOP_SLOW, LATE_MS)]


class _Clocks:
    """Beats of a host, and the rig's own time as the test says."""

    def __init__(self, host_ms=5000, now_ms=0):
        self.app = _App(now_ms=now_ms)
        self.watch = SelfWatch(self.app)
        self.host_ms = host_ms
        self.watch.beat(host_ms)

    def beat(self, host_passed_ms, own_passed_ms):
        """The next beat."""
        self.host_ms += host_passed_ms
        self.app.now_ms = self.app.clock.add(self.app.now_ms, own_passed_ms)
        self.watch.beat(self.host_ms)

    def minute(self, own_ms):
        """Four beats of the host within 60 s of its own, in `own_ms` of the rig's."""
        for count in range(4):
            part_ms = own_ms // 4 if count < 3 else own_ms - 3 * (own_ms // 4)
            self.beat(15000, part_ms)

    def minutes(self, count):
        """So many minutes in which both agree."""
        for _ in range(count):
            self.minute(60000)


def test_thirty_permille_agree_and_thirty_one_do_not():
    """Either way round; a part of a permille is rounded down."""
    for own_ms, permille in (
        (60000, 0), (61800, 0), (61859, 0), (61860, 31), (58200, 0), (58199, -31), (58140, -31),
    ):  # fmt: skip
        clocks = _Clocks()
        clocks.minute(own_ms)
        assert clocks.watch.clock_permille == permille, own_ms
        told = [(EV_WARNED, CLOCK_OFF, permille), ("chime", 3000)] if permille else []
        assert clocks.app.said == told, own_ms


def test_a_wrong_clock_is_told_once_and_a_right_one_takes_it_back():
    """Wrong twice: one word, the later figure; five right minutes: 0, and wrong is news again."""
    clocks = _Clocks()
    clocks.minute(63000)
    clocks.minute(66000)
    assert (clocks.watch.clock_permille, len(clocks.app.said)) == (100, 2)
    clocks.minutes(4)
    assert (clocks.watch.clock_permille, len(clocks.app.said)) == (100, 2)
    clocks.minutes(1)
    assert (clocks.watch.clock_permille, len(clocks.app.said)) == (0, 2)
    clocks.minute(63000)
    assert (clocks.watch.clock_permille, len(clocks.app.said)) == (50, 4)


def test_nothing_is_judged_before_a_minute_of_the_hosts_clock():
    """59,999 ms of beats judge nothing; one more does."""
    clocks = _Clocks()
    for _ in range(3):
        clocks.beat(15000, 18000)
    clocks.beat(14999, 18000)
    assert clocks.watch.clock_permille == 0
    clocks.beat(1, 0)
    assert clocks.watch.clock_permille == 200


def test_ten_permille_agree_over_five_minutes_and_eleven_do_not():
    """3,299 ms more and 3,000 less are let pass; a ms more either way is not."""
    for more_ms, permille in ((3299, 0), (3300, 11), (-3000, 0), (-3001, -11)):
        clocks = _Clocks()
        clocks.minutes(4)
        clocks.minute(60000 + more_ms)
        assert clocks.watch.clock_permille == permille, more_ms


def test_before_five_minutes_ten_permille_are_none():
    """Over 299,999 ms 12 permille are let pass; a ms of the host's clock later they are not."""
    clocks = _Clocks()
    clocks.minutes(4)
    for _ in range(3):
        clocks.beat(15000, 15000)
    clocks.beat(14999, 18600)
    assert clocks.watch.clock_permille == 0
    clocks.beat(1, 0)
    assert clocks.watch.clock_permille == 12


def test_a_right_minute_counts_on_with_the_next_beats():
    """2,324 ms apart in 75 s are 30 permille, a ms more 31."""
    for more_ms, permille in ((2324, 0), (2325, 31)):
        clocks = _Clocks()
        clocks.minutes(1)
        clocks.beat(15000, 15000 + more_ms)
        assert clocks.watch.clock_permille == permille, more_ms


def test_twenty_seconds_between_beats_are_no_hole_and_a_ms_more_is():
    """Without the hole: a minute of three beats is judged. With one: it begins anew there."""
    clocks = _Clocks()
    for _ in range(3):
        clocks.beat(20000, 20000)
    assert clocks.watch.clock_permille == 0
    clocks = _Clocks()
    for _ in range(3):
        clocks.beat(19000, 20000)
    clocks.beat(3000, 3000)
    assert clocks.watch.clock_permille == 50
    clocks = _Clocks()
    for _ in range(3):
        clocks.beat(19000, 20001)
    clocks.beat(3000, 3000)
    assert clocks.watch.clock_permille == 0


def test_a_hole_forgets_both_clocks():
    """After it a whole minute must come by itself, of both."""
    for own_ms, permille in ((61859, 0), (61860, 31)):
        clocks = _Clocks()
        for _ in range(3):
            clocks.beat(15000, 16000)
        clocks.beat(15000, 20001)
        clocks.minute(own_ms)
        assert clocks.watch.clock_permille == permille


def test_a_beat_that_is_not_later_begins_anew():
    """The same figure again, or an earlier one, says nothing and forgets; a ms more counts."""
    for host_passed_ms in (0, -1, -100000):
        clocks = _Clocks(host_ms=200000)
        for _ in range(3):
            clocks.beat(15000, 16000)
        clocks.beat(host_passed_ms, 0)
        clocks.beat(15000, 16000)
        assert clocks.watch.clock_permille == 0, host_passed_ms
    clocks = _Clocks()
    for _ in range(3):
        clocks.beat(15000, 16000)
    clocks.beat(1, 0)
    clocks.beat(14999, 16000)
    assert clocks.watch.clock_permille == 66


def test_the_first_beat_only_sets_the_clocks():
    """Whatever the host's clock shows, and when the rig's has just come round."""
    for now_ms in (0, 1, (1 << 30) - 1):
        clocks = _Clocks(host_ms=0, now_ms=now_ms)
        clocks.minute(63000)
        assert clocks.watch.clock_permille == 50, now_ms
