"""What the rig tries before it is needed, and how it watches itself."""

from fw_fakes import BENCH, Plant, Rig, kinds, seeded_dark
from rigfw import codelist, limits, slots
from rigfw.config import ConfigRefused, RigConfig
from rigfw.fancheck import FanCheck
from rigfw.order import do_probes_agree
from rigwire.errors import ScheduleRefused
from rigwire.frames import crc_hex
from rigwire.schedule import Schedule, Step, to_body
from rigwire.tables import EVENT_NAMES, PROMPTS
from rigwire.views import STOP_KEYS, STOPS

DAY_S = 24 * 3600


def _events(rig, kind):
    return [row[2:] for row in rig.events() if row[1] == EVENT_NAMES.index(kind)]


def _ready(**changes):
    """The start window of a rig is open; its bowl is as warm as the room."""
    rig = Rig(schedule=seeded_dark(), plant=Plant(), **changes)
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"
    return rig


def _tap_stop(rig):
    rig.board.stop_open = 1
    rig.run(1)
    rig.board.stop_open = 0
    rig.run(1)


# The stop button.


def test_no_start_before_the_stop_button_was_tried():
    """The display asks for it; a right press of start does nothing before, and starts after."""
    rig = _ready(is_proven=False)
    assert PROMPTS[rig.app.sequencer.prompt_no] == "press_stop"
    rig.press(1.5)
    assert rig.state() == "ready"
    _tap_stop(rig)
    assert (rig.state(), rig.app.sequencer.prompt_no) == ("ready", 0)
    assert _events(rig, "proven") == [(1, 0)]
    rig.press(1.5)
    assert rig.state() == "melting"


def test_a_stop_loop_that_stays_open_is_no_proof():
    """Open is half of it: the loop must close again."""
    rig = _ready(is_proven=False)
    rig.board.stop_open = 1
    rig.run(5)
    assert rig.app.attend.stop_proof.is_due == 1
    rig.press(1.5)
    assert rig.state() == "ready"


def test_the_proof_lasts_a_day_and_the_next_start_asks_again():
    """24 h to the second; the time is that of the rig."""
    proof = Rig(is_proven=False).app.attend.stop_proof
    proof.step(1, 250)
    proof.step(0, 250)
    assert proof.is_due == 0
    for _ in range(DAY_S - 1):
        proof.step(0, 1000)
    assert proof.is_due == 0
    proof.step(0, 1000)
    assert proof.is_due == 1


def test_once_proven_the_stop_button_stops_in_the_window_too():
    """The second press of stop in an open window is a stop."""
    rig = _ready(is_proven=False)
    _tap_stop(rig)
    _tap_stop(rig)
    assert rig.state() == "stopped"


def test_a_host_cannot_answer_for_the_stop_button():
    """Only a hand at the loop proves it."""
    rig = _ready(is_proven=False)
    assert rig.ask("answer", 4).name == "no"
    assert rig.app.sequencer.prompt_no == PROMPTS.index("press_stop")
    rig.press(0.3)
    assert rig.app.sequencer.prompt_no == PROMPTS.index("press_stop")


def test_no_schedule_may_ask_for_the_stop_button():
    """The prompt is the rig's own."""
    step = Step("melt", 48000, 60, 3000, 60000, PROMPTS.index("press_stop"), 60)
    try:
        to_body(Schedule("Lantern 72", "kept", "liquid", 2000, 55000, [step]))
        words = ""
    except ScheduleRefused as refusal:
        words = str(refusal)
    assert words == "a prompt is out of range"


# The two switches of the heater.


class Welded(Plant):
    """A heater whose relay does not open; the node is live with the switch alone."""

    is_welded = True

    def advance(self, board, passed_s):
        """As the plant, with the node of the heater."""
        Plant.advance(self, board, passed_s)
        moves = board.enable_edge != getattr(self, "edge", 0)
        self.edge = board.enable_edge
        board.heater_live = 1 if board.heat_on and (self.is_welded or moves) else 0


def _pressed(is_welded):
    plant = Welded()
    plant.is_welded = is_welded
    rig = Rig(schedule=seeded_dark(), plant=plant, has_sense=1)
    rig.run(2)
    rig.ask("ask_start", rig.load())
    rig.press(1.5)
    return rig


def test_a_welded_relay_locks_before_the_first_heat():
    """The switch alone makes the node live: locked within a second of the press, with words."""
    rig = _pressed(True)
    rig.run(1)
    assert rig.state() == "locked"
    assert STOPS[rig.app.sequencer.stop_code][1] == "relay_welded"
    assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    assert "relay does not open" in rig.app.lock_words


