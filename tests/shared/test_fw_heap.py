"""Judge, step and write allocate nothing. On CPython the lock does nothing, the loop runs."""

try:
    from micropython import heap_lock, heap_unlock
except ImportError:

    def heap_lock():
        """CPython knows no lock."""

    def heap_unlock():
        """CPython knows no lock."""


from fw_fakes import FakeKeep, Plant, Rig, cooled_dark, kinds, seeded_dark
from rigfw.kept import Kept, Progress

PASSES = 1000


def _locked_pass(rig):
    """One pass with the heap locked around judge, step and write."""
    rig.clock.now = rig.clock.add(rig.clock.now, 250)
    if rig.plant:
        rig.plant.advance(rig.board, 0.25)
    app = rig.app
    app.read(rig.clock.now)
    heap_lock()
    try:
        app.judge()
        app.step()
    finally:
        heap_unlock()
    app.regulate()
    heap_lock()
    try:
        app.write()
    finally:
        heap_unlock()
    app.report()


def test_a_thousand_passes_of_a_heating_bowl_allocate_nothing():
    """Melting with a plant behind it: no MemoryError, still melting, and it got warmer."""
    rig = Rig(schedule=seeded_dark(), plant=Plant(start_c=30.0))
    rig.start()
    for _ in range(PASSES):
        _locked_pass(rig)
    assert rig.state() == "melting"
    assert rig.board.product_mc > 33000


def test_a_whole_short_schedule_allocates_nothing():
    """Every step, prompt, default, dip, pause, press and the end, under the lock."""
    schedule = seeded_dark()
    for step in schedule.steps:
        step.hold_s = min(step.hold_s, 20)
        step.wait_s = min(step.wait_s, 20)
    rig = Rig(schedule=schedule)
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    seen = set()
    for number in range(4000):
        _follow(rig)
        rig.board.pedal_down = 1 if number % 401 < 8 else 0
        rig.board.start_down = 1 if number % 307 < 2 else 0
        _locked_pass(rig)
        seen.add(rig.state())
        if rig.state() == "finished":
            break
    assert rig.state() == "finished"
    assert seen == {
        "melting",
        "resting",
        "cooling",
        "seeding",
        "working",
        "hands_in",
        "finished",
    }


def _follow(rig):
    """The bowl goes to the target by 0.1 K a pass, the plate a little ahead."""
    target_mc = rig.app.sequencer.target_mc
    board = rig.board
    if target_mc > 0:
        board.product_mc += max(-100, min(100, target_mc - board.product_mc))
        board.plate_mc = board.product_mc + 500


def test_withholding_and_every_stop_allocate_nothing():
    """Under the lock: silence, range, jump, heat, plate and stop loop end in `stopped`."""
    for field, value in (
        ("product_mc", -300000),
        ("product_mc", -5000),
        ("product_mc", 60000),
        ("plate_mc", 75000),
        ("plate_mc", -300000),
        ("stop_open", 1),
    ):
        rig = Rig(schedule=cooled_dark())
        rig.board.product_mc = rig.board.plate_mc = 44000
        rig.start()
        setattr(rig.board, field, value)
        for _ in range(40):
            _locked_pass(rig)
        assert rig.state() == "stopped", field


def test_a_test_with_leases_and_its_end_allocates_nothing():
    """Under the lock: press, leases, the end 5 s after the last, and hands that end another."""
    for bowl_present in (1, 0):
        rig = Rig()
        rig.run(2)
        assert rig.ask("ask_test", 500, 500, 400, 60000, 60).name == "ok"
        rig.press(1.5)
        assert rig.ask("lease", 500, 500, 400).name == "ok"
        for _ in range(8):
            _locked_pass(rig)
        assert rig.board.stir_permille == 400
        rig.board.bowl_present = bowl_present
        for _ in range(20):
            _locked_pass(rig)
        assert rig.state() == "off" and rig.board.stir_permille == 0


def test_offer_ladle_jump_and_seed_allocate_nothing():
    """Under the lock: the offer and its press, a jump by 3 K, a pause, a press for seed."""
    keep = FakeKeep()
    rig = Rig(schedule=seeded_dark(), keep=keep)
    progress = Progress(rig.load(), 4, 0, 0, 0, 33500)
    Kept(keep).keep_progress(progress)
    rig = Rig(schedule=seeded_dark(), keep=keep)
    rig.board.product_mc = rig.board.plate_mc = 33500
    seen = set()
    for number in range(400):
        rig.board.start_down = 1 if number in range(20, 26) or number in range(60, 62) else 0
        rig.board.product_mc = 36400 if number in range(120, 260) else 33500
        _locked_pass(rig)
        seen.add(rig.state())
    assert seen == {"ready", "seeding", "hands_in"}
    assert "carried_on" in kinds(rig) and rig.app.sequencer.seeded


def test_the_lock_does_lock():
    """On MicroPython a float sum under the lock fails; without this the others prove nothing."""
    import sys

    if sys.implementation.name != "micropython":
        return
    value = 1.5
    failed = False
    heap_lock()
    try:
        value = value * 1.1
    except MemoryError:
        failed = True
    finally:
        heap_unlock()
    assert failed


def test_doubts_shorts_and_stalls_allocate_nothing():
    """Under the lock while working: a stalled stirrer, a doubted probe, a live heater."""
    schedule = cooled_dark()
    schedule.steps = schedule.steps[3:]
    ends = {"stir_turning": "hands_in", "product_mc": "hands_in", "heater_live": "stopped"}
    for field, end in ends.items():
        rig = Rig(schedule=schedule, plant=Plant(start_c=31.0), has_tacho=1, has_sense=1)
        rig.start()
        for _ in range(200):
            _locked_pass(rig)
        assert rig.state() == "working"
        for number in range(400):
            if field == "stir_turning":
                rig.board.stir_turning = 0
            elif field == "heater_live":
                rig.board.heater_live = 1 - rig.board.heat_on
            else:
                rig.plant.probe_c = 31.0 - min(2.9, 0.02 * number)
            _locked_pass(rig)
        assert rig.state() == end, field
