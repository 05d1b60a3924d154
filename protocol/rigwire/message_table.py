"""The messages of protocol 1 in one table; `rigwire.messages` is the codec that follows it.

A message is a frame `[name, number, value, ...]`. The number is the id of a request and of its
answer, or the sequence number of a push. Values stand in the order of the table. A message of a
few rows (readings, events) carries them as a repeated group after its own values.

The table is text, because a board has little memory: a value is `name:unit:least:most`, of a text
the least and most bytes. The codec reads a row when it needs it; `rigwire.views.TABLE` is the same
as tuples, with what each message is for, for those who have memory.
"""

from rigwire.frames import MAX_INTEGER
from rigwire.tables import ADDITIONS, PROMPTS, STEP_PROMPTS, STOP_COUNT

PROTOCOL_MAJOR = 1
PROTOCOL_MINOR = 6

TO_DEVICE = "to_device"
TO_HOST = "to_host"

MISSING_MC = -300000
"""Below absolute zero: no probe can read it, so a missing reading is never taken for 0 degC."""

BOUNDS = {
    "max": MAX_INTEGER,
    "-max": -MAX_INTEGER,
    "missing": MISSING_MC,
    "prompts": len(PROMPTS) - 1,
    "step_prompts": len(STEP_PROMPTS) - 1,
    "additions": len(ADDITIONS) - 1,
    "stops": STOP_COUNT - 1,
}
"""Words that may stand for a least or a most."""

REQUESTS = {
    "hello": "major::0:999 minor::0:999 host_version:text:0:40",
    "load_open": "bytes_total:bytes:1:4096 digest:text:8:8",
    "load_part": "offset:bytes:0:4096 text:text:1:80",
    "load_done": "digest:text:8:8",
    "load_learned": "digest:text:8:8",
    "ask_start": "digest:text:8:8",
    "off": "",
    "answer": "prompt_no::1:step_prompts",
    "declare": "addition_no::1:additions grams:g:0:15000",
    "beat": "host_ms:ms:0:max",
    "ask_status": "",
    "fetch": "from_seq::0:max",
    "fetch_events": "from_seq::0:max",
    "fetch_samples": "from_seq::0:max",
    "ask_test": (
        "heat_permille:permille:0:1000 fan_permille:permille:0:1000 "
        "stir_permille:permille:0:1000 plate_mc:mC:0:75000 most_s:s:1:3600"
    ),
    "lease": (
        "heat_permille:permille:0:1000 fan_permille:permille:0:1000 stir_permille:permille:0:1000"
    ),
    "ask_update": "",
}
"""From host to device."""

READING = (
    "at_ms:ms:0:max state_no::0:12 step_no::0:16 target_mc:mC:missing:200000 "
    "product_mc:mC:missing:200000 plate_mc:mC:missing:200000 room_mc:mC:missing:200000 "
    "heat_permille:permille:0:1000 fan_permille:permille:0:1000 stir_permille:permille:0:1000 "
    "flags:bits:0:1023"
)
SAMPLE = "at_ms:ms:0:max sample_mc:mC:missing:200000"

REPORTS = {
    "hello_is": (
        "major::0:999 minor::0:999 firmware:text:0:40 board:text:0:32 boot_nonce::0:max "
        "digest_held:text:0:8 state_no::0:12 ceiling_mc:mC:0:200000 heater_w:W:0:5000 "
        "oldest_reading::-1:max newest_reading::-1:max oldest_event::-1:max "
        "newest_event::-1:max simulated:0/1:0:1"
    ),
    "ok": "",
    "no": "code:text:0:24 words:text:0:80",
    "held": "digest:text:8:8",
    "status": (
        "state_no::0:12 step_no::0:16 left_s:s:-1:43200 prompt_no::0:prompts "
        "wait_left_s:s:-1:43200 window_left_s:s:-1:43200 stop_code::0:stops "
        "withheld_code::0:stops dropped:frames:0:max"
    ),
    "reading": READING,
    "batch": "first_seq::0:max",
    "sample": SAMPLE,
    "samples": "first_seq::0:max",
    "event": "at_ms:ms:0:max kind:text:0:16 a::-max:max b::-max:max",
    "events": "first_seq::0:max",
    "lost": "stream:0/1:0:1 from_seq::0:max to_seq::0:max",
}
"""From device to host: answers and what it sends by itself."""

GROUPS = {
    # the rows that may follow the values of a message: the most of them, the values of each
    "batch": (3, READING),
    "samples": (8, SAMPLE),
    "events": (4, "at_ms:ms:0:max kind_no::0:99 a::-max:max b::-max:max"),
}
