"""A rig made of numbers for the firmware's tests: clock, board, port, a lumped plant, a host.

Runs on MicroPython and CPython. Nothing here sleeps; time is what the test says it is.
"""

import gc
import sys

from rigfw.app import App
from rigfw.config import RigConfig
from rigwire import messages
from rigwire.frames import decode
from rigwire.messages import MISSING_MC
from rigwire.schedule import Schedule, Step, digest, to_body
from rigwire.states import STATES

BENCH = {
    "heater_w": 100,
    "plate_j_per_k": 500,
    "plate_w_per_k": 15,
    "loss_mw_per_k": 1000,
    "fan_loss_mw_per_k": 4000,
    "probe_lag_ms": 8000,
    "ceiling_mc": 55000,
    "plate_ceiling_mc": 70000,
    "attended_limit_s": 3600,
    "min_on_ms": 250,
    "min_off_ms": 250,
    "fan_min_ms": 0,
    "has_plate": 1,
    "has_room": 1,
    "has_tacho": 0,
    "has_sense": 0,
    "tacho_pulses": 1,
    "checks_off": 0,
}


def bench(**changes):
    """The bench's RigConfig, with these fields changed."""
    fields = dict(BENCH)
    fields.update(changes)
    return RigConfig(**fields)


KEPT_BYTES = 1600
"""A fake host that forgets: tests of an hour must fit a board's heap."""


class FakeClock:
    """Wraps like the device's: 2^30 ms. `now` is set by the test.

    `diff` allocates nothing where whole numbers have 31 bits, as the device's own.
    """

    WRAP = 1 << 30
    _MASK = WRAP - 1
    _HALF = WRAP >> 1

    def __init__(self, now=0):
        self.now = now % self.WRAP

    def now_ms(self):
        """The present ms, 0 to 2^30 - 1."""
        return self.now

    def add(self, at_ms, more_ms):
        """A later time, wrapped."""
        return (at_ms + more_ms) % self.WRAP

    def diff(self, a_ms, b_ms):
        """a - b in ms, right within half the wrap."""
        passed_ms = (a_ms - b_ms) & self._MASK
        return passed_ms - self._HALF - self._HALF if passed_ms >= self._HALF else passed_ms


