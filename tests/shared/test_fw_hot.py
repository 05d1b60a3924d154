"""A bowl fed hot, and chocolate hotter than its schedule allows."""

from fw_fakes import Plant, Rig, seeded_dark
from rigwire.schedule import Schedule, Step, digest, to_body


def _fed_hot(first="cool", work_mc=31500):
    step = Step(first, 33500 if first == "cool" else 50000, 0, 20000, 60000)
    return Schedule(
        "Lantern 72",
        "seeded",
        "hot",
        2000,
        60000,
        [step, Step("work", work_mc, 600, 1000, max(34000, work_mc))],
    )


def _answers(schedule, product_mc):
    rig = Rig(schedule=schedule)
    rig.board.product_mc = rig.board.plate_mc = product_mc
    rig.run(2)
    rig.load()
    return rig, rig.ask("ask_start", digest(rig.body))


def test_chocolate_over_its_schedules_ceiling_is_refused_unless_it_says_hot():
    """58 degC under a ceiling of 55: refused in words; as a bowl fed hot it may start."""
    rig, answer = _answers(seeded_dark(), 58000)
    assert answer.get("code") == "not_in_order" and rig.state() == "off"
    rig, answer = _answers(_fed_hot(), 58000)
    assert answer.name == "ok" and rig.state() == "ready"


def test_a_schedules_own_ceiling_counts_below_the_rigs():
    """52 degC on a rig that may have 55, in a schedule that may have 50: refused."""
    step = Step("cool", 29000, 0, 20000, 50000)
    schedule = Schedule("Ferry Milk 48", "cooled", "liquid", 2000, 50000, [step])
    _rig, answer = _answers(schedule, 52000)
    assert answer.get("code") == "not_in_order"
    _rig, answer = _answers(schedule, 50000)
    assert answer.name == "ok"


def test_sixty_degrees_is_the_end():
    """60.1 degC is refused for a bowl fed hot, too."""
    _rig, answer = _answers(_fed_hot(), 60100)
    assert answer.get("code") == "not_in_order"


def test_a_hot_bowl_cools_without_heat_and_without_a_stop():
    """From 58 degC to work: no heat above the rig's 55, no stop, lands in the window."""
    plant = Plant(start_c=58.0)
    rig = Rig(schedule=_fed_hot(), plant=plant)
    rig.start()
    while rig.board.product_mc > 55000:
        rig.one_pass()
        assert rig.board.heat_on == 0
    rig.run_until(lambda one: one.state() == "working", 5400)
    rig.run(300)
    assert rig.state() == "working" and 31000 <= rig.board.product_mc <= 32000


def test_a_hot_bowl_does_not_begin_with_heat():
    """First step melt: refused. A target over the rig's own ceiling: refused."""
    for schedule, code in (
        (
            Schedule("a", "seeded", "hot", 2000, 60000, [Step("melt", 48000, 0, 900, 60000)]),
            "schedule",
        ),
        (_fed_hot(work_mc=55500), "ceiling"),
    ):
        rig = Rig()
        body = to_body(schedule)
        rig.ask("load_open", len(body), digest(body))
        for at in range(0, len(body), 60):
            rig.ask("load_part", at, body[at : at + 60].decode())
        assert rig.ask("load_done", digest(body)).get("code") == code
