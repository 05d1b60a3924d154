"""The list of probes as the device keeps it: which probe, of which kind, has which role.

One line, `probes|2|chocolate|plate|room|sample|crc8hex`. A role is `-` or a kind and its values
with commas, the last two always what calibration found:

    ds18b20,rom,offset_mk,slope_e5
    ntc,channel,pull_ohm,ohm_0,ohm_25,ohm_50,offset_mk,slope_e5
    ntc_beta,channel,pull_ohm,ohm_25,beta_k,offset_mk,slope_e5
    pt100,channel,reference_ohm,wires,mains_hz,offset_mk,slope_e5
    pt1000,as pt100

Whatever else it is, it is refused: a probe in an unknown place must not steer heat.
"""

from binascii import unhexlify

from rigfw.config import ConfigRefused
from rigfw.drivers.ds18b20 import FAMILY
from rigfw.drivers.onewire_crc import crc8
from rigfw.drivers.probe import ROLES
from rigwire.frames import crc_hex

HEAD = "probes"
FORMAT = "2"
NTC_CHANNELS = 3
PT_CHANNELS = 2

CALIBRATION = (
    ("offset_mk", -2000, 2000),  # more than 2 K off is a broken or a wrong probe
    ("slope_e5", -2000, 2000),
)
_PULL = ("pull_ohm", 500, 200000)
_OHMS = (100, 1000000)
_NTC_CHANNEL = ("channel", 1, NTC_CHANNELS)
_PT_CHANNEL = ("channel", 1, PT_CHANNELS)
_PT_REST = (("wires", 2, 4), ("mains_hz", 50, 60))

# kind, then its values: name, least, most
KINDS = {
    "ntc": (_NTC_CHANNEL, _PULL, ("ohm_0",) + _OHMS, ("ohm_25",) + _OHMS, ("ohm_50",) + _OHMS),
    "ntc_beta": (_NTC_CHANNEL, _PULL, ("ohm_25",) + _OHMS, ("beta_k", 2000, 6000)),
    "pt100": (_PT_CHANNEL, ("reference_ohm", 200, 1000)) + _PT_REST,
    "pt1000": (_PT_CHANNEL, ("reference_ohm", 2000, 10000)) + _PT_REST,
}


def listed(text):
    """Four probes in the order of ROLES, each None or a dict of `kind`, `rom` and its values.

    Raises ConfigRefused and nothing else; its words are at most 50 letters.
    """
    parts = text.split("|") if type(text) is str else []
    if len(parts) != len(ROLES) + 3 or parts[:2] != [HEAD, FORMAT]:
        raise ConfigRefused("the list of probes is missing or not of format 2")
    if crc_hex("|".join(parts[:-1]).encode()) != parts[-1]:
        raise ConfigRefused("the list of probes is damaged")
    probes = [_probe(role, parts[2 + at]) for at, role in enumerate(ROLES)]
    if probes[0] is None:
        raise ConfigRefused("no probe is listed for the chocolate")
    _refuse_same_place(probes)
    return probes


def to_text(roles):
    """The one line of four role texts, check sum included. What it says is not judged here."""
    body = "|".join([HEAD, FORMAT] + list(roles))
    return body + "|" + crc_hex(body.encode())


def _probe(role, text):
    if text == "-":
        return None
    kind, _, rest = text.partition(",")
    values = rest.split(",")
    probe = {"kind": kind, "rom": None}
    if kind == "ds18b20":
        probe["rom"] = _rom(role, values.pop(0))
        _read(role, probe, CALIBRATION, values)
    elif kind in KINDS:
        _read(role, probe, KINDS[kind] + CALIBRATION, values)
        _refuse_nonsense(role, probe)
    else:
        raise ConfigRefused(role + " probe: no such kind")
    return probe


def _rom(role, text):
    try:
        rom = unhexlify(text)
    except ValueError:
        rom = b""
    is_good = len(rom) == 8 and crc8(rom, 7) == rom[7] and text == text.lower()
    if not is_good or rom[0] != FAMILY:
        raise ConfigRefused(role + " probe: not the number of a DS18B20")
    return rom


def _read(role, probe, fields, texts):
    if len(texts) != len(fields):
        raise ConfigRefused(role + " probe: a value is missing or too many")
    for at, (name, least, most) in enumerate(fields):
        value = _whole(texts[at])
        if value is None or not least <= value <= most:
            raise ConfigRefused(role + " probe: " + name + " is out of range")
        probe[name] = value


def _whole(text):
    """The number, None unless written in its one form."""
    try:
        value = int(text)
    except ValueError:
        return None
    return value if str(value) == text else None


def _refuse_nonsense(role, probe):
    if probe["kind"] == "ntc" and not probe["ohm_0"] > probe["ohm_25"] > probe["ohm_50"]:
        raise ConfigRefused(role + " probe: its ohms must fall with heat")
    if probe.get("mains_hz", 50) not in (50, 60):
        raise ConfigRefused(role + " probe: mains_hz is 50 or 60")


def _refuse_same_place(probes):
    places = []
    for at, probe in enumerate(probes):
        if probe:
            place = (probe["rom"], probe["kind"][:2], probe.get("channel"))
            if place in places:
                raise ConfigRefused(ROLES[at] + " probe: in the place of another")
            places.append(place)
