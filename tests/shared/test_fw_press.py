"""The start button: which press, of what length, begun when, does what."""

from fw_fakes import Rig, kinds
from rigfw.display import lines
from rigwire.schedule import Schedule, Step
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOP_KEYS

PRESSES = (
    # held_s, what the rig does in the start window
    (0.25, "ready"),
    (0.75, "ready"),
    (1.0, "melting"),
    (1.5, "melting"),
    (3.0, "melting"),
    (3.25, "ready"),
    (8.0, "ready"),
)


def _ready():
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"
    assert rig.state() == "ready"
    return rig


def test_only_a_press_of_one_to_three_seconds_starts():
    """Each row of the table of presses ends in its state."""
    for held_s, after in PRESSES:
        rig = _ready()
        rig.press(held_s)
        assert rig.state() == after, (held_s, rig.state())


def test_heat_follows_the_press_and_never_comes_before_it():
    """Not one pass heats before the button is let go; then the cold bowl is heated."""
    rig = _ready()
    rig.board.start_down = 1
    for _ in range(8):
        rig.one_pass()
        assert (rig.board.heat_on, rig.board.enable_edge) == (0, 0)
    rig.board.start_down = 0
    rig.run(3)
    assert rig.board.heat_on == 1


def test_a_press_begun_before_the_request_does_not_start():
    """The button is down when the host asks, and let go 1.5 s later: no start."""
    rig = Rig()
    rig.run(2)
    digest = rig.load()
    rig.board.start_down = 1
    rig.one_pass()
    assert rig.ask("ask_start", digest).name == "ok"
    rig.board.start_down = 0
    rig.one_pass()
    assert rig.state() == "ready"
    rig.press(1.5)
    assert rig.state() == "melting"


def test_a_second_request_makes_an_older_press_stale():
    """A press begun in the window does not count for a request that came during it."""
    rig = _ready()
    rig.board.start_down = 1
    rig.one_pass()
    assert rig.ask("ask_start", rig.app.desk.upload.digest).name == "ok"
    rig.board.start_down = 0
    rig.one_pass()
    assert rig.state() == "ready"


def test_a_button_down_at_boot_is_not_a_press():
    """Held since power-up, let go in the window: nothing starts and no press is noted."""
    rig = Rig()
    rig.board.start_down = 1
    rig.run(2)
    digest = rig.load()
    assert rig.ask("ask_start", digest).name == "ok"
    rig.board.start_down = 0
    rig.run(1)
    assert rig.state() == "ready"
    assert "press" not in kinds(rig)


def test_the_window_closes_after_180_s():
    """Open at 179.5 s, closed at 180.25 s after it opened, and then a press does nothing."""
    rig = _ready()
    opened_ms = next(row[0] for row in rig.events() if EVENT_NAMES[row[1]] == "window")
    while rig.clock.diff(rig.clock.now, opened_ms) < 179500:
        rig.one_pass()
    assert rig.state() == "ready"
    rig.run(0.75)
    assert rig.state() == "off"
    rig.press(1.5)
    assert rig.state() == "off"


def test_only_the_digest_named_can_be_asked_for():
    """Another digest, or none held, is refused and opens nothing."""
    rig = Rig()
    rig.run(2)
    assert rig.ask("ask_start", "00000000").get("code") == "digest"
    rig.load()
    assert rig.ask("ask_start", "00000000").get("code") == "digest"
    assert rig.state() == "off"


def test_no_upload_can_slip_in_between_request_and_press():
    """While the window is open, every message of an upload is refused."""
    rig = _ready()
    assert rig.ask("load_open", 10, "00000000").get("code") == "busy"
    assert rig.ask("load_part", 0, "1").get("code") == "busy"
    assert rig.ask("load_done", "00000000").get("code") == "busy"


def test_a_press_that_clears_a_stop_never_starts():
    """Stop loop opens in the window; closed again, a start-long press only clears."""
    rig = _ready()
    rig.board.stop_open = 1
    rig.one_pass()
    assert rig.state() == "stopped"
    rig.board.stop_open = 0
    rig.press(1.5)
    assert rig.state() == "off"
    rig.press(1.5)
    assert rig.state() == "off"


