"""Over a reset: what is kept, when the rig offers to carry on, and that only a press does."""

from fw_fakes import FakeKeep, Plant, Rig, cooled_dark, seeded_dark, unwitnessed
from rigfw import limits
from rigfw.kept import Kept, Progress
from rigfw.upload import Upload
from rigwire import messages, tables
from rigwire.frames import crc_hex
from rigwire.schedule import Schedule, Step, digest, to_body
from rigwire.tables import EVENT_NAMES
from rigwire.views import STOP_KEYS


def _kinds(rig):
    return [tables.EVENT_NAMES[row[1]] for row in rig.events()]


def _in_work(keep):
    """A seeded batch, 31.5 degC, some minutes into its work step."""
    plant = Plant(start_c=48.0)
    rig = Rig(plant=plant, keep=keep)
    rig.start()
    rig.run_until(lambda one: one.app.sequencer.prompt_no == 2, 7200)
    plant.add(120, 12.0)
    rig.run_until(lambda one: one.state() == "working", 3600)
    rig.run(400)
    return rig, plant


def _long_work():
    step = Step("work", 31500, 7200, 1000, 36000)
    return Schedule("Lantern 72", "kept", "in_temper", 2000, 55000, [step])


def _after_reset(keep, plant=None, product_mc=None):
    """The same board, started anew, once its probes have answered."""
    rig = Rig(plant=plant, keep=keep)
    if product_mc is not None:
        rig.board.product_mc = rig.board.plate_mc = product_mc
    rig.run(3)
    return rig


def _kept_in(step_no, product_mc, reached=1, held_s=60, seeded=0, start_mc=48000):
    """A rig that finds this progress at its start, with the chocolate at product_mc."""
    keep = FakeKeep()
    rig = Rig(keep=keep)
    rig.load()
    progress = Progress(digest(rig.body), step_no, reached, seeded, held_s, start_mc)
    Kept(keep).keep_progress(progress)
    return _after_reset(keep, product_mc=product_mc)


def test_a_schedule_is_held_over_a_reset():
    """The newest of the two slots comes back; a damaged one leaves the older."""
    keep = FakeKeep()
    rig = Rig(keep=keep)
    first = rig.load()
    rig.body = to_body(cooled_dark())
    second = rig.load()
    assert Rig(keep=keep).app.desk.upload.digest == second != first
    newest = "slot_a" if b"cooled" in keep.files["slot_a"] else "slot_b"
    keep.files[newest] = keep.files[newest][:-1] + b"0"
    assert Rig(keep=keep).app.desk.upload.digest == first


def test_an_upload_after_a_reset_leaves_the_slot_that_is_held():
    """Four uploads, a reset after each: the newest is held, the one before is kept."""
    keep = FakeKeep()
    names = []
    for mass_g in (1000, 1100, 1200, 1300):
        before = dict(keep.files)
        rig = Rig(schedule=seeded_dark(mass_g), keep=keep)
        assert rig.app.desk.upload.digest == (names[-1] if names else "")
        names.append(rig.load())
        rig.run(1)
        changed = [name for name in keep.files if keep.files[name] != before.get(name)]
        assert len(changed) == 1
        kept = [slot[2] for slot in Kept(keep).slots() if slot]
        assert sorted(kept) == sorted(names[-2:])


def test_a_start_that_is_asked_for_in_the_offer_begins_at_the_first_step():
    """What was asked last is what the press begins: melting, nothing carried on."""
    rig = _kept_in(6, 31500)
    assert rig.state() == "ready" and "offer" in _kinds(rig)
    assert rig.ask("ask_start", rig.app.desk.upload.digest).name == "ok"
    rig.press(1.5)
    assert rig.state() == "melting" and "carried_on" not in _kinds(rig)


def test_every_damaged_byte_of_a_slot_is_noticed():
    """One flipped bit anywhere and the slot is as none."""
    keep = FakeKeep()
    Rig(keep=keep).load()
    name = "slot_a" if keep.files.get("slot_a") else "slot_b"
    good = keep.files[name]
    for at in range(len(good)):
        keep.files[name] = good[:at] + bytes([good[at] ^ 4]) + good[at + 1 :]
        assert Kept(keep).slots() == [None, None], at
    keep.files[name] = good
    assert Kept(keep).slots() != [None, None]


def test_progress_is_written_only_while_the_heater_is_off():
    """A whole seeded batch: every write finds the heater off; few an hour."""
    keep = FakeKeep()
    _in_work(keep)
    written = [heat_on for name, heat_on in keep.writes if name == "progress"]
    assert 6 <= len(written) <= 40
    assert written == [0] * len(written)


