"""Cut, repeat, swap, drop and mix the requests of an upload; the rig holds one whole schedule.

    python tests/faults/uploads.py --mixtures 2000 --seed 1 --json

The firmware's own App runs in this process, on a board made of numbers. "Held" is proven three
ways: the digest in the answer to hello, the schedule read back and encoded again, and the same
two after a reset from what the board kept. Nothing here is asked of the code under test but that.
"""

import argparse
import json
import random
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "shared"))

from fw_fakes import FakeKeep, Rig, cooled_dark, is_answer, seeded_dark
from rigwire import messages
from rigwire.schedule import digest, to_body

PASS_BYTES = 256  # what the rig reads in one pass
OLD, NEW, THIRD = to_body(cooled_dark()), to_body(seeded_dark()), to_body(seeded_dark(1500))
NAMES = {digest(body): body for body in (OLD, NEW, THIRD)}


@dataclass
class Count:
    """What was tried, and every case that held something else than it should."""

    cuts: int = 0
    retries: int = 0
    orders: int = 0
    mixtures: int = 0
    requests: int = 0
    seed: int = 0
    wrong: list[str] = field(default_factory=list)

    @property
    def good(self) -> bool:
        """All tried, none wrong."""
        return self.cuts > 0 and self.mixtures > 0 and not self.wrong


def frames_of(body: bytes, first_id: int = 5_000_000, part_bytes: int = 80) -> list[bytes]:
    """The requests of one upload, as the host sends them."""
    name = digest(body)
    asked: list[tuple[str, tuple[object, ...]]] = [("load_open", (len(body), name))]
    for at in range(0, len(body), part_bytes):
        asked.append(("load_part", (at, body[at : at + part_bytes].decode())))
    asked.append(("load_done", (name,)))
    return [
        bytes(messages.encode(what, first_id + at, values))
        for at, (what, values) in enumerate(asked)
    ]


def kept_with_old() -> dict[str, bytes]:
    """What the board keeps after it was given OLD."""
    keep = FakeKeep()
    rig = Rig(keep=keep, schedule=cooled_dark())
    rig.run(2)
    rig.load()
    return dict(keep.files)


