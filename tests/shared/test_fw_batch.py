"""Whole batches on a lumped plant (simulated, no crystals): every landing within 0.3 K."""

from fw_fakes import Plant, Rig, cooled_dark, seeded_dark
from rigwire.tables import EVENT_NAMES

OVERSHOOT_C = 0.3


class _Watch:
    """Extremes of the chocolate's true temperature, step by step."""

    def __init__(self):
        self.highest = {}
        self.lowest = {}
        self.wall = {}

    def look(self, rig):
        step_no = rig.app.sequencer.step_no
        value = rig.plant.product_c
        self.highest[step_no] = max(self.highest.get(step_no, value), value)
        self.lowest[step_no] = min(self.lowest.get(step_no, value), value)
        self.wall[step_no] = max(self.wall.get(step_no, 0.0), rig.plant.plate_c)


def _batch(schedule, plant, seed_g=0, **changes):
    rig = Rig(schedule=schedule, plant=plant, attended_limit_s=14400, **changes)
    rig.start()
    watch = _Watch()
    for _ in range(4 * 3 * 3600):
        rig.one_pass()
        watch.look(rig)
        waiting = rig.app.sequencer.prompt_no == 2
        if seed_g and waiting and rig.app.sequencer.wait_ms < 585000:
            plant.add(seed_g, 20.0)
            seed_g = 0
        if rig.state() in ("finished", "stopped"):
            break
    assert rig.state() == "finished"
    assert rig.faults == []
    return rig, watch


def _check_landings(rig, watch):
    """No step passes its target by more than OVERSHOOT_C on its far side."""
    came_from = 0.0
    for at, step in enumerate(rig.schedule.steps):
        target_c = step.target_mc / 1000
        if target_c >= came_from:
            assert watch.highest[at + 1] <= target_c + OVERSHOOT_C, (at + 1, watch.highest)
        else:
            assert watch.lowest[at + 1] >= target_c - OVERSHOOT_C, (at + 1, watch.lowest)
        came_from = target_c


def test_a_cooled_dark_batch_lands_within_0_3_k():
    """Melt 48, low 28, rewarm 31.5, work: bulk never past 31.8 in rewarm, wall under 34."""
    rig, watch = _batch(cooled_dark(), Plant(start_c=30.0))
    _check_landings(rig, watch)
    assert max(watch.wall[3], watch.wall[4]) < 34.0
    assert watch.highest[3] < 31.5 + OVERSHOOT_C
    assert watch.highest[4] < 31.5 + OVERSHOOT_C


def test_a_seeded_dark_batch_lands_within_0_3_k_and_notices_the_seed():
    """Seed 120 g at 20 degrees is noticed by its dip; from then on it never climbs back."""
    rig, watch = _batch(seeded_dark(), Plant(start_c=30.0), 120)
    answered = [row[2:] for row in rig.events() if EVENT_NAMES[row[1]] == "answered"]
    assert (2, 3) in answered
    assert watch.lowest[4] > 31.5 - OVERSHOOT_C
    assert watch.highest[5] < 33.0
    assert abs(watch.highest[6] - 31.5) < OVERSHOOT_C
    assert abs(watch.lowest[6] - 31.5) < OVERSHOOT_C


def test_the_last_degrees_of_cooling_are_gentle():
    """Within 2.3 K of the low point no minute falls by more than 0.55 K."""
    plant = Plant(start_c=40.0)
    rig = Rig(schedule=cooled_dark(), plant=plant, attended_limit_s=14400)
    rig.start()
    rig.run_until(lambda one: one.state() == "cooling", 3600)
    rig.run_until(lambda one: plant.product_c < 30.3, 3600)
    before_c = plant.product_c
    minutes = 0
    while not rig.app.sequencer.reached:
        rig.run(60)
        assert before_c - plant.product_c <= 0.55
        before_c = plant.product_c
        minutes += 1
    assert minutes >= 4


def test_landings_hold_without_a_plate_probe_and_on_a_relay():
    """The plate is guessed from its heat balance; switching is 10 s windows of 2 s at least."""
    for changes in (
        {"has_plate": 0},
        {"min_on_ms": 2000, "min_off_ms": 2000, "fan_min_ms": 5000},
    ):
        rig, watch = _batch(cooled_dark(), Plant(start_c=40.0), **changes)
        _check_landings(rig, watch)


def test_landings_hold_on_rigs_that_differ_from_their_description():
    """Loss half and 1.6 times, probe lag half and double, 0.5 and 6 kg, a room of 25."""
    for plant in (
        Plant(start_c=42.0, loss_w_per_k=0.5),
        Plant(start_c=42.0, loss_w_per_k=1.6),
        Plant(start_c=42.0, lag_s=4.0),
        Plant(start_c=42.0, lag_s=16.0),
        Plant(start_c=42.0, room_c=25.0),
    ):
        rig, watch = _batch(cooled_dark(), plant)
        _check_landings(rig, watch)
    for mass_g in (500, 6000):
        rig, watch = _batch(cooled_dark(mass_g), Plant(mass_g, start_c=42.0))
        _check_landings(rig, watch)


def test_crystal_heat_in_work_is_carried_off():
    """12 W of crystal heat, more than the loss: 0.45 K at most, within 0.2 K after 20 min."""
    plant = Plant(start_c=31.0)
    schedule = cooled_dark()
    schedule.steps = schedule.steps[3:]
    schedule.steps[0].hold_s = 3600
    rig = Rig(schedule=schedule, plant=plant, attended_limit_s=14400)
    rig.start()
    rig.run(120)
    plant.extra_w = 12.0
    highest_c = 0.0
    fan_seen = 0
    for _ in range(4 * 1200):
        rig.one_pass()
        fan_seen = max(fan_seen, rig.board.fan_permille)
        highest_c = max(highest_c, plant.product_c)
    assert highest_c < 31.5 + 0.45
    assert abs(plant.product_c - 31.5) < 0.2
    assert fan_seen > 0
