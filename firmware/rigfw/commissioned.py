"""The proof that this rig was commissioned: without it only little heat.

One line, `proof|1|crc of the rig's description|crc8hex`, written by the host when every step that
counts is passed and signed. It belongs to one description: a rig that is described anew must be
proved anew. Missing, damaged or of another description: at most UNPROVED_W.
"""

from rigwire.frames import crc_hex

HEAD = "proof|1|"
UNPROVED_W = 20  # own choice: warms 1 kg by 5 K in some 8 minutes, enough for every step
FULL = 1000


def proof_text(rig_text):
    """The line that proves the rig of this description line."""
    body = HEAD + crc_hex(rig_text.encode())
    return body + "|" + crc_hex(body.encode())


def cap_permille(text, rig_text, heater_w):
    """The greatest heat this rig may ask of its heater: FULL with its proof, else little."""
    if type(text) is str and type(rig_text) is str and text == proof_text(rig_text):
        return FULL
    return min(FULL, UNPROVED_W * FULL // max(1, heater_w))