class Bench:
    """Rigs that hold OLD, each new. `send` gives bytes as a cable does, a pass at a time."""

    def __init__(self) -> None:
        self._kept = kept_with_old()
        self.keep = FakeKeep()
        self.rig = self.fresh()

    def fresh(self) -> Rig:
        """A rig that was given OLD and has been switched on since."""
        self.keep = FakeKeep()
        self.keep.files = dict(self._kept)
        self.rig = self._on()
        return self.rig

    def _on(self) -> Rig:
        rig = Rig(keep=self.keep, schedule=cooled_dark())
        rig.run(1)
        return rig

    def reset(self) -> None:
        """Power off and on."""
        self.rig = self._on()

    def send(self, data: bytes) -> None:
        """Bytes from the host and the passes to read them."""
        self.rig.board.port.incoming += data
        for _ in range(len(data) // PASS_BYTES + 3):
            self.rig.one_pass()

    def ask(self, number: int, name: str, *values: object) -> list[messages.Message]:
        """One request; all answers to it."""
        self.send(bytes(messages.encode(name, number, values)))
        return [one for one in self.rig.heard() if is_answer(one, number)]

    def held(self) -> bytes | None:
        """The body held, when its digest says the same; None for a mixture."""
        schedule, name = self.rig.app.desk.upload.held, self.rig.app.desk.upload.digest
        if schedule is None or name not in NAMES:
            return None
        body = bytes(to_body(schedule))
        (hello,) = self.ask(9_000_001, "hello", 1, 1, "bench")
        return body if NAMES[name] == body and hello.get("digest_held") == name else None


class Campaign:
    """Every case of an upload that goes wrong."""

    def __init__(self, seed: int) -> None:
        self.count = Count(seed=seed)
        self._chance = random.Random(seed)
        self._bench = Bench()

    def _expect(self, case: str, bodies: Sequence[bytes]) -> None:
        """The rig holds one of these, now and after a reset."""
        for when in ("", ", after a reset"):
            held = self._bench.held()
            if held not in bodies:
                self.count.wrong.append(f"{case}{when}: holds {held!r}")
            bodies = [held] if held else bodies
            self._bench.reset()

    def cuts(self) -> None:
        """The stream of an upload ends after each of its bytes; a later host is not disturbed."""
        stream = b"".join(frames_of(NEW))
        for cut in range(len(stream) + 1):
            wanted = NEW if cut == len(stream) else OLD
            self._bench.fresh()
            self._bench.send(stream[:cut])
            self._expect(f"cut after byte {cut}", [wanted])
            self._retry(stream, cut)
            self.count.cuts += 1

    def _retry(self, stream: bytes, cut: int) -> None:
        """Another host on the same rig, with half a frame still on the line."""
        self._bench.fresh()
        self._bench.send(stream[:cut])
        self._bench.ask(9_000_000, "hello", 1, 1, "bench")
        for frame in frames_of(THIRD, 6_000_000):
            self._bench.send(frame)
        self._expect(f"another upload after a cut at byte {cut}", [THIRD])
        self.count.retries += 1

    def orders(self) -> None:
        """Each request dropped, repeated, repeated at the end, and swapped with the next."""
        frames = frames_of(NEW)
        for at in range(len(frames)):
            self._order(f"{at} dropped", frames[:at] + frames[at + 1 :], [OLD])
            self._order(f"{at} repeated", frames[: at + 1] + frames[at:], [NEW])
            self._order(f"{at} again at the end", [*frames, frames[at]], [NEW])
            swapped = [*frames[:at], *reversed(frames[at : at + 2]), *frames[at + 2 :]]
            self._order(f"{at} swapped", swapped, [OLD] if swapped != frames else [NEW])
        self._order("an old upload's end once more", [*frames_of(THIRD, 7_000_000), *frames,
                    frames_of(THIRD, 7_000_000)[-1]], [NEW])  # fmt: skip

    def _order(self, case: str, frames: Sequence[bytes], bodies: Sequence[bytes]) -> None:
        self._bench.fresh()
        for frame in frames:
            self._bench.send(frame)
        self._expect(case, bodies)
        self.count.orders += 1

    def mixtures(self, many: int) -> None:
        """Two uploads' requests in any order, some dropped, some twice, some bytes damaged."""
        for number in range(many):
            frames = frames_of(NEW, 7_000_000) + frames_of(THIRD, 8_000_000)
            chance = self._chance
            mixed = [frame for frame in frames if chance.random() < 0.95]
            mixed += chance.sample(frames, chance.randint(0, 3))
            for _ in range(chance.choice((0, 1, 3, 100))):  # from a few moves to any order
                a, b = chance.randrange(len(mixed)), chance.randrange(len(mixed))
                mixed.insert(b, mixed.pop(a))
            if chance.random() < 0.3:
                at = chance.randrange(len(mixed))
                place = chance.randrange(len(mixed[at]))
                mixed[at] = mixed[at][:place] + b"?" + mixed[at][place + 1 :]
            self._bench.fresh()
            for frame in mixed:
                self._bench.send(frame)
            self._expect(f"mixture {number}", [OLD, NEW, THIRD])
            self.count.mixtures += 1

    def requests(self) -> None:
        """Answered once, numbers not used twice, hello clears, a window starts what it names."""
        for check in (
            self._answered_once, self._number_used_twice, self._window_names_its_schedule,
            self._window_before_an_upload, self._window_closed_by_an_upload,
        ):  # fmt: skip
            self._bench.fresh()
            check()
            self.count.requests += 1

    def _say(self, case: str, is_right: bool) -> None:
        if not is_right:
            self.count.wrong.append(case)

    def _answered_once(self) -> None:
        """The same bytes again: the same answer, and one event of loading."""
        bench, before = self._bench, len(self._bench.rig.events())
        for frame in frames_of(NEW):
            bench.send(frame)
        done = frames_of(NEW)[-1]
        answers = []
        for _ in range(3):
            bench.send(done)
            answers += [m.name for m in bench.rig.heard() if is_answer(m, _number(done))]
        self._say("load_done again is held", answers.count("held") >= 3)
        self._say("loaded once", len(bench.rig.events()) == before + 1)

    def _number_used_twice(self) -> None:
        bench = self._bench
        bench.ask(50, "ask_status")
        (again,) = bench.ask(50, "off")
        self._say("a number used twice is refused", again.get("code") == "id_reused")
        bench.ask(51, "hello", 1, 1, "bench")
        self._say("hello clears", [m.name for m in bench.ask(50, "off")] == ["ok"])

    def _window_names_its_schedule(self) -> None:
        """Another digest than the one held is refused, and a press then starts nothing."""
        bench = self._bench
        (answer,) = bench.ask(60, "ask_start", digest(NEW))
        self._say("another digest is refused", answer.get("code") == "digest")
        bench.rig.press(1.5)
        self._say("a press without a window starts nothing", bench.rig.state() == "off")

    def _window_before_an_upload(self) -> None:
        """While a window is open no upload is taken; the press starts what the window named."""
        bench = self._bench
        bench.ask(70, "ask_start", digest(OLD))
        refused = []
        for frame in frames_of(NEW):
            bench.send(frame)
            refused += [m.get("code") for m in bench.rig.heard() if m.name == "no"]
        self._say("no upload in a window", set(refused) == {"busy"} and len(refused) >= 3)
        bench.rig.press(1.5)
        started = bench.rig.app.sequencer.schedule
        self._say("the window starts what it named", bytes(to_body(started)) == OLD)
        self._say("and it has started", bench.rig.state() == "melting")

    def _window_closed_by_an_upload(self) -> None:
        """A window that was turned off for an upload is gone: a press starts nothing."""
        bench = self._bench
        bench.ask(80, "ask_start", digest(OLD))
        bench.ask(81, "off")
        for frame in frames_of(NEW):
            bench.send(frame)
        bench.rig.press(1.5)
        self._say("a press after an upload starts nothing", bench.rig.state() == "off")
        self._say("the new one is held", bench.held() == NEW)


def _number(frame: bytes) -> int:
    return int(json.loads(frame.rpartition(b" ")[0])[1])


def campaign(mixtures: int, seed: int) -> Count:
    """Run all of it."""
    trial = Campaign(seed)
    trial.cuts()
    trial.orders()
    trial.requests()
    trial.mixtures(mixtures)
    return trial.count


def main() -> int:
    """Run it and print the counts; 0 when the rig always held one whole schedule."""
    parser = argparse.ArgumentParser(description="Uploads that go wrong, on the firmware itself.")
    parser.add_argument("--mixtures", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args()
    count = campaign(chosen.mixtures, chosen.seed)
    print(json.dumps(asdict(count)) if chosen.json else count)
    return 0 if count.good else 1


if __name__ == "__main__":
    sys.exit(main())
