"""What is fitted to the Pico: every kind of probe, display, tachometer, sense, taps, console."""

import importlib

import pytest

from fw_onewire import Chip, rom_of
from rigfw.drivers import probe as probes
from rigfw.numbers import LOCKED, MELTING, OFF
from rigfw.outputs import Outputs
from rigwire.messages import MISSING_MC
from rigwire.views import STOP_KEYS

WIRE = f"ds18b20,{rom_of(1).hex()},0,0"
NTC = "ntc,1,10000,32554,10000,3606,0,0"
BETA = "ntc_beta,3,10000,10000,3977,0,0"
PT100 = "pt100,1,430,3,50,0,0"
PT1000 = "pt1000,2,4300,4,60,250,0"


def _read_by(bench, text):
    """What the chocolate probe of this description reads after two seconds."""
    bench.describe([text, "-", "-", "-"], has_plate=0)
    _, app = bench.run()
    assert app.sequencer.state_no == OFF, app.lock_words
    return app.readings.product_mc, app.readings.product_at_ms


@pytest.mark.parametrize(
    ("text", "expected_mc"),
    [(WIRE, 31000), (NTC, 30000), (BETA, 29900), (PT100, 30000), (PT1000, 30250)],
)
def test_each_kind_of_probe_reads_through_the_whole_board(bench, text, expected_mc):
    """30 degC at each channel of the bench, 31 on the bus; the value is younger than 2 s."""
    bench.wire.chips = [Chip(rom_of(1))] if text == WIRE else []
    value_mc, at_ms = _read_by(bench, text)
    assert abs(value_mc - expected_mc) < 25, value_mc
    assert 0 < bench.now_ms - at_ms < 2000


def test_kinds_may_be_mixed(bench):
    """Chocolate by platinum, plate by thermistor, sample on the bus."""
    bench.wire.chips = [Chip(rom_of(1))]
    bench.describe([PT100, NTC, "-", WIRE])
    _, app = bench.run()
    found = (app.readings.product_mc, app.readings.plate_mc, app.readings.sample_mc)
    assert [abs(a - b) < 25 for a, b in zip(found, (30000, 30000, 31000), strict=True)] == [
        True
    ] * 3
    assert app.readings.room_mc == MISSING_MC


def test_a_broken_thermistor_is_missing_and_said_once(bench, capsys):
    """Full scale at its pin: no value, one line for the console."""
    bench.counts[26] = 65535
    bench.is_host_reading = True
    assert _read_by(bench, NTC)[0] == MISSING_MC
    assert capsys.readouterr().out.count("chocolate probe: " + probes.WHY[probes.OPEN]) == 1


def test_an_unlisted_device_at_boot_locks_the_rig(bench, capsys):
    """Its number is in the words, and all numbers are printed for the person."""
    bench.wire.chips = [Chip(rom_of(1)), Chip(rom_of(9))]
    bench.describe([WIRE, "-", "-", "-"], has_plate=0)
    _, app = bench.run()
    assert app.sequencer.state_no == LOCKED
    assert app.lock_words == "not in the list of probes: " + rom_of(9).hex()
    assert STOP_KEYS[app.sequencer.stop_code] == "probe_unknown"
    printed = capsys.readouterr().out
    for number in (1, 9):
        assert "on the probes' bus: " + rom_of(number).hex() in printed


def test_a_forgotten_probe_on_the_bus_locks_a_rig_that_uses_no_bus(bench):
    """Platinum in the chocolate, and a DS18B20 that nobody listed: found at boot."""
    bench.wire.chips = [Chip(rom_of(9))]
    bench.describe([PT100, "-", "-", "-"], has_plate=0)
    _, app = bench.built()
    assert app.lock_words == "not in the list of probes: " + rom_of(9).hex()


