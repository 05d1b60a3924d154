"""Runs on MicroPython: hours of a rig that is asked, tempers, is left alone and asked again.

    micropython -X heapsize=640k soak.py PROTOCOL_DIR FIRMWARE_DIR SHARED_DIR HOURS SEED

The clock begins just before its wrap (2^30 ms, some 298 h). Each round is half an hour of a batch,
with its uploads, presses and journal, every 12 h; else the rig is off and a host asks for this
and that. A pass is 250 ms in a batch and a second while off. Prints a line
`hour free_bytes state wraps` each hour, after a collection, and `faults N` at the end.
"""

import gc
import sys

sys.path[:0] = sys.argv[1:4]

from fuzz_frames import Dice  # noqa: E402 - found in the folders above
from fw_fakes import FakeClock, Plant, Rig, cooled_dark  # noqa: E402
from rigwire.tables import PROMPTS  # noqa: E402

BATCH_EVERY_H = 12
BEFORE_WRAP_MS = 1000 * 1000
ASKS = (
    ("ask_status",), ("fetch", 0), ("fetch_events", 0), ("fetch_samples", 0), ("beat", 5),
    ("off",), ("hello", 1, 6, "soak"), ("lease", 0, 0, 0), ("answer", 1),
)  # fmt: skip


def asked(rig, dice):
    """One request of a host, answered with something."""
    rig.ask(*dice.of(ASKS))


def begun(rig):
    """A batch is loaded, asked for and pressed; the stop button is tried once a day."""
    rig.run(2)
    assert rig.ask("ask_start", rig.load()).name == "ok"
    if PROMPTS[rig.app.sequencer.prompt_no] == "press_stop":
        rig.board.stop_open = 1
        rig.run(1)
        rig.board.stop_open = 0
        rig.run(1)
    rig.press(1.5)


def tempered(rig):
    """Half an hour of a batch, then off."""
    rig.plant = Plant(start_c=30.0)
    begun(rig)
    assert rig.state() == "melting", rig.state()
    rig.run(1800)
    assert rig.state() not in ("stopped", "locked"), rig.state()
    rig.ask("off")
    rig.plant = None
    rig.board.product_mc = rig.board.plate_mc = 21000
    rig.run(120)


def hour(rig, dice):
    """An hour of being off, asked a few times."""
    for _ in range(12):
        asked(rig, dice)
        for _ in range(300):
            rig.one_pass(1000)


def main(hours, seed):
    """Print what is free, hour by hour."""
    dice = Dice(seed)
    rig = Rig(now=FakeClock.WRAP - BEFORE_WRAP_MS, schedule=cooled_dark())
    wraps, before = 0, rig.clock.now
    for at in range(hours):
        if at % BATCH_EVERY_H == 1:
            tempered(rig)
        hour(rig, dice)
        wraps += rig.clock.now < before
        before = rig.clock.now
        rig.heard()
        gc.collect()
        print(at, gc.mem_free(), rig.state(), wraps)
    print("faults", len(rig.faults))


main(int(sys.argv[4]), int(sys.argv[5]))
