"""What a host learned of a rig: taken while idle alone, checked whole, and no key to any check."""

from array import array
from binascii import b2a_base64

from fw_fakes import BENCH, FakeKeep, Plant, Rig, cooled_dark, kinds
from rigfw import limits, model
from rigfw.config import RigConfig
from rigfw.memory import NAME, Memory, is_likely, taken
from rigfw.model import ALL, FAN, GAIN, MASS, PLATE, ROOM, STATES, Model, zeros
from rigfw.readings import Readings
from rigfw.regulator import Regulator
from rigfw.upload import UploadRefused
from rigwire.frames import crc_hex
from rigwire.schedule import digest

CONFIG = RigConfig(**BENCH)
LINE = CONFIG.to_text()


def _figures(**changes):
    """A record of the description's own doubt; `x5=0.3` changes a parameter by its place."""
    rates = Model(CONFIG)
    rates.begin(1000)
    x, p = zeros(ALL), [zeros(ALL) for _ in range(ALL)]
    rates.prior(p)
    for name, value in changes.items():
        x[int(name[1:])] = value
    return taken(x, p)


def _record(figures, line=LINE):
    keep = FakeKeep()
    keep.board = Rig().board
    body = Memory(keep, line)._head + bytes(figures)
    return body + crc_hex(body).encode()


def _text(record):
    return b2a_base64(record).decode().strip()


def _rig(**more):
    keep = FakeKeep()
    rig = Rig(keep=keep, **more)
    rig.run(2)
    return rig, keep


def _send(rig, text):
    """The answer to the whole of it."""
    name = digest(text.encode())
    answer = rig.ask("load_open", len(text), name)
    for at in range(0, len(text), 80):
        answer = rig.ask("load_part", at, text[at : at + 80])
    return rig.ask("load_learned", name) if answer.name == "ok" else answer


def test_what_a_host_learned_is_kept_told_and_begun_with():
    """Asked in off: `ok`, one event, the same bytes on the flash, the same figures now and after
    a reset; the schedule that is held stays."""
    rig, keep = _rig()
    held = rig.load()
    record = _record(_figures(x5=0.3))
    assert _send(rig, _text(record)).name == "ok"
    assert kinds(rig)[-1] == "loaded" and rig.events()[-1][2:] == (2, len(_text(record)))
    assert keep.files[NAME] == record
    assert list(rig.app.regulator.learned()) == list(_figures(x5=0.3))
    assert rig.ask("hello", 1, 0, "test").get("digest_held") == held
    assert list(Rig(keep=keep).app.regulator.learned()) == list(_figures(x5=0.3))


def test_the_batch_after_a_batch_begins_with_it_and_not_with_what_the_rig_had_learned():
    """Melting, off, sent, melting: the heater is what was sent, but for a second's learning."""
    keep = FakeKeep()
    rig = Rig(schedule=cooled_dark(), plant=Plant(start_c=30.0), keep=keep)
    rig.start()
    rig.run(300)
    rig.app.off()
    rig.run(2)
    own = rig.app.regulator.learned()[GAIN - STATES]
    assert abs(own - 0.25) > 0.1
    assert _send(rig, _text(_record(_figures(x5=0.25)))).name == "ok"
    rig.start()
    assert abs(rig.app.regulator.learned()[GAIN - STATES] - 0.25) < 0.02
    assert not rig.faults


def test_nothing_is_taken_while_something_runs():
    """Ready, melting, testing: busy, and the record stays."""
    rig, keep = _rig(schedule=cooled_dark(), plant=Plant(start_c=30.0))
    text = _text(_record(_figures()))
    assert _send(rig, text).name == "ok"
    before, other = keep.files[NAME], _text(_record(_figures(x5=0.2)))
    rig.ask("ask_start", rig.load())
    assert _send(rig, other).get("code") == "busy"
    rig.press(1.5)
    for name in ("load_open", "load_part", "load_learned"):
        values = {"load_open": (10, "00000000"), "load_part": (0, "x")}.get(name, ("00000000",))
        assert rig.ask(name, *values).get("code") == "busy"
    assert rig.state() == "melting" and keep.files[NAME] == before
    rig.app.off()
    assert rig.ask("ask_test", 100, 0, 0, 50000, 60).name == "ok"
    rig.press(1.5)
    assert rig.state() == "testing"
    assert rig.ask("load_open", 10, "00000000").get("code") == "busy"


def test_a_record_cut_anywhere_or_damaged_on_its_way_changes_nothing():
    """Cut after every 11th byte, or another digest: refused, the kept one is kept still."""
    rig, keep = _rig()
    text = _text(_record(_figures(x5=0.1)))
    assert _send(rig, text).name == "ok"
    before, regulator = keep.files[NAME], rig.app.regulator
    other = _text(_record(_figures(x5=0.2)))
    upload = rig.app.desk.upload
    for cut in range(0, len(other), 11):
        upload.open(len(other), digest(other.encode()))
        if cut:
            upload.part(0, other[:cut])
        assert rig.ask("load_learned", digest(other.encode())).get("code") == "cut"
    upload.open(len(other), digest(other.encode()))
    upload.part(0, other[:-1] + "A")
    assert rig.ask("load_learned", digest(other.encode())).get("code") == "damaged"
    assert rig.ask("load_learned", digest(other.encode())).get("code") == "cut"
    assert keep.files[NAME] == before and rig.app.regulator is regulator