def test_a_stop_cannot_be_cleared_while_its_cause_lasts():
    """With the stop loop still open a press leaves the stop latched."""
    rig = _ready()
    rig.board.stop_open = 1
    rig.one_pass()
    rig.press(0.5)
    assert rig.state() == "stopped"
    assert rig.app.sequencer.stop_code == 7


def test_off_from_the_host_does_not_unlatch_a_stop():
    """`off` is answered ok in `stopped`, and the stop stays."""
    rig = _ready()
    rig.board.stop_open = 1
    rig.one_pass()
    assert rig.ask("off").name == "ok"
    assert rig.state() == "stopped"


def test_a_short_press_answers_and_a_long_one_turns_off():
    """In a batch 0.5 s answers the waiting prompt; 3 s turns all off while still held."""
    rig = Rig()
    rig.board.product_mc = rig.board.plate_mc = 48000
    rig.start()
    rig.run(1)
    assert rig.app.sequencer.prompt_no == 1
    rig.press(0.5)
    assert rig.app.sequencer.prompt_no == 0
    rig.board.start_down = 1
    rig.run(3)
    assert rig.state() == "melting"
    rig.one_pass()
    assert rig.state() == "off"
    rig.board.start_down = 0
    rig.run(1)
    assert rig.state() == "off"
    assert rig.board.stir_permille == 0


def test_a_stuck_button_locks_the_rig():
    """Down for 60 s without being let go: locked, and a request says why."""
    rig = Rig()
    rig.run(2)
    digest = rig.load()
    rig.board.start_down = 1
    rig.run(60)
    assert rig.state() == "off"
    rig.run(0.5)
    assert rig.state() == "locked"
    shown = rig.board.shown
    assert (STOP_KEYS[shown.stop_code], lines(shown)[1]) == (
        "button_stuck",
        "the start button is stuck",
    )
    assert rig.ask("ask_status").get("stop_code") == 19
    refusal = rig.ask("ask_start", digest)
    assert (refusal.get("code"), refusal.get("words")) == (
        "locked",
        "the rig is locked: the start button is stuck",
    )


def test_the_start_is_refused_while_the_rig_is_not_in_order():
    """No bowl, an open stop loop, no reading: each has its own words and opens nothing."""
    for field, value, words in (
        ("bowl_present", 0, "there is no bowl on the plate"),
        ("stop_open", 1, "the stop button is pressed or its wire is open"),
        ("product_mc", -300000, "the chocolate probe gives no good reading"),
        ("product_mc", 62000, "the chocolate is hotter than this rig may have"),
        ("plate_mc", 71000, "the plate probe gives no good reading or is too hot"),
    ):
        rig = Rig()
        rig.run(2)
        digest = rig.load()
        setattr(rig.board, field, value)
        rig.run(1)
        assert rig.ask("ask_start", digest).get("words") == words
        assert rig.state() == "off"


def test_chocolate_too_warm_to_be_in_temper_is_not_taken_for_it():
    """Said to be in temper with a wall limit of 34: 34.0 is taken, 34.0625 is not."""
    work = Step("work", 31500, 1200, 1000, 34000)
    for product_mc, state in ((34000, "ready"), (34062, "off")):
        rig = Rig(schedule=Schedule("Lantern 72", "kept", "in_temper", 2000, 55000, [work]))
        rig.board.product_mc = rig.board.plate_mc = product_mc
        rig.run(2)
        answer = rig.ask("ask_start", rig.load())
        assert rig.state() == state
    assert answer.get("words") == (
        "the chocolate is too warm to be in temper: melt it and begin anew"
    )


def test_the_press_starts_nothing_when_the_bowl_was_taken_meanwhile():
    """In order when asked, bowl gone when pressed: the window stays open, nothing heats."""
    rig = _ready()
    rig.board.bowl_present = 0
    rig.press(1.5)
    assert rig.state() == "ready"
