"""Without its proof a rig gets at most 20 W, in a batch and in a test."""

from fw_fakes import Plant, Rig
from rigfw import commissioned as proof
from rigwire.frames import crc_hex

RIG_TEXT = "rig|1|100|500"


def test_the_proof_of_this_description_gives_full_heat():
    """Its own line: 1000 permille, whatever the heater."""
    assert proof.cap_permille(proof.proof_text(RIG_TEXT), RIG_TEXT, 100) == 1000
    assert proof.cap_permille(proof.proof_text(RIG_TEXT), RIG_TEXT, 2000) == 1000


def test_without_a_proof_twenty_watts():
    """20 W of 100, of 180, of 2000; a heater under 20 W keeps all of it."""
    for heater_w, permille in ((100, 200), (180, 111), (2000, 10), (10, 1000)):
        assert proof.cap_permille(None, RIG_TEXT, heater_w) == permille


def test_every_single_bit_flip_of_a_proof_is_none():
    """Any bit of the line turned: little heat."""
    good = proof.proof_text(RIG_TEXT)
    for at in range(len(good)):
        for bit in range(7):
            bad = good[:at] + chr(ord(good[at]) ^ (1 << bit)) + good[at + 1 :]
            assert proof.cap_permille(bad, RIG_TEXT, 100) == 200


def test_a_rig_described_anew_must_be_proved_anew():
    """The proof of another description is none."""
    assert proof.cap_permille(proof.proof_text("rig|1|60|500"), RIG_TEXT, 100) == 200
    assert proof.cap_permille(proof.proof_text(RIG_TEXT), None, 100) == 200
    forged = "proof|1|" + crc_hex(RIG_TEXT.encode())
    assert proof.cap_permille(forged, RIG_TEXT, 100) == 200


def _on_share(rig, seconds):
    on = 0
    for count in range(4 * seconds):
        if rig.board.heat_on:
            on += 1
        if count % 8 == 0 and rig.state() == "testing":
            rig.ask("lease", 1000, 0, 0)
        rig.one_pass()
    return on / (4 * seconds)


def test_an_unproved_rig_heats_with_its_cap_in_a_batch():
    """A cap of 200 permille: the heater is on a fifth of the time, the journal says 200."""
    rig = Rig(plant=Plant())
    rig.app.cap_permille = 200
    rig.load()
    rig.start()
    rig.run(10)
    assert rig.state() == "melting"
    assert abs(_on_share(rig, 60) - 0.2) <= 0.03
    ring = rig.app.journal.readings
    assert ring.row(ring.newest())[7] == 200


class _Wants:
    """A regulator that wants this much."""

    fan_permille = 0

    def __init__(self, heat_permille):
        self.heat_permille = heat_permille

    def demand(self, *_values):
        """Always the same."""

    begin = rest = demand


def test_the_cap_is_exact():
    """One permille over it is the cap, at it and under it is what is wanted."""
    for wanted, given in ((199, 199), (200, 200), (201, 200), (299, 200), (1000, 200)):
        rig = Rig(plant=Plant())
        rig.app.cap_permille = 200
        rig.start()
        rig.app.regulator = _Wants(wanted)
        rig.run(3)
        ring = rig.app.journal.readings
        assert ring.row(ring.newest())[7] == given, wanted


def test_an_unproved_rig_heats_with_its_cap_in_a_test():
    """A press that allowed everything and leases of 1000 permille: still a fifth."""
    rig = Rig()
    rig.app.cap_permille = 200
    rig.run(2)
    rig.ask("ask_test", 1000, 0, 0, 60000, 600)
    rig.press(1.5)
    rig.ask("lease", 1000, 0, 0)
    assert abs(_on_share(rig, 60) - 0.2) <= 0.05


def test_a_proved_rig_has_no_cap():
    """The first minute of a melt is all heat."""
    rig = Rig(plant=Plant())
    assert rig.app.cap_permille == 1000
    rig.load()
    rig.start()
    rig.run(10)
    assert _on_share(rig, 60) > 0.95
