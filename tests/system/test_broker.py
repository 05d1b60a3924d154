"""Live readings at Debian's mosquitto, over TLS and with a password, read by mosquitto_sub."""

import gc
import json
import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from snapgloss.base.records import Identity, Reading
from snapgloss.broker.address import broker_of
from snapgloss.broker.messages import reading_message
from snapgloss.broker.outbox import Outbox
from snapgloss.broker.outlet import Outlet
from snapgloss.store import open_store

from .brokers import WITHIN_S, Mosquitto

pytestmark = [
    pytest.mark.server,
    pytest.mark.enable_socket,
    pytest.mark.timeout(180),
    # paho leaves an encrypted socket to the garbage collector when its broker dies (paho 2.2).
    pytest.mark.filterwarnings("ignore:unclosed <ssl.SSLSocket:ResourceWarning"),
    pytest.mark.filterwarnings("ignore:Exception ignored in. <ssl.SSLSocket"),
]

THERE = Identity("bench-1", 77, "0.1.0", 1, 0, "", "off", 55000, 100, -1, -1, -1, -1, True)


def reading(seq: int) -> Reading:
    """One of a second, with a probe missing."""
    return Reading(seq, seq * 1000, "working", 5, 31_500, 31_400, None, 21_000, 120, 0, 500, 1)


@pytest.fixture(autouse=True)
def _nothing_left():
    """What paho leaves lying is swept up here, not in the midst of another test."""
    yield
    for thread in threading.enumerate():
        if thread.name.startswith("paho-mqtt-client"):
            thread.join(WITHIN_S)
    gc.collect()


@pytest.fixture
def mosquitto(tmp_path_factory):
    """A broker that runs."""
    made = Mosquitto(tmp_path_factory.mktemp("broker"))
    made.start()
    yield made
    made.kill()


def until(is_so, what: str) -> None:
    """Wait for another process."""
    end_s = time.monotonic() + WITHIN_S
    while not is_so():
        assert time.monotonic() < end_s, what
        threading.Event().wait(0.02)


class Heard:
    """What mosquitto_sub printed so far: was it kept, its topic, what it says."""

    def __init__(self, process: subprocess.Popen) -> None:
        self.told: list[tuple[bool, str, dict]] = []
        self._process = process
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        for line in self._process.stdout:
            kept, topic, text = line.split(" ", 2)
            self.told.append((kept == "1", topic, json.loads(text)))

    def of(self, end: str) -> list[dict]:
        """What was told on topics that end so."""
        return [what for _kept, topic, what in self.told if topic.endswith(end)]

    def close(self) -> None:
        """End the reader."""
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()


@pytest.fixture
def hear(mosquitto):
    """Begin to listen, from now on; what is kept comes first."""
    begun = []

    def begin() -> Heard:
        begun.append(Heard(mosquitto.reader()))
        return begun[-1]

    yield begin
    for one in begun:
        one.close()


def ready(heard: Heard, said: list[str], outlet: Outlet) -> None:
    """A reader who joined late hears the host, which is kept; then both are there."""
    until(lambda: heard.of("/hosts/laptop"), "the host is not told")
    assert said == []
    assert outlet.dropped == 0