def test_a_schedule_is_no_record_and_a_record_no_schedule():
    """Each sent as the other is refused with its code; nothing is held or kept of it."""
    rig, keep = _rig()
    assert _send(rig, rig.body.decode()).get("code") == "other_rig"
    text = _text(_record(_figures()))
    rig.ask("load_open", len(text), digest(text.encode()))
    for at in range(0, len(text), 80):
        rig.ask("load_part", at, text[at : at + 80])
    assert rig.ask("load_done", digest(text.encode())).get("code") == "schedule"
    assert NAME not in keep.files and rig.app.desk.upload.held is None


def _refused(memory, record):
    """The code, or "" where it was taken."""
    try:
        memory.take(_text(record))
    except UploadRefused as refusal:
        return refusal.code
    return ""


def _memory():
    keep = FakeKeep()
    keep.board = Rig().board
    return Memory(keep, LINE), keep


def test_a_record_of_a_rig_described_otherwise_is_refused():
    """By its first eight bytes; text that is no base64, and none, as well."""
    memory, keep = _memory()
    assert _refused(memory, _record(_figures(), LINE + "x")) == "other_rig"
    for text in ("", "A", "=", "learned", "\x00" * 40):
        try:
            memory.take(text)
            raise AssertionError(text)
        except UploadRefused as refusal:
            assert refusal.code == "other_rig"
    assert keep.files == {}


def test_every_bit_of_a_record_that_flips_is_refused():
    """Description, figures and check sum: 8 bits of 276 bytes."""
    memory, keep = _memory()
    whole = _record(_figures(x5=0.1))
    for at in range(len(whole)):
        for bit in range(8):
            flipped = whole[:at] + bytes([whole[at] ^ (1 << bit)]) + whole[at + 1 :]
            assert _refused(memory, flipped) == ("other_rig" if at < 8 else "learned")
    for end in range(0, len(whole), 3):
        assert _refused(memory, whole[:end])
    assert keep.files == {} and _refused(memory, whole) == ""


class _Melt:
    """A step to 48 degC."""

    kind, wall_mc, rate_mc_per_min = "melt", 60000, 3000


def test_a_bit_that_flips_under_a_right_check_sum_is_refused_or_harmless():
    """Each 3rd bit of the figures: refused, or a regulator that begins with them and demands
    between nothing and all."""
    memory, _keep = _memory()
    whole, taken_too = _record(_figures(x5=0.1)), 0
    readings = Readings()
    readings.product_mc, readings.plate_mc = 40000, 45000
    for bit in range(0, 8 * 65 * 4, 3):
        body = bytearray(whole[:-8])
        body[8 + bit // 8] ^= 1 << (bit % 8)
        if _refused(memory, bytes(body) + crc_hex(bytes(body)).encode()):
            continue
        taken_too += 1
        regulator = Regulator(CONFIG, memory.recalled())
        for _ in range(4):
            regulator.demand(readings, 48000, _Melt, 500, 1000)
            assert 0 <= regulator.heat_permille <= 1000 and 0 <= regulator.fan_permille <= 1000
    assert 100 < taken_too < 660


def test_a_figure_further_than_a_rig_would_learn_is_refused():
    """Each parameter at its edge, and two thousandths over it."""
    for at in range(STATES, ALL):
        most = 12.0 if at == ROOM else 1.6
        least = {MASS: -0.3, PLATE: -0.75, model.PROBE: -0.75, model.ELEMENT: -0.75}.get(at, -most)
        name = "x%d" % at
        for inside, outside in ((most, most + 0.002), (least, least - 0.002)):
            assert is_likely(_figures(**{name: inside})), at
            assert not is_likely(_figures(**{name: outside})), at


def test_a_doubt_that_is_no_covariance_is_refused():
    """Two parameters more alike than each itself; one known exactly that moves with another."""
    count = ALL - STATES
    figures = _figures()
    variance_at = count + 2 * 3 // 2 + 2  # FAN: row 2 of the half
    assert figures[variance_at] > 0.0 and FAN == STATES + 2
    figures[variance_at - 2] = 2.0  # with GAIN
    assert not is_likely(figures)
    figures = _figures()
    figures[variance_at] = 0.0
    assert not is_likely(figures)
    sure = array("f", [0.0] * len(figures))
    assert is_likely(sure)


def test_a_flash_that_is_full_is_said_and_nothing_changes():
    """`not_kept`; the regulator is the one before. A rig without a flash says the same."""
    rig, keep = _rig()
    before = rig.app.regulator
    keep.is_full = True
    assert _send(rig, _text(_record(_figures()))).get("code") == "not_kept"
    assert rig.app.regulator is before and kinds(rig)[-1] != "loaded"
    assert _send(Rig(), _text(_record(_figures()))).get("code") == "not_kept"


def test_the_worst_record_that_is_taken_moves_no_limit():
    """A heater taken for a fifth, a plate for quick, all sure: the plate is held at its step's
    limit by the interlocks, which know no record."""
    keep = FakeKeep()
    rig = Rig(schedule=cooled_dark(), plant=Plant(start_c=30.0), keep=keep)
    rig.run(2)
    worst = array("f", [0.0] * len(_figures()))
    for at, value in ((GAIN, -1.6), (PLATE, -0.75), (model.LOSS, 1.6), (FAN, 1.6)):
        worst[at - STATES] = value
    assert _send(rig, _text(_record(worst))).name == "ok"
    rig.start()
    hottest_c = 0.0
    for _ in range(1200):
        rig.run(1)
        hottest_c = max(hottest_c, rig.plant.plate_c)
        assert rig.plant.product_c < 48.0 + limits.HOT_MC / 1000
    assert hottest_c < 60.0 + limits.PLATE_OVER_MC / 1000
    assert not rig.faults
