"""Runs on MicroPython: passes of a heating rig with less and less memory free.

    micropython -X heapsize=640k out_of_memory.py PROTOCOL FIRMWARE SHARED [STEP [WHAT]]

For each count of free small blocks, from none to more than a pass needs, a rig that heats makes
one pass; with WHAT `asked` a host's request for the journal waits in it. Prints a line `blocks
ended heat_on offs state` for each; nothing may be raised.
"""

import gc
import sys

sys.path[:0] = sys.argv[1:4]

from fw_fakes import Rig, cooled_dark  # noqa: E402 - found in the folders above
from rigwire import messages  # noqa: E402

MOST_BLOCKS = 400
STEP = int(sys.argv[4]) if len(sys.argv) > 4 else 4
WHAT = sys.argv[5] if len(sys.argv) > 5 else "heating"


def heating():
    """A rig in its melt, the heater on in this pass."""
    rig = Rig(schedule=cooled_dark())
    rig.board.product_mc = rig.board.plate_mc = 40000
    rig.start()
    rig.run_until(lambda one: one.board.heat_on, 10)
    return rig


def asked():
    """Heating, and a host asks for the journal in this pass."""
    rig = heating()
    rig.board.port.incoming += messages.encode("fetch", 5000, (0,))
    return rig


def filled():
    """A chain that holds all memory there is, its smallest links last."""
    chain = None
    for size in (4096, 512, 64, 16):
        try:
            while True:
                chain = (chain, bytearray(size))
        except MemoryError:
            pass
    return chain


def one_pass(rig, blocks):
    """One pass with so many of the smallest links free. The outcome, kept without allocating."""
    offs = rig.board.offs
    now = rig.clock.now + 1000
    rig.clock.now = now
    chain = filled()
    for _ in range(blocks):
        chain = chain[0]
    ended = "well"
    try:
        rig.app.loop(now)
    except BaseException:
        ended = "raised"
    chain = None
    gc.collect()
    print(blocks, ended, rig.board.heat_on, rig.board.offs - offs, rig.state())  # noqa: T201


MAKERS = {"heating": heating, "asked": asked}
for blocks in range(0, MOST_BLOCKS, STEP):
    gc.collect()
    one_pass(MAKERS[WHAT](), blocks)
