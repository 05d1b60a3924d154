"""Topics and payloads as host/docs/broker.md states them."""

import json

from snapgloss.base.records import Event
from snapgloss.broker import messages
from snapgloss.broker.messages import level


def test_a_reading_has_the_key_of_the_record(there, reading):
    """Board, boot nonce and number; a missing value is null."""
    told = messages.reading_message("shop/one", there, reading(9))
    assert told.topic == "shop/one/rigs/bench_1__/reading"
    assert not told.is_kept
    assert json.loads(told.payload) == {
        "format": 1, "board": "bench/1 +", "boot_nonce": 77, "simulated": True, "seq": 9,
        "at_ms": 9000, "state": "working", "step_no": 5, "target_mc": 31_500,
        "product_mc": 31_500, "plate_mc": None, "room_mc": 21_000, "heat_permille": 120,
        "fan_permille": 0, "stir_permille": 500, "flags": 1,
    }  # fmt: skip


def test_an_event(there):
    """Likewise."""
    told = messages.event_message("s", there, Event(3, 4000, "added", 1, 120))
    assert told.topic == "s/rigs/bench_1__/event"
    assert json.loads(told.payload) == {
        "format": 1, "board": "bench/1 +", "boot_nonce": 77, "simulated": True, "seq": 3,
        "at_ms": 4000, "kind": "added", "a": 1, "b": 120,
    }  # fmt: skip


def test_a_state_is_kept(there, reading):
    """For who looks later: where the rig is, and which host says so."""
    told = messages.state_message("s", "ho st", there, reading(9))
    assert (told.topic, told.is_kept) == ("s/rigs/bench_1__/state", True)
    assert json.loads(told.payload) == {
        "format": 1, "board": "bench/1 +", "boot_nonce": 77, "simulated": True, "host": "ho_st",
        "firmware": "0.1.0", "state": "working", "step_no": 5, "at_ms": 9000,
    }  # fmt: skip


def test_no_name_makes_a_level_of_its_own():
    """Nor a wildcard, nor an empty one."""
    assert [level(name) for name in ("a/b", "+", "#", "", "Böhm-1.x")] == [
        "a_b", "_", "_", "_", "B_hm-1.x",
    ]  # fmt: skip
