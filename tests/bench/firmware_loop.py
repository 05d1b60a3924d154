"""How long one pass of the firmware takes, in the mean over a heated bowl. Prints JSON.

    micropython tests/bench/firmware_loop.py PROTOCOL_DIR FIRMWARE_DIR SHARED_TESTS_DIR [PASSES]

The board is a fake whose own time is measured with an empty App and taken off.
"""

import json
import sys
import time

sys.path[:0] = sys.argv[1:4]

import fw_fakes  # noqa: E402 - found on the path given above

PASSES = int(sys.argv[4]) if len(sys.argv) > 4 else 20000


def _ticks_us():
    if hasattr(time, "ticks_us"):
        return time.ticks_us()
    return time.perf_counter_ns() // 1000


def _mean_us(work, rig):
    began = _ticks_us()
    for _ in range(PASSES):
        rig.clock.now = rig.clock.add(rig.clock.now, 250)
        if rig.passes & 63 == 0:
            rig.board.port.outgoing = b""
        rig.passes += 1
        work(rig.clock.now)
    return (_ticks_us() - began) / PASSES


def _rig():
    schedule = fw_fakes.seeded_dark()
    schedule.steps = schedule.steps[1:]
    schedule.steps[0].hold_s = 14400
    rig = fw_fakes.Rig(schedule=schedule, attended_limit_s=14400)
    rig.board.product_mc, rig.board.plate_mc = 48050, 48400  # what stands still needs no heat
    rig.start()
    return rig


def main():
    """Measure and print."""
    rig = _rig()
    whole_us = _mean_us(rig.app.loop, rig)
    state = rig.state()
    base_us = _mean_us(lambda now_ms: None, rig)
    figures = {
        "interpreter": sys.implementation.name,
        "passes": PASSES,
        "state": state,
        "loop_us": round(whole_us - base_us, 1),
        "loop_and_fake_us": round(whole_us, 1),
    }
    for phase in ("judge", "step", "regulate", "write", "report"):
        rig = _rig()
        rig.app.read(rig.clock.now)
        work = getattr(rig.app, phase)
        rig.app.is_new_second = False
        phase_us = _mean_us(lambda now_ms, work=work: work(), rig)
        figures[phase + "_us"] = round(phase_us - base_us, 1)
    assert state == "resting", state
    print(json.dumps(figures))


main()
