"""What opens with a start window and what the one press in it begins, call by call."""

from fw_fakes import FakeKeep, Rig, cooled_dark, seeded_dark
from rigfw.kept import Kept, Progress

TEST = (300, 0, 400, 60000, 60)


def _asked(name, **changes):
    """A rig of which a start or a test was asked just now, a button down if `is_down`."""
    is_down = changes.pop("is_down", 0)
    rig = Rig(schedule=changes.pop("schedule", None), **changes)
    rig.run(2)
    values = TEST if name == "ask_test" else (rig.load(),)
    rig.board.start_down = is_down
    rig.run(is_down)
    assert rig.ask(name, *values).name == "ok"
    return rig


def test_a_press_under_way_begins_neither_batch_nor_test():
    """Down before the request, let go in the window; the next press begins it."""
    for name, begun in (("ask_start", "melting"), ("ask_test", "testing")):
        rig = _asked(name, is_down=1)
        rig.board.start_down = 0
        rig.run(1)
        assert rig.state() == "ready", name
        rig.press(1.5)
        assert rig.state() == begun


def test_a_window_that_opens_is_heard():
    """The buzzer sounds for half a second."""
    for name in ("ask_start", "ask_test"):
        rig = Rig()
        rig.run(2)
        app = rig.app
        if name == "ask_start":
            app.windows.open_start(rig.schedule)
        else:
            app.windows.open_test(*TEST)
        seen = []
        for _ in range(4):
            rig.one_pass()
            seen.append(rig.board.buzzer)
        assert seen == [1, 1, 0, 0], name


def test_the_switches_are_tried_before_a_test_as_before_a_batch():
    """Where the node is sensed: the relay first, right after the press."""
    for name in ("ask_start", "ask_test"):
        rig = _asked(name, has_sense=1)
        assert not rig.app.drive.proof.tries_relay()
        rig.press(1.25)
        assert rig.app.drive.proof.tries_relay(), name


def _softness(schedule, progress=None):
    """Whether the stirrer may turn at once: of a batch, or of one that is carried on."""
    keep = FakeKeep()
    rig = Rig(schedule=schedule, keep=keep)
    name = rig.load()
    if progress:
        Kept(keep).keep_progress(Progress(name, progress, 0, 0, 0, 33500))
        rig = Rig(schedule=schedule, keep=keep)
        rig.board.product_mc = rig.board.plate_mc = 33500
        rig.run(3)
    else:
        rig.run(2)
        assert rig.ask("ask_start", name).name == "ok"
    rig.press(1.5)
    assert rig.state() not in ("ready", "off")
    return rig.app.drive._soft


def test_the_stirrer_waits_for_blocks_in_the_melt_of_a_solid_batch_alone():
    """Not in one that began liquid, nor in a later step that is carried on."""
    for start_state, progress, expected in (
        ("solid", None, 0), ("liquid", None, 1), ("solid", 4, 1), ("liquid", 4, 1),
    ):  # fmt: skip
        schedule = seeded_dark()
        schedule.start_state = start_state
        assert _softness(schedule, progress) == expected, (start_state, progress)
    schedule = cooled_dark()
    schedule.start_state = "solid"
    assert _softness(schedule) == 0


def test_the_rigs_own_offer_is_kept_by_no_host_that_was_there_before():
    """One that said so just before it, and is silent: the offer stands longer than its word."""
    rig = Rig(keep=FakeKeep())
    name = rig.load()
    rig.run(2)
    rig.app.testing.keep_window()
    rig.app.windows.offer(Progress(name, 1, 0, 0, 0, 30000))
    rig.run(10)
    assert rig.state() == "ready"