def test_good_switches_are_tried_in_turn_and_then_heat():
    """1.5 s the switch without an edge, 2 s edges without the switch, then heat."""
    rig = _pressed(False)
    seen = []
    for _ in range(20):
        seen.append((rig.board.heat_on, rig.board.enable_edge))
        rig.one_pass()
    assert set(seen[:4]) == {(1, 0)}
    trying = [row for row in seen if row[0] == 0]
    assert [row[1] for row in trying[:6]] in ([0, 1] * 3, [1, 0] * 3)
    assert _events(rig, "proven")[-1] == (2, 0)
    rig.run(10)
    assert rig.state() == "melting"
    assert rig.app.delivered_permille > 0


# Probes that should agree.


def test_cold_probes_that_differ_by_more_than_2_k_do_not_start():
    """2.0 K are two probes, 2.001 K are not; warm nothing is asked."""
    for apart_mc, starts in ((2000, True), (2001, False), (-2000, True), (-2001, False)):
        rig = Rig()
        rig.board.product_mc, rig.board.plate_mc = 20000, 20000 + apart_mc
        rig.run(2)
        assert (rig.ask("ask_start", rig.load()).name == "ok") == starts, apart_mc
    rig = Rig()
    rig.board.product_mc, rig.board.plate_mc = 20000, 31000
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"


def test_cold_probes_are_compared_again_half_an_hour_after_the_last_heat():
    """Heated, off, 29 minutes and a half: not asked. After 30 minutes it is."""
    rig = Rig(plant=Plant())
    rig.start()
    rig.run_until(lambda one: one.board.heat_on, 20)
    assert rig.ask("off").name == "ok"
    rig.plant = None
    rig.board.product_mc, rig.board.plate_mc = 20000, 26000
    for minutes, starts in ((29.4, True), (0.8, False)):
        rig.run(60 * minutes)
        assert do_probes_agree(rig.app) == starts, minutes


# Memory, passes, clock.


def test_little_memory_stops_a_batch_within_a_second():
    """At the floor it goes on, a byte under it all is off."""
    rig = Rig(plant=Plant())
    rig.start()
    rig.board.free = limits.MEMORY_FLOOR_BYTES
    rig.run(3)
    assert rig.state() == "melting"
    rig.board.free -= 1
    rig.run(1.25)
    assert STOP_KEYS[rig.app.sequencer.stop_code] == "memory_low"
    assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)


def test_four_late_passes_within_a_minute_stop_and_three_do_not():
    """A pass of a second is late; a minute without one forgets them."""
    rig = Rig(plant=Plant())
    rig.start()
    for _ in range(3):
        rig.one_pass(1000)
    rig.run(61)
    for _ in range(3):
        rig.one_pass(1000)
    assert rig.state() == "melting"
    rig.one_pass(1000)
    rig.one_pass()
    assert STOP_KEYS[rig.app.sequencer.stop_code] == "loop_slow"


