"""The list of probes: what is taken, and that everything else is refused in words."""

from fw_onewire import rom_of
from rigfw.config import ConfigRefused
from rigfw.drivers import probe as probes
from rigfw.drivers.probelist import ROLES, listed, to_text
from rigfw.drivers.probeset import ProbeSet
from rigfw.readings import Readings
from rigwire.frames import crc_hex
from rigwire.messages import MISSING_MC

try:
    from micropython import heap_lock, heap_unlock
except ImportError:

    def heap_lock():
        """CPython knows no lock."""

    def heap_unlock():
        """CPython knows no lock."""


def _hex(rom):
    return "".join(["%02x" % byte for byte in rom])


ONE = "ds18b20," + _hex(rom_of(1)) + ",-120,0"
NTC = "ntc,1,10000,32554,10000,3606,0,0"
BETA = "ntc_beta,2,4700,10000,3977,50,100"
PT100 = "pt100,1,430,3,50,0,0"
PT1000 = "pt1000,2,4300,2,60,0,0"


def _refused(text):
    """The words of the refusal."""
    try:
        listed(text)
    except ConfigRefused as refusal:
        assert 0 < len(refusal.reason) <= 50, refusal.reason
        return refusal.reason
    raise AssertionError("taken: %r" % (text,))


def _refused_role(text):
    return _refused(to_text([text, "-", "-", "-"]))


def test_every_kind_is_taken():
    """Each with its values by name; an empty role is None."""
    found = listed(to_text([ONE, NTC, BETA, "-"]))
    assert found[0] == {"kind": "ds18b20", "rom": rom_of(1), "offset_mk": -120, "slope_e5": 0}
    assert (found[1]["ohm_0"], found[1]["ohm_50"], found[1]["pull_ohm"]) == (32554, 3606, 10000)
    assert (found[2]["beta_k"], found[2]["offset_mk"], found[2]["slope_e5"]) == (3977, 50, 100)
    assert found[3] is None
    found = listed(to_text([PT100, "-", "-", PT1000]))
    assert (found[0]["reference_ohm"], found[0]["wires"], found[0]["mains_hz"]) == (430, 3, 50)
    assert (found[3]["kind"], found[3]["channel"], found[3]["mains_hz"]) == ("pt1000", 2, 60)


def test_the_check_sum_is_that_of_the_wire():
    """CRC-32 of the line before its last bar, eight lowercase digits, by another program:
    printf 'probes|2|-|-|-|-' | gzip | tail -c8 | head -c4 (lowest byte first)."""
    assert to_text(["-", "-", "-", "-"]) == "probes|2|-|-|-|-|d56f3f87"


def test_missing_damaged_or_of_another_format():
    """No file, an empty one, the format before, and each letter of a good one changed."""
    for text in (None, "", "probes|2", "probes|1|28|-|-|00000000", b"probes|2|-|-|-|-|x"):
        assert _refused(text) == "the list of probes is missing or not of format 2"
    good = to_text([ONE, NTC, "-", "-"])
    for at in range(len(good)):
        _refused(good[:at] + chr(ord(good[at]) ^ 1) + good[at + 1 :])
        _refused(good[:at])
    assert _refused(good[:-1] + "g") == "the list of probes is damaged"


def test_chocolate_must_have_a_probe():
    """A list without one is no list to heat by."""
    assert _refused(to_text(["-", ONE, "-", "-"])) == "no probe is listed for the chocolate"


def test_an_unknown_kind_is_refused():
    """Also an empty role, and a known kind in capitals."""
    for text in ("", "k,1,0,0", "DS18B20," + _hex(rom_of(1)) + ",0,0", "ntc3,1,0,0"):
        assert _refused_role(text) == "chocolate probe: no such kind"


def test_a_rom_must_be_that_of_a_ds18b20():
    """Wrong check sum, another family, too short, capitals, no hex."""
    bad = bytearray(rom_of(1))
    bad[7] ^= 1
    capitals = "28" + _hex(rom_of(0xABCD))[2:].upper()
    for rom in (_hex(bad), _hex(rom_of(1, family=0x10)), _hex(rom_of(1))[:14], capitals, "zz" * 8):
        words = _refused_role("ds18b20," + rom + ",0,0")
        assert words == "chocolate probe: not the number of a DS18B20", rom