def test_progress_is_written_only_in_a_hold_every_5_min_and_at_changes():
    """Working for an hour: 12 writes. Not reached for 20 min: none but the one at its start."""
    for product_mc, most, seconds in ((31500, 13, 3600), (25000, 1, 1200)):
        keep = FakeKeep()
        rig = unwitnessed(Rig(schedule=_long_work(), keep=keep, attended_limit_s=14400))
        rig.board.product_mc = rig.board.plate_mc = product_mc
        rig.start()
        rig.run(3)  # the step's start and its target
        keep.writes.clear()
        for _ in range(seconds // 5):
            rig.board.plate_mc = product_mc + 2000  # the heat goes somewhere
            rig.run(5)
        written = [name for name, _heat_on in keep.writes if name == "progress"]
        assert most - 2 <= len(written) <= most, product_mc


def test_a_flash_that_cannot_store_refuses_the_upload():
    """The host hears not_kept; the first schedule is held, and after a reset as well."""
    keep = FakeKeep()
    rig = Rig(keep=keep)
    first = rig.load()
    keep.is_full = True
    body = to_body(cooled_dark())
    rig.ask("load_open", len(body), digest(body))
    for at in range(0, len(body), 60):
        rig.ask("load_part", at, body[at : at + 60].decode())
    assert rig.ask("load_done", digest(body)).get("code") == "not_kept"
    assert rig.app.desk.upload.digest == first
    assert Rig(keep=keep).app.desk.upload.digest == first


def test_a_reset_after_every_byte_of_an_upload_holds_the_old_schedule():
    """The bytes of a whole upload, cut anywhere: old digest before the last byte, new after."""
    body = to_body(cooled_dark())
    text = body.decode()
    lines = [messages.encode("load_open", 1, (len(body), digest(body)))]
    for at in range(0, len(text), 80):
        lines.append(messages.encode("load_part", len(lines) + 1, (at, text[at : at + 80])))
    lines.append(messages.encode("load_done", len(lines) + 1, (digest(body),)))
    stream = b"".join([bytes(line) for line in lines])
    keep = FakeKeep()
    rig = Rig(keep=keep)
    first = rig.load()
    kept = dict(keep.files)
    for cut in range(len(stream) + 1):
        keep.files = dict(kept)
        rig.app.link.__init__(rig.board, rig.clock, rig.app.journal, rig.app.desk)
        rig.app.desk.upload.__init__()
        rig.app.desk.upload.restore(rig.app.kept.slots(), 55000)
        for at in range(0, cut, 256):
            rig.board.port.incoming = stream[at : min(cut, at + 256)]
            rig.one_pass()
        held = Upload()
        held.restore(Kept(keep).slots(), 55000)
        wanted = digest(body) if cut == len(stream) else first
        assert (rig.app.desk.upload.digest, held.digest) == (wanted, wanted), cut


def test_in_full_heat_a_pass_without_heat_is_made_for_the_write():
    """A melt at full power is noted within 21 s of its start."""
    keep = FakeKeep()
    rig = Rig(keep=keep)
    rig.board.product_mc = rig.board.plate_mc = 36000
    rig.start()
    rig.run(21)
    assert rig.state() == "melting"
    assert [row for row in keep.writes if row[0] == "progress"] == [("progress", 0)]


def test_a_reset_in_work_is_offered_and_a_press_carries_on():
    """Same step, same temperature; the hold goes on near where it was; no prompt again."""
    keep = FakeKeep()
    rig, plant = _in_work(keep)
    held_s = rig.app.sequencer.held_ms // 1000
    rig = _after_reset(keep, plant)
    assert rig.state() == "ready" and "offer" in _kinds(rig)
    assert (rig.board.heat_on, rig.board.stir_permille) == (0, 0)
    rig.press(1.5)
    assert rig.state() == "working" and "carried_on" in _kinds(rig)
    assert held_s - 301 <= rig.app.sequencer.held_ms // 1000 <= held_s + 3
    rig.run(300)
    assert rig.state() == "working"
    assert 31000 <= rig.board.product_mc <= 31900


def test_the_rigs_own_offer_is_not_let_go_with_a_host():
    """One that says it is there, and goes, has not asked for it: it stands, and a press carries
    on."""
    keep = FakeKeep()
    _rig, plant = _in_work(keep)
    rig = _after_reset(keep, plant)
    assert rig.ask("lease", 0, 0, 0).get("code") == "no_test"
    rig.run(30)
    assert rig.state() == "ready"
    rig.press(1.5)
    assert rig.state() == "working"


def test_nothing_carries_on_by_itself():
    """Without a press the offer closes after 120 s; nothing was driven, no second offer."""
    keep = FakeKeep()
    _rig, plant = _in_work(keep)
    rig = _after_reset(keep, plant)
    for _ in range(4 * 125):
        rig.one_pass()
        assert rig.board.heat_on == rig.board.stir_permille == rig.board.fan_permille == 0
    assert rig.state() == "off"
    assert _after_reset(keep, plant).state() == "off"


def test_a_press_that_began_before_the_offer_does_not_carry_on():
    """Begun a quarter second before the offer, held 1.5 s in all: long enough, but not fresh."""
    keep = FakeKeep()
    _rig, plant = _in_work(keep)
    rig = Rig(plant=plant, keep=keep)
    rig.board.is_converting = False
    rig.run(2)
    assert rig.state() == "off"
    rig.board.start_down = 1
    rig.one_pass()
    rig.board.is_converting = True
    rig.run_until(lambda one: one.state() == "ready", 1)
    rig.run(1)
    rig.board.start_down = 0
    rig.run(1)
    assert rig.state() == "ready"
    held_ms = [row[2] for row in rig.events() if tables.EVENT_NAMES[row[1]] == "press"]
    assert len(held_ms) == 1 and 1000 <= held_ms[0] <= 3000
    rig.press(1.5)
    assert rig.state() == "working"


def test_a_finished_batch_is_not_offered():
    """Off, finished and stopped leave nothing to carry on with."""
    for end in ("off", "stop"):
        keep = FakeKeep()
        rig = Rig(keep=keep)
        rig.board.product_mc = rig.board.plate_mc = 40000
        rig.start()
        rig.run(30)
        assert keep.files["progress"]
        if end == "off":
            rig.ask("off")
        else:
            rig.board.stop_open = 1
            rig.run(1)
        assert keep.files["progress"] == b""
        assert _after_reset(keep, product_mc=40000).state() == "off"


def test_the_offer_is_made_exactly_inside_the_limits_of_the_step():
    """1 mC inside each limit it is offered, 1 mC outside it is not."""
    work = seeded_dark().steps[5]
    under, over = limits.CARRY_UNDER_MC, limits.CARRY_OVER_MC
    melt_under = limits.CARRY_MELT_UNDER_MC
    table = (
        (6, work.target_mc - under, "ready"),
        (6, work.target_mc - under - 1, "off"),
        (6, work.target_mc + over, "ready"),
        (6, work.target_mc + over + 1, "off"),
        (1, 48000 - melt_under, "ready"),
        (1, 48000 - melt_under - 1, "off"),
        (2, 48000 - melt_under, "ready"),
        (2, 48000 - melt_under - 1, "off"),
        (1, 48000 + over, "ready"),
        (1, 48000 + over + 1, "off"),
        (3, 48000, "ready"),
        (3, 48001, "off"),
        (3, 33500 - under, "ready"),
        (3, 33500 - under - 1, "off"),
    )
    for step_no, product_mc, state in table:
        assert _kept_in(step_no, product_mc).state() == state, (step_no, product_mc)


def test_a_melt_that_had_not_come_far_is_offered_from_where_it_began():
    """From 21 degrees, not reached: 5 K under that and no less."""
    for product_mc, state in ((16000, "ready"), (15999, "off"), (47000, "ready")):
        rig = _kept_in(1, product_mc, reached=0, held_s=0, start_mc=21000)
        assert rig.state() == state, product_mc


def test_a_rest_that_cooled_comes_back_to_its_target_before_its_clock_goes_on():
    """Held 60 s of 120 before; found at 44 degrees it rests 60 s more, from 47.7 degrees on."""
    rig = unwitnessed(_kept_in(2, 44000, held_s=60))
    rig.press(1.5)
    assert rig.state() == "resting"
    rig.board.plate_mc = 46000
    rig.run(60)
    assert (rig.app.sequencer.reached, rig.app.sequencer.held_ms) == (0, 60000)
    while rig.board.product_mc < 48000:
        rig.board.product_mc += 100
        rig.board.plate_mc = rig.board.product_mc + 2000
        rig.run(1)
    rested_s = rig.run_until(lambda one: one.state() != "resting", 80)
    assert (rig.state(), 55 <= rested_s <= 60) == ("cooling", True), rested_s


def test_another_schedule_or_a_damaged_record_is_not_offered():
    """A digest that is not held, a step that does not exist, a flipped bit: off."""
    assert _kept_in(7, 31500).state() == "off"
    assert _kept_in(0, 31500).state() == "off"
    keep = FakeKeep()
    _rig, plant = _in_work(keep)
    good = keep.files["progress"]
    for at in range(0, len(good), 3):
        keep.files["progress"] = good[:at] + bytes([good[at] ^ 1]) + good[at + 1 :]
        assert _after_reset(keep, plant).state() == "off", at


def test_progress_of_another_schedule_is_not_offered():
    """The record names the first schedule, the second is held now: off."""
    keep = FakeKeep()
    rig = Rig(keep=keep)
    first = rig.load()
    rig.body = to_body(cooled_dark())
    rig.load()
    Kept(keep).keep_progress(Progress(first, 4, 1, 0, 60, 48000))
    assert _after_reset(keep, product_mc=31500).state() == "off"


def test_seed_that_was_in_stays_in():
    """A reset in the seed step: heat does not climb back to the seeding temperature."""
    rig = _kept_in(4, 32000, reached=1, held_s=0, seeded=1)
    assert rig.state() == "ready"
    rig.press(1.5)
    assert rig.state() == "seeding" and rig.app.sequencer.target_mc == 31500
    rig = _kept_in(4, 33400, reached=1, held_s=0, seeded=0)
    rig.press(1.5)
    rig.run(2)
    assert rig.app.sequencer.target_mc == 33500 and rig.app.sequencer.prompt_no == 2


def test_a_probe_that_does_not_answer_gets_no_offer():
    """No reading for 15 s after the start: the record is let go."""
    keep = FakeKeep()
    _rig, plant = _in_work(keep)
    rig = Rig(plant=plant, keep=keep)
    rig.board.is_converting = False
    rig.run(16)
    rig.board.is_converting = True
    rig.run(5)
    assert rig.state() == "off"


def _after_a_stop(keep, seconds=2):
    rig = Rig(keep=keep)
    rig.start()
    rig.board.stop_open = 1
    rig.run(seconds)
    assert rig.state() == "stopped"
    return rig


def _shown(rig):
    rig.run(1.25)
    return STOP_KEYS[rig.board.shown.stop_code]


def test_what_had_stopped_the_rig_is_shown_after_a_reset_until_a_press():
    """Off as ever, its words on the display, told in the record; a press, and it is gone."""
    keep = FakeKeep()
    _after_a_stop(keep)
    rig = Rig(keep=keep)
    assert (rig.state(), _shown(rig)) == ("off", "stop_loop")
    assert rig.app.sequencer.stop_code == 0
    told = [row[2] for row in rig.events() if EVENT_NAMES[row[1]] == "stopped_before"]
    assert told == [STOP_KEYS.index("stop_loop")]
    assert _shown(Rig(keep=keep)) == "stop_loop"  # a second reset
    rig.press(0.5)
    assert _shown(rig) == "none"
    assert _shown(Rig(keep=keep)) == "none"


def test_a_start_that_is_asked_for_forgets_what_had_stopped_the_rig():
    """Its window has other words to show."""
    keep = FakeKeep()
    _after_a_stop(keep)
    rig = Rig(keep=keep)
    rig.start()
    assert _shown(rig) == "none"
    assert _shown(Rig(keep=keep)) == "none"


def test_a_stop_that_was_cleared_is_not_shown_again():
    """Its cause gone, pressed away, then a reset. Two writes, none with heat."""
    keep = FakeKeep()
    rig = _after_a_stop(keep)
    rig.board.stop_open = 0
    rig.run(1)
    rig.press(0.5)
    assert (rig.state(), _shown(rig)) == ("off", "none")
    assert [heat_on for name, heat_on in keep.writes if name == "stop"] == [0, 0]
    assert _shown(Rig(keep=keep)) == "none"


def test_every_damaged_bit_of_a_kept_stop_shows_nothing():
    """Nor does a code that no table has."""
    keep = FakeKeep()
    _after_a_stop(keep)
    good = keep.files["stop"]
    for at in range(8 * len(good)):
        flipped = bytearray(good)
        flipped[at // 8] ^= 1 << at % 8
        keep.files["stop"] = bytes(flipped)
        assert Kept(keep).stop_code() == 0, at
    for code in ("99", "-1", "1|1", "x"):
        line = ("1|" + code).encode()
        keep.files["stop"] = line + b"|" + crc_hex(line).encode()
        assert Kept(keep).stop_code() == 0, code


def test_a_locked_rig_keeps_why_as_well():
    """A welded relay is no less welded after a reset: shown again."""
    keep = FakeKeep()
    rig = Rig(keep=keep, has_sense=1)
    rig.run(2)
    rig.board.heater_live = 1
    rig.run(2)
    assert rig.state() == "locked"
    assert _shown(Rig(keep=keep)) == "switch_shorted"