def test_a_device_that_comes_in_a_batch_locks_only_after_it(bench):
    """In a step it is left alone; as soon as the rig is off, it is locked."""
    bench.wire.chips = [Chip(rom_of(1))]
    bench.describe([WIRE, "-", "-", "-"], has_plate=0)
    board, app = bench.run()
    main = importlib.import_module("rigfw.pico.main")
    bench.wire.chips.append(Chip(rom_of(9)))
    for now_ms in range(3000, 7000, 250):
        board.read_probes(app.readings, now_ms)
    app.sequencer.state_no = MELTING
    main._lock_if_unfit(board, app)
    assert app.sequencer.state_no == MELTING
    app.sequencer.state_no = OFF
    main._lock_if_unfit(board, app)
    assert app.sequencer.state_no == LOCKED
    assert rom_of(9).hex() in app.lock_words
    assert STOP_KEYS[app.sequencer.stop_code] == "probe_unknown"


def test_the_loop_itself_looks_for_such_a_device(bench):
    """In off: within the seconds that a search of the bus takes, without any call from here."""
    bench.wire.chips = [Chip(rom_of(1))]
    bench.describe([WIRE, "-", "-", "-"], has_plate=0)
    bench.at_ms[1000] = lambda: bench.wire.chips.append(Chip(rom_of(9)))
    bench.ends_ms = 8000
    _, app = bench.run()
    assert app.sequencer.state_no == LOCKED


def test_both_converters_are_quiet_before_the_first_word_on_their_bus(bench):
    """Select pins high; a list without platinum never touches them."""
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    bench.built()
    assert not {21, 13} & set(bench.levels)
    bench.describe([PT100, "-", "-", "-"], has_plate=0)
    bench.built()
    assert (bench.levels[21], bench.levels[13]) == (1, 1)


def test_the_display_shows_within_a_few_seconds(bench):
    """Eight pages cleared, then drawn: after 8 s its memory is not blank."""
    bench.ends_ms = 8000
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    bench.run()
    assert bench.display.is_on
    assert any(bench.display.memory) and bench.display.memory[:4] != b"\xaa\xaa\xaa\xaa"


def test_without_a_display_nothing_changes(bench):
    """It does not answer: every pass is made, no fault, the rig is off and ready to be asked."""
    bench.display.is_there = False
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    _, app = bench.run()
    assert bench.did.count(("fed",)) == 8
    assert app.sequencer.state_no == OFF


@pytest.mark.parametrize("broken", ["show", "step"])
def test_a_mistake_in_the_display_is_no_fault_of_the_batch(bench, broken, capsys):
    """Whatever is raised: the display is given up, the passes go on."""
    bench.is_host_reading = True
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    screen = importlib.import_module("rigfw.drivers.screen").Screen
    kept = vars(screen)[broken]
    setattr(screen, broken, lambda *_: 1 / 0)
    try:
        board, app = bench.run()
    finally:
        setattr(screen, broken, kept)
    assert (app.sequencer.state_no, app.sequencer.stop_code) == (OFF, 0)
    assert board._screen is None
    assert bench.did.count(("fed",)) == 8
    assert "display given up: ZeroDivisionError" in capsys.readouterr().out


def test_the_tachometer_counts_by_interrupt(bench):
    """One edge each 500 ms, one a turn: 120 rpm; without the option no interrupt is set."""
    bench.describe([NTC, "-", "-", "-"], has_plate=0, has_tacho=1)
    bench.ends_ms = 5000
    for at_ms in range(500, 5000, 500):
        bench.at_ms[at_ms] = lambda: bench.on_edge[9](None)
    board, _ = bench.run()
    assert board.stirrer_rpm == 120


def test_without_a_tachometer_its_pin_is_left_alone(bench):
    """No interrupt, and the speed is unknown."""
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    board, _ = bench.run()
    assert (bench.on_edge, board.stirrer_rpm) == ({}, -1)


def test_the_heater_node_is_read_where_it_is_wired(bench):
    """Live or not, as of the pass before."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard(has_sense=True)
    inputs = importlib.import_module("rigfw.readings").Inputs()
    for level in (1, 0):
        bench.levels[14] = level
        made.inputs(inputs)
        assert made.heater_live == level


@pytest.mark.parametrize(
    ("name", "pin", "on_level"),
    [
        ("start_down", 16, 0), ("pedal_down", 17, 0), ("bowl_present", 18, 0),
        ("stop_open", 19, 0), ("heater_live", 14, 1),
    ],
)  # fmt: skip
def test_each_contact_reaches_the_logic_as_it_comes_and_goes(bench, name, pin, on_level):
    """On, off, on, off: what a pass sees is its pin, whatever the pass before saw."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard(has_sense=True)
    inputs = importlib.import_module("rigfw.readings").Inputs()
    for is_on in (1, 0, 1, 0):
        bench.levels[pin] = on_level if is_on else 1 - on_level
        made.inputs(inputs)
        assert getattr(inputs, name) == is_on