def test_values_in_their_range_and_in_their_one_form():
    """Each a little outside, missing, too many, or not a plain whole number."""
    for text, words in (
        ("ntc,0,10000,32554,10000,3606,0,0", "channel is out of range"),
        ("ntc,4,10000,32554,10000,3606,0,0", "channel is out of range"),
        ("pt100,3,430,3,50,0,0", "channel is out of range"),
        ("ntc,1,499,32554,10000,3606,0,0", "pull_ohm is out of range"),
        ("ntc_beta,1,10000,10000,1999,0,0", "beta_k is out of range"),
        ("pt100,1,4300,3,50,0,0", "reference_ohm is out of range"),
        ("pt1000,1,430,3,50,0,0", "reference_ohm is out of range"),
        ("pt100,1,430,5,50,0,0", "wires is out of range"),
        ("pt100,1,430,3,55,0,0", "mains_hz is 50 or 60"),
        ("pt100,1,430,3,50,2001,0", "offset_mk is out of range"),
        ("pt100,1,430,3,50,0,-2001", "slope_e5 is out of range"),
        ("pt100,1,430,3,50,0", "a value is missing or too many"),
        ("pt100,1,430,3,50,0,0,0", "a value is missing or too many"),
        ("pt100,01,430,3,50,0,0", "channel is out of range"),
        ("pt100,1,430,3,50,+5,0", "offset_mk is out of range"),
        ("pt100,1,430,3,50, 5,0", "offset_mk is out of range"),
        ("pt100,1,430,3,50,0.5,0", "offset_mk is out of range"),
        ("ntc,1,10000,32554,3606,10000,0,0", "its ohms must fall with heat"),
        ("ntc,1,10000,3606,10000,32554,0,0", "its ohms must fall with heat"),
    ):
        assert _refused_role(text) == "chocolate probe: " + words, text


def test_two_roles_never_share_a_place():
    """The same ROM, the same analog channel in two kinds, the same converter in two kinds."""
    for first, second in (
        (ONE, ONE),
        (NTC, "ntc_beta,1,10000,10000,3977,0,0"),
        (PT100, "pt1000,1,4300,3,50,0,0"),
    ):
        words = _refused(to_text([first, "-", second, "-"]))
        assert words == "room probe: in the place of another"
    assert len(listed(to_text([NTC, PT100, "-", "-"]))) == len(ROLES)


class _Source:
    """A probe whose value comes in the third pass."""

    def __init__(self, probe, read_mc):
        self.probe, self.read_mc, self.passes = probe, read_mc, 0

    def step(self, now_ms):
        """One pass."""
        self.passes += 1
        if self.passes == 3:
            self.probe.take(self.read_mc, now_ms)


def test_each_role_has_its_own_value_and_time():
    """Product and room of different kinds; no plate: missing, and nothing is written there."""
    product, room, sample = probes.Probe(), probes.Probe(), probes.Probe()
    late = _Source(room, 22000)
    late.passes = -2
    sources = [_Source(product, 31000), late, _Source(sample, 30500)]
    both = ProbeSet(sources, [product, None, room, sample])
    readings = Readings()
    for now_ms in range(250, 1500, 250):
        both.step(now_ms)
        both.fill(readings)
    assert (readings.product_mc, readings.product_at_ms) == (31000, 750)
    assert (readings.room_mc, readings.room_at_ms) == (22000, 1250)
    assert (readings.plate_mc, readings.plate_at_ms) == (MISSING_MC, 0)
    assert readings.sample_mc == 30500
    assert both.unlisted() is None


def test_news_are_told_once():
    """Open, still open, fine, gap ended: two lines, and each fits a console line."""
    probe = probes.Probe()
    all_probes = ProbeSet([], [None, probe, None, None])
    told = []
    for why in (0, probes.OPEN, probes.OPEN, probes.FIRST_VALUE, 0, 0):
        probe.why = why
        told.append(all_probes.news())
    open_words, fine = "plate probe: open: broken wire or no probe", "plate probe: fine"
    assert told == [None, open_words, None, None, fine, None]
    assert all([len("chocolate probe: " + words) <= 63 for words in probes.WHY])


def test_filling_the_readings_allocates_nothing():
    """A value with the greatest corrections, missing, and all roles, under the heap's lock."""
    product = probes.Probe(2000, 2000)
    both = ProbeSet([], [product, product, product, product])
    readings = Readings()
    heap_lock()
    try:
        product.take(125000, 5)
        both.fill(readings)
        value_mc = readings.product_mc
        product.miss(probes.OPEN, 6)
        both.fill(readings)
    finally:
        heap_unlock()
    assert value_mc == 129500
    assert (readings.plate_mc, readings.room_at_ms) == (MISSING_MC, 6)
    assert readings.sample_mc == MISSING_MC


def test_a_whole_line_of_another_kind_is_not_a_list_of_probes():
    """Its check sum is right; head or format is another."""
    for head in ("rigs|2", "probes|1", "probes|3"):
        body = head + "|" + ONE + "|-|-|-"
        words = _refused(body + "|" + crc_hex(body.encode()))
        assert words == "the list of probes is missing or not of format 2"


def test_ohms_that_stay_the_same_are_refused_too():
    """They must fall between 0 and 25, and between 25 and 50 degrees."""
    for ohms in ("10000,10000,3606", "32554,10000,10000"):
        assert "must fall" in _refused_role("ntc,1,10000," + ohms + ",0,0")
    listed(to_text(["ntc,1,10000,10001,10000,9999,0,0", "-", "-", "-"]))