class FakePort:
    """Bytes in, bytes out. `is_open` False means that the host does not read."""

    def __init__(self):
        self.incoming = b""
        self.outgoing = b""
        self.is_open = True
        self.longest = 0
        self.writes = 0

    def read(self, buf):
        """Fill buf from what the host sent; the count."""
        if not self.incoming:
            return 0
        count = min(len(buf), len(self.incoming))
        buf[:count] = self.incoming[:count]
        self.incoming = self.incoming[count:]
        return count

    def writable(self):
        """True while the host reads."""
        return self.is_open

    def write(self, data):
        """Take all of it and remember the longest."""
        self.longest = max(self.longest, len(data))
        self.writes += 1
        self.outgoing += bytes(data)
        if len(self.outgoing) > KEPT_BYTES:
            self.outgoing = self.outgoing[self.outgoing.find(b"\n", KEPT_BYTES // 2) + 1 :]
        return len(data)


class FakeBoard:
    """Probes and contacts as the test sets them; what was written is kept as numbers."""

    def __init__(self):
        self.port = FakePort()
        self.board_id = "fake-1"
        self.boot_nonce = 7
        self.simulated = 1
        self.product_mc = 21000
        self.plate_mc = 21000
        self.room_mc = 21000
        self.sample_mc = MISSING_MC
        self.is_converting = True
        self.has_plate = 1
        self.start_down = self.pedal_down = self.stop_open = 0
        self.bowl_present = self.stir_turning = 1
        self.heater_live = 0
        self.free = 90000
        self.heat_on = self.enable_edge = self.fan_permille = self.stir_permille = 0
        self.buzzer = self.lamp = 0
        self.offs = self.kicks = self.shows = 0
        self.shown = None
        self._converted_s = -1

    def read_probes(self, readings, now_ms):
        """A conversion begins at every whole second and is there at once."""
        if not self.is_converting or now_ms // 1000 == self._converted_s:
            return
        self._converted_s = now_ms // 1000
        readings.product_mc = self.product_mc
        readings.plate_mc = self.plate_mc if self.has_plate else MISSING_MC
        readings.room_mc = self.room_mc
        readings.sample_mc = self.sample_mc
        readings.product_at_ms = readings.plate_at_ms = readings.room_at_ms = now_ms

    def inputs(self, inputs):
        """The contacts."""
        inputs.start_down = self.start_down
        inputs.pedal_down = self.pedal_down
        inputs.stop_open = self.stop_open
        inputs.bowl_present = self.bowl_present
        inputs.heater_live = self.heater_live
        inputs.stir_turning = self.stir_turning

    def write(self, outputs):
        """Keep what was written."""
        self.heat_on = outputs.heat_on
        self.enable_edge = outputs.enable_edge
        self.fan_permille = outputs.fan_permille
        self.stir_permille = outputs.stir_permille
        self.buzzer = outputs.buzzer
        self.lamp = outputs.lamp

    def all_off(self):
        """Every output off."""
        self.offs += 1
        self.heat_on = self.enable_edge = self.fan_permille = self.stir_permille = 0
        self.buzzer = self.lamp = 0

    def free_bytes(self):
        """Memory left."""
        return self.free

    def kick(self):
        """The watchdog is fed."""
        self.kicks += 1

    def show(self, display):
        """The display's numbers."""
        self.shows += 1
        self.shown = display


class FakeKeep:
    """What outlives the App. Every write is remembered with whether the heater was on."""

    def __init__(self):
        self.files = {}
        self.board = None
        self.writes = []
        self.is_full = False

    def read(self, name):
        """The bytes, b"" when none."""
        return self.files.get(name, b"")

    def write(self, name, data):
        """Keep them."""
        self.writes.append((name, self.board.heat_on))
        if self.is_full:
            return False
        self.files[name] = bytes(data)
        return True


class Plant:
    """Three lumps: plate, chocolate, probe. degC, J/K, W. No crystals: see the virtual rig."""

    def __init__(self, mass_g=2000, start_c=21.0, room_c=21.0, loss_w_per_k=1.0, lag_s=8.0):
        self.product_c = self.plate_c = self.probe_c = start_c
        self.room_c = room_c
        self.loss_w_per_k = loss_w_per_k
        self.lag_s = lag_s
        self.heat_j_per_k = mass_g / 1000 * 1600.0
        self.contact_w_per_k = 15.0
        self.extra_w = 0.0
        self.plate_part = 0.5  # of the loss, straight from the plate

    def advance(self, board, passed_s):
        """Drive with the board's outputs; give it the probes, in steps of 0.0625 K."""
        flow_w = self.contact_w_per_k * (self.plate_c - self.product_c)
        fan_w = 4.0 * board.fan_permille / 1000 * (self.plate_c - self.room_c)
        loss_w = self.loss_w_per_k * (self.product_c - self.room_c)
        direct_w = self.plate_part * self.loss_w_per_k * (self.plate_c - self.room_c)
        loss_w *= 1 - self.plate_part
        self.plate_c += passed_s * (100.0 * board.heat_on - flow_w - fan_w - direct_w) / 500.0
        self.product_c += passed_s * (flow_w - loss_w + self.extra_w) / self.heat_j_per_k
        self.probe_c += passed_s * (self.product_c - self.probe_c) / self.lag_s
        board.product_mc = int(self.probe_c * 16 + 0.5) * 1000 // 16
        board.plate_mc = int(self.plate_c * 16 + 0.5) * 1000 // 16
        board.room_mc = int(self.room_c * 16 + 0.5) * 1000 // 16

    def add(self, grams, at_c):
        """Mix chocolate in, no latent heat."""
        more = grams / 1000 * 1600.0
        mixed = self.product_c * self.heat_j_per_k + at_c * more
        self.heat_j_per_k += more
        self.product_c = mixed / self.heat_j_per_k


def seeded_dark(mass_g=2000):
    """Melt, rest, cool to the seeding temperature, seed, cool to work, work."""
    return Schedule(
        "Lantern 72",
        "seeded",
        "liquid",
        mass_g,
        55000,
        [
            Step("melt", 48000, 60, 3000, 60000, 1, 120),
            Step("rest", 48000, 120, 3000, 60000),
            Step("cool", 33500, 0, 2000, 60000),
            Step("seed", 33500, 120, 1000, 34500, 2, 600, 120),
            Step("cool", 31500, 0, 1000, 34000),
            Step("work", 31500, 1200, 1000, 34000, 4),
        ],
    )


def cooled_dark(mass_g=2000):
    """Melt, cool to the low point, rewarm, work."""
    return Schedule(
        "Lantern 72",
        "cooled",
        "liquid",
        mass_g,
        55000,
        [
            Step("melt", 48000, 60, 3000, 60000, 1, 60),
            Step("cool", 28000, 120, 2000, 60000),
            Step("rewarm", 31500, 0, 1000, 34000),
            Step("work", 31500, 1200, 1000, 34000, 4),
        ],
    )


def make_room():
    """Free the rig of the test before where the heap is that of a board."""
    if sys.implementation.name == "micropython":
        gc.collect()


class Rig:
    """An App on a fake board, pass by pass, with a host's end of the wire."""

    def __init__(self, now=0, schedule=None, plant=None, keep=None, is_proven=True, **changes):
        make_room()
        fields = dict(BENCH)
        fields.update(changes)
        self.clock = FakeClock(now)
        self.board = FakeBoard()
        self.board.has_plate = fields["has_plate"]
        if keep:
            self.board.keep = keep
            keep.board = self.board
        self.faults = []
        self.app = App(self.board, RigConfig(**fields), self.clock, on_fault=self.faults.append)
        if is_proven:
            self.app.attend.stop_proof.is_due = 0
        self.schedule = schedule or seeded_dark()
        self.body = to_body(self.schedule)
        self.plant = plant
        self.number = 1000  # pushed statuses count from 0 and must not look like answers
        self.passes = 0

    def one_pass(self, passed_ms=250):
        """Time goes on, then the firmware runs once."""
        self.clock.now = self.clock.add(self.clock.now, passed_ms)
        if self.plant:
            self.plant.advance(self.board, passed_ms / 1000)
        self.app.loop(self.clock.now)
        self.passes += 1

    def run(self, seconds):
        """So many seconds of passes."""
        for _ in range(int(seconds * 4)):
            self.one_pass()

    def run_until(self, is_done, most_s):
        """Passes until is_done(rig); the seconds that took. Fails after most_s."""
        for count in range(int(most_s * 4)):
            if is_done(self):
                return count / 4
            self.one_pass()
        raise AssertionError("not within %d s, state %s" % (most_s, self.state()))

    def state(self):
        """The state's name."""
        return STATES[self.app.sequencer.state_no]

    def press(self, held_s):
        """Hold the start button for so long, then let go."""
        self.board.start_down = 1
        self.run(held_s)
        self.board.start_down = 0
        self.one_pass()

    def ask(self, name, *values):
        """One request; its answer as a Message."""
        self.number += 1
        return self.ask_as(self.number, name, *values)

    def ask_as(self, number, name, *values):
        """One request under this number; its answer as a Message."""
        self.send_line(messages.encode(name, number, values))
        answers = [one for one in self.heard() if is_answer(one, number)]
        assert len(answers) == 1, "one answer expected"
        return answers[0]

    def send_line(self, line):
        """Bytes from the host, and enough passes to read and answer them."""
        port = self.board.port
        port.outgoing = port.outgoing[port.outgoing.rfind(b"\n") + 1 :]  # half a frame stays
        port.incoming += line
        for _ in range(8):
            self.one_pass()

    def heard(self):
        """The messages that came since the last send_line or heard()."""
        lines = self.board.port.outgoing.split(b"\n")
        self.board.port.outgoing = lines[-1]  # half a frame stays
        found = []
        for line in lines[:-1]:
            found.append(messages.parse(decode(line + b"\n"), messages.TO_HOST))
        return found

    def load(self):
        """Upload the schedule; its digest."""
        name = digest(self.body)
        assert self.ask("load_open", len(self.body), name).name == "ok"
        text = self.body.decode()
        for at in range(0, len(text), 60):
            assert self.ask("load_part", at, text[at : at + 60]).name == "ok"
        assert self.ask("load_done", name).name == "held"
        return name

    def start(self):
        """Load, ask, press: the first step runs."""
        self.run(2)
        name = self.load()
        assert self.ask("ask_start", name).name == "ok"
        self.press(1.5)
        assert self.state() not in ("ready", "off"), self.state()

    def events(self):
        """All events held: rows (at_ms, kind_no, a, b)."""
        ring = self.app.journal.events
        return [ring.row(seq) for seq in range(max(0, ring.oldest()), ring.next_seq)]


class NoWitness:
    """Believes everything. For tests that move readings as no heat does, to try another check."""

    doubt = unasked = is_dead = needs_press = is_gentle = 0

    def second(self, *_figures):
        """Nothing is compared."""

    in_melt = begin = begin_step = second

    def renew(self, *_figures):
        """Nothing is remembered."""

    answered = after_pause = renew

    def may_return(self, *_figures):
        """Always."""
        return True


def unwitnessed(rig):
    """The rig, without the checks of heat against temperatures."""
    rig.app.interlocks.seconds.witness = NoWitness()
    return rig


def is_answer(message, number):
    """True for a message that answers the request of this number."""
    names = ("hello_is", "ok", "no", "held", "batch", "events", "samples", "lost")
    if message.name == "status":
        return message.number == number
    return message.name in names and message.number == number


def kinds(rig):
    """The names of all events held, in order."""
    return [messages_kind(row[1]) for row in rig.events()]


def messages_kind(kind_no):
    """The name of an event."""
    from rigwire.tables import EVENT_NAMES

    return EVENT_NAMES[kind_no]


MISSING = MISSING_MC