def _beats(rig, factor, seconds):
    """A host whose clock runs `factor` times as fast beats every 10 s."""
    host_ms = 5000
    for _ in range(seconds // 10):
        assert rig.ask("beat", int(host_ms)).name == "ok"
        passed_ms = rig.clock.now
        rig.run(8)
        host_ms += (rig.clock.now - passed_ms + 2000) * factor


def test_a_clock_that_runs_wrong_is_told_and_the_next_batch_does_not_begin():
    """4 % within 80 s, 1.5 % within 320 s, 0.7 % is nothing; a batch under way goes on."""
    for factor, seconds, apart in (
        (1.02, 280, False), (1.015, 320, True), (0.985, 320, True), (1.007, 700, False),
        (0.993, 700, False), (1.035, 80, True), (0.965, 80, True), (1.025, 80, False),
    ):  # fmt: skip
        rig = Rig()
        rig.run(2)
        _beats(rig, factor, seconds)
        assert bool(rig.app.watch.clock_permille) == apart, factor
    rig = Rig()
    rig.run(2)
    _beats(rig, 1.04, 200)
    assert -45 <= rig.app.watch.clock_permille <= -35
    assert _events(rig, "warned")[0][0] == STOP_KEYS.index("clock_off")
    answer = rig.ask("ask_start", rig.load())
    assert (answer.name, answer.get("words")[:26]) == ("no", "the rig's clock runs wrong")


def test_five_good_minutes_clear_a_doubt_of_the_clock_and_a_minute_does_not():
    """A host whose clock was set meanwhile."""
    rig = Rig()
    rig.run(2)
    _beats(rig, 1.04, 80)
    assert rig.app.watch.clock_permille
    rig.run(30)  # a hole: the next beat begins anew
    _beats(rig, 1.0, 200)
    assert rig.app.watch.clock_permille
    _beats(rig, 1.0, 330)
    assert rig.app.watch.clock_permille == 0
    assert len(_events(rig, "warned")) == 1


def test_a_host_that_slept_says_nothing_about_the_clock():
    """A hole between two beats is the host's."""
    rig = Rig()
    rig.run(2)
    for at_ms in (1000, 2000, 3000):
        rig.ask("beat", at_ms)
        rig.run(40)
    assert rig.app.watch.clock_permille == 0


# The fan.


def _fan(fall_part, seconds=900):
    """2 kg at 44 degC in 21, full fan, falling by a part of what is described."""
    check = FanCheck(RigConfig(**BENCH))
    check.begin(2000)
    product_c, told_s = 44.0, 0
    for second in range(seconds):
        if check.second(int(1000 * product_c), 21000, 1000) and not told_s:
            told_s = second
        product_c -= fall_part * 5.0 * (product_c - 21.0) / (2 * 2000.0 + 500)
    return told_s


def test_a_fan_that_does_not_turn_is_told_and_a_weak_one_is_not():
    """Still air alone is a fifth of the described loss; at half of it the fan does turn."""
    assert 100 < _fan(0.2) < 400
    assert _fan(0.5) == _fan(1.0) == 0


# Checks that a description switches off.


def test_checks_that_are_off_cost_all_heat_but_20_w_and_are_told():
    """Written down at boot and at each start; 20 of 100 W in a batch."""
    rig = Rig(plant=Plant(), checks_off=limits.OFF_STOP_PROOF, is_proven=False)
    rig.start()
    rig.run(1)
    assert _events(rig, "checks_off") == [(1, 0), (1, 0)]
    assert rig.app.interlocks.heat_limit_permille == 200
    assert kinds(rig).count("proven") == 0


# Description and program.


def _line(heater_w=100):
    return RigConfig(**dict(BENCH, heater_w=heater_w)).to_text()


def _refused(texts):
    try:
        slots.newest(texts)
    except ConfigRefused as refusal:
        return refusal.reason
    return ""


def test_the_newest_whole_slot_counts():
    """Whichever place it has; a damaged or missing one leaves the other."""
    old, new = slots.to_slot(9, _line(60)), slots.to_slot(10, _line(80))
    for pair, heater_w in (((old, new), 80), ((new, old), 80), ((old, None), 60)):
        assert slots.newest(pair).heater_w == heater_w
    assert slots.newest((old, new[:-1])).heater_w == 60
    assert _refused((None, "")) == "the rig's description is missing or damaged"
    twin = slots.to_slot(10, _line(60))
    assert _refused((new, twin)) == "two descriptions of the same age differ"


def test_every_bit_and_cut_of_a_slot_is_noticed():
    """No damaged slot is taken for a rig."""
    text = slots.to_slot(3, _line())
    for at in range(len(text)):
        assert _refused((text[:at], None))
        for bit in range(7):
            flipped = text[:at] + chr(ord(text[at]) ^ (1 << bit)) + text[at + 1 :]
            assert _refused((flipped, None)), flipped


def test_a_damaged_file_of_the_program_is_named():
    """Every file of the list is summed; a missing list, or one of its files, is not trusted."""
    files = {"rigfw/app.mpy": b"app", "rigfw/limits.mpy": b"limits"}
    text = codelist.to_text([(name, crc_hex(files[name])) for name in sorted(files)])

    def crc_of(name):
        return crc_hex(files[name]) if name in files else None

    assert codelist.why_unfit(text, crc_of) == ""
    files["rigfw/limits.mpy"] = b"limitz"
    assert codelist.why_unfit(text, crc_of).startswith("rigfw/limits.mpy is damaged")
    del files["rigfw/limits.mpy"]
    assert codelist.why_unfit(text, crc_of).startswith("rigfw/limits.mpy is damaged")
    for bad in (None, "", text[:-1], text.replace("app", "apq"), "code|1|00000000"):
        assert "missing or damaged" in codelist.why_unfit(bad, crc_of), bad