@pytest.mark.parametrize(
    ("name", "pin"), [("start_down", 16), ("pedal_down", 17), ("stop_open", 19)]
)
def test_a_touch_between_two_passes_is_seen_by_the_next(bench, name, pin):
    """In two looks of the time between; for one pass."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard()
    inputs = importlib.import_module("rigfw.readings").Inputs()
    bench.levels[pin] = 1
    made.inputs(inputs)
    for level in (0, 0, 1):
        bench.levels[pin] = level
        made.sample()
    for expected in (1, 0):
        made.inputs(inputs)
        assert getattr(inputs, name) == expected


def test_a_stirrer_turns_from_the_first_turn_a_minute_on(bench):
    """Unknown and still are not turning; and it is seen to stop."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard()
    inputs = importlib.import_module("rigfw.readings").Inputs()
    for rpm, expected in ((-1, 0), (1, 1), (0, 0), (120, 1), (-1, 0)):
        made.stirrer_rpm = rpm
        made.inputs(inputs)
        assert inputs.stir_turning == expected


def test_a_node_that_is_not_described_is_not_read(bench):
    """Whatever its pin has: only the description says that something is wired to it."""
    for has_sense, expected in ((0, -1), (1, 1)):
        bench.describe([NTC, "-", "-", "-"], has_plate=0, has_sense=has_sense)
        bench.levels[14] = 1
        board, app = bench.built()
        board.inputs(app.inputs)
        assert board.heater_live == expected


def test_a_tap_between_two_passes_reaches_the_logic(bench):
    """60 ms in the middle of a pass: down for the pass that follows, and for no other."""
    bench.describe([NTC, "-", "-", "-"], has_plate=0)
    seen = []
    for at_ms in (1010, 1260, 1510):
        bench.at_ms[at_ms] = lambda: seen.append(bench.made[1].inputs.start_down)
    bench.at_ms[1090] = lambda: bench.levels.update({16: 0})
    bench.at_ms[1150] = lambda: bench.levels.update({16: 1})
    bench.run()
    assert seen == [0, 1, 0]


def test_outputs_follow_the_demand_and_go_off(bench):
    """Each output's own level at its own pin; PWM of full is a standing level."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard()
    wanted = Outputs()
    wanted.heat_on = wanted.enable_edge = wanted.buzzer = wanted.lamp = 1
    wanted.fan_permille, wanted.stir_permille = 1000, 250
    made.write(wanted)
    levels = {number: bench.levels[number] for number in (6, 7, 8, 10, 11, 12)}
    assert levels == {6: 1, 7: 1, 8: 65535, 10: 1, 11: 1, 12: 16383}
    made.all_off()
    assert {bench.levels[number] for number in levels} == {0}


def test_words_for_the_console_never_tear_a_frame(bench, capfdbinary):
    """In the middle of a frame there is no room for a line; after its end there is."""
    port = importlib.import_module("rigfw.pico.port").Port()
    port.writable = lambda: True
    port.write(b'["status",1')
    assert not port.can_tell()
    port.write(b"] 0000\n")
    assert port.can_tell()
    port.tell("x" * 200)
    assert capfdbinary.readouterr().out.endswith(b"\n" + b"x" * 63 + b"\n")


def test_a_restart_turns_all_off_itself(bench):
    """Whatever was on: every output is 0 before the reset."""
    made = importlib.import_module("rigfw.pico.board").PicoBoard()
    for number in (6, 7, 8, 10, 11, 12):
        bench.levels[number] = 1
    made.restart()
    assert [bench.levels[number] for number in (6, 7, 8, 10, 11, 12)] == [0] * 6
    assert bench.did[-1] == ("reset",)