def test_what_the_record_has_is_read_by_another_program(mosquitto, hear, tmp_path):
    """A whole simulated batch by the command: mosquitto_sub gets each reading and event of the
    record once, with the same values, and what is kept tells who looks later."""
    file = tmp_path / "broker.url"
    file.write_text(mosquitto.url)
    file.chmod(0o600)
    heard = hear()
    command = [sys.executable, "-m", "snapgloss", "--data", str(tmp_path), "try"]
    done = subprocess.run(
        [*command, "--mass", "500g", "--speed", "2000", "--json"], capture_output=True, text=True,
        check=False, env={k: v for k, v in os.environ.items() if k != "SNAPGLOSS_BROKER"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "broker" not in done.stderr
    with open_store(tmp_path) as store:
        kept = {r.seq: r._asdict() for r in store.readings(1)}
        events = {e.seq: e._asdict() for e in store.events(1) if e.seq >= 0}
    until(lambda: heard.of("/hosts/" + os.uname().nodename)[-1:] == [_host(False)], "no goodbye")
    told = {one["seq"]: one for one in heard.of("/reading")}
    assert len(told) == len(heard.of("/reading"))  # no reading twice
    assert len(kept) > 3000
    assert all({name: told[seq][name] for name in row} == row for seq, row in kept.items())
    happened = {one["seq"]: one for one in heard.of("/event")}
    assert all({name: happened[seq][name] for name in row} == row for seq, row in events.items())
    late = hear()
    until(lambda: len(late.told) >= 2, "nothing was kept")
    assert all(is_kept for is_kept, _topic, _what in late.told)
    assert [one["state"] for one in late.of("/state")] == [heard.of("/state")[-1]["state"]]


def _host(is_there: bool) -> dict:
    return {"format": 1, "is_there": is_there}


def test_a_host_that_dies_is_told_of_by_the_broker(mosquitto, hear):
    """Its last will: killed without a word, it is not there any more."""
    heard = hear()
    program = (
        "import sys, time; from snapgloss.broker.address import broker_of\n"
        "from snapgloss.broker.outlet import Outlet\n"
        "with Outlet(broker_of(sys.argv[1]), 'laptop', print): time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", program, mosquitto.url]) as process:
        until(lambda: heard.of("/hosts/laptop") == [_host(True)], "it never came")
        process.kill()
    until(lambda: heard.of("/hosts/laptop") == [_host(True), _host(False)], "no last will")
    late = hear()
    until(lambda: late.told == [(True, "shop/hosts/laptop", _host(False))], "it was not kept")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda url: url.replace("maker:", "other:"), "refuses: not authorized"),
        (lambda url: url.replace("localhost", "127.0.0.1"), "does not answer"),
        (lambda url: url.split("?")[0], "does not answer"),
    ],
)
def test_only_the_right_maker_and_the_right_broker(mosquitto, hear, change, words):
    """Another name or password is refused; a certificate for another name, or from nobody whom
    this computer trusts, is not talked to. It is said, nothing arrives, and leaving ends."""
    heard, said = hear(), []
    with Outlet(broker_of(change(mosquitto.url)), "laptop", said.append) as outlet:
        outlet.put(reading_message("shop", THERE, reading(1)))
        until(lambda: said, "nothing was said")
    assert words in said[0]
    assert "1 messages: 0 dropped, 1 left over" in said[-1]
    assert heard.told == []


def test_a_broker_that_dies_in_mid_run_gets_the_rest_when_it_is_back(mosquitto, hear):
    """Nothing waits for it, what comes meanwhile is kept back up to the bound, and the newest of
    it arrives; what was dropped is said with its number."""
    said: list[str] = []
    with Outlet(broker_of(mosquitto.url), "laptop", said.append, outbox=Outbox(100)) as outlet:
        heard = hear()
        ready(heard, said, outlet)
        outlet.put(reading_message("shop", THERE, reading(0)))
        until(lambda: heard.of("/reading"), "the first did not arrive")
        mosquitto.kill()
        until(lambda: said, "nobody said that it is gone")
        for seq in range(1, 501):
            outlet.put(reading_message("shop", THERE, reading(seq)))
        assert outlet.dropped == 400
        mosquitto.start()
        again = hear()
        until(lambda: len(said) == 2, "nobody said that it is back")
        until(lambda: len(outlet._outbox) == 0, "the rest did not go out")
        outlet.put(reading_message("shop", THERE, reading(501)))
        until(lambda: any(o["seq"] == 501 for o in again.of("/reading")), "the last is missing")
    assert "is gone. The batch is recorded all the same." in said[0]
    assert said[1].endswith("is told again; 400 of the oldest messages were dropped.")


def test_a_broker_that_stands_still_bounds_what_waits(mosquitto, hear):
    """Stopped by a signal with the connection open: putting goes on, the oldest are dropped, and
    when it goes on, the newest arrive."""
    said: list[str] = []
    with Outlet(broker_of(mosquitto.url), "laptop", said.append, outbox=Outbox(100)) as outlet:
        heard = hear()
        ready(heard, said, outlet)
        mosquitto.signal(signal.SIGSTOP)
        for seq in range(1000):
            outlet.put(reading_message("shop", THERE, reading(seq)))
        assert outlet.dropped >= 1000 - 100 - 20
        mosquitto.signal(signal.SIGCONT)
        until(lambda: any(o["seq"] == 999 for o in heard.of("/reading")), "the newest is missing")
    assert f"did not get {outlet.dropped} messages" in said[-1]
