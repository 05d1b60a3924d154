"""The virtual rig whole: real firmware, real interpreter, process of its own, real port."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from rigwire.schedule import Schedule, Step
from rigwire.states import STATES
from rigwire.views import STOP_KEYS
from snapgloss.base.errors import RigError
from snapgloss.rigs.manifest import manifest
from snapgloss.schedules.demo import demo
from snapgloss.schedules.wire import to_wire
from snapgloss.virtual import interpreter
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.rig import WATCHDOG, RigOptions, VirtualRig
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

sys.path.insert(0, str(Path(__file__).parent))
from virtual_client import Client

pytestmark = [
    pytest.mark.timeout(90),
    pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal"),
]

KEPT = Schedule(
    "Lantern 72",
    "kept",
    "in_temper",
    1000,
    55_000,
    (Step("work", 31_500, 420, 1000, 34_000, 0, 0, 0),),
)
IN_TEMPER = {"mass_g": 1000.0, "start_c": 31.0, "solid": False, "start_v": 0.01}


def rows_of_a_batch(speed: str, seed: int, wait_s: float) -> list[tuple[int, ...]]:
    """Every reading from the press to the end: ms since the press, then the other values."""
    setup = PlantSetup(seed=seed, **IN_TEMPER)  # type: ignore[arg-type]
    with VirtualRigProcess(SpawnOptions(setup, speed)) as rig, Client(rig.port) as host:
        host.ask("hello", 1, 0, "test")
        time.sleep(wait_s)  # a host that takes its time, in wall time
        return rows_of(host)


def rows_of(host: Client, schedule: Schedule = KEPT) -> list[tuple[int, ...]]:
    """Run the batch to its end; its readings from the press to the last of a step."""
    host.start(schedule)
    assert host.until_state("finished", "stopped") == "finished"
    (press,) = [row for row in host.rows("event") if row.get("kind") == "press"][:1]
    began_ms = press.get("at_ms")
    rows = [row.values for row in host.rows("reading")]
    return [(row[0] - began_ms, *row[1:]) for row in rows if row[2] > 0]


def test_the_same_seed_gives_the_same_readings_at_any_speed() -> None:
    """At max and at 200, with a quick and a slow host, all fields agree; another seed differs."""
    first = rows_of_a_batch("max", seed=5, wait_s=0.0)
    assert len(first) > 420
    assert len({row[4] for row in first}) > 3  # noise and heat move the reading
    assert rows_of_a_batch("200", seed=5, wait_s=0.3) == first
    assert rows_of_a_batch("max", seed=6, wait_s=0.0) != first


@pytest.mark.long
@pytest.mark.timeout(180)
def test_a_whole_batch_is_the_same_at_any_speed() -> None:
    """The 2 kg seeded batch of the demo, two simulated hours, at max and at 200: all fields."""

    def rows(speed: str) -> list[tuple[int, ...]]:
        setup = PlantSetup(seed=5)
        with VirtualRigProcess(SpawnOptions(setup, speed)) as rig, Client(rig.port) as host:
            host.ask("hello", 1, 0, "test")
            return rows_of(host, to_wire(demo()))

    at_most = rows("max")
    assert len(at_most) > 7000
    assert rows("200") == at_most


def test_both_interpreters_run_the_same_batch() -> None:
    """The same files on CPython give the same readings as on MicroPython."""
    if not interpreter.find().is_micropython:
        pytest.skip("no MicroPython for this system")
    setup = PlantSetup(seed=5, **IN_TEMPER)  # type: ignore[arg-type]
    runs = []
    for runner in (interpreter.find(), interpreter.cpython()):
        with (
            VirtualRig(RigOptions(setup, speed=None), interpreter=runner) as rig,
            Client(rig.port) as host,
        ):
            runs.append(rows_of(host))
    assert len(runs[0]) > 420
    assert runs[0] == runs[1]


def test_what_ran_is_what_deploy_would_send() -> None:
    """The interpreter's own hashes of the files it imported are those of the manifest."""
    sent = manifest()
    with VirtualRigProcess(SpawnOptions(PlantSetup(), with_modules=True)) as rig:
        ran = dict(rig.modules)
    del ran["exchange"]
    paths = {}
    for name in ran:
        stem = name.replace(".", "/")
        paths[name] = stem + "/__init__.py" if stem + "/__init__.py" in sent else stem + ".py"
    assert {paths[name]: digest for name, digest in ran.items()} == {
        path: sent[path] for path in paths.values()
    }
    # Only a board has pins, and a flash with slots and files that may be damaged.
    names = ("codelist", "slots", "commissioned", "pinmap")
    flash_only = {f"rigfw/{name}.py" for name in names} | {"rigwire/views.py"}  # views: for hosts
    flash_only.add("rigfw/relay.py")  # loaded where the heater is switched by one
    left_out = set(sent) - set(paths.values()) - flash_only
    assert all(path.startswith(("rigfw/pico/", "rigfw/drivers/")) for path in left_out), left_out


def test_a_probe_that_fails_stops_the_batch_in_time() -> None:
    """The last good conversion began at 59 s; heat is off and the rig stopped by 63.5 s."""
    setup = PlantSetup(**IN_TEMPER)  # type: ignore[arg-type]
    options = SpawnOptions(setup, faults=["probe_missing@60"])
    with VirtualRigProcess(options) as rig, Client(rig.port) as host:
        host.start(KEPT)
        assert host.until_state("stopped", "finished") == "stopped"
        events = host.rows("event")
    (press,) = [row for row in events if row.get("kind") == "press"][:1]
    (stop,) = [row for row in events if row.get("kind") == "stop"]
    assert STOP_KEYS[stop.get("a")] == "probe_missing"
    # The press event comes with the release, 1.5 s after the press that hazards count from.
    assert 61_000 <= stop.get("at_ms") - (press.get("at_ms") - 1500) <= 63_500


def test_firmware_killed_in_a_batch_comes_back_off() -> None:
    """As after a watchdog's bite: another boot nonce, the port is the same, and no heat until
    the simulated person presses for the offer to carry on."""
    setup = PlantSetup(**IN_TEMPER)  # type: ignore[arg-type]
    with VirtualRigProcess(SpawnOptions(setup, "20")) as rig, Client(rig.port) as host:
        before = host.ask("hello", 1, 0, "test")
        host.start(KEPT)
        host.until_state("working")
        seen = len(host.messages)
        (firmware,) = children_of(rig.pid)
        os.kill(firmware, signal.SIGKILL)
        while len(kinds(host.messages[seen:], "boot", "press")) < 2:
            assert host.pump(10), host.text
        after = host.ask("hello", 1, 0, "test")
    assert b"the firmware ended; restarted" in host.text
    assert after.get("boot_nonce") != before.get("boot_nonce")
    boot, press = kinds(host.messages[seen:], "boot", "press")[:2]
    assert (boot.get("kind"), boot.get("a"), press.get("kind")) == ("boot", WATCHDOG, "press")
    between = host.messages[host.messages.index(boot) : host.messages.index(press)]
    readings = [row for row in between if row.name == "reading"]
    assert len(readings) >= 3
    for row in readings:
        assert STATES[row.get("state_no")] in ("off", "ready")
        assert row.get("heat_permille") == 0


def kinds(messages: list[Any], *wanted: str) -> list[Any]:
    """The events of these kinds, in order."""
    return [row for row in messages if row.name == "event" and row.get("kind") in wanted]


def test_a_damaged_description_locks_the_rig() -> None:
    """The firmware answers, in `locked`, and opens no window."""
    with (
        VirtualRigProcess(SpawnOptions(PlantSetup(), config_text="rig|1|x|0")) as rig,
        Client(rig.port) as host,
    ):
        identity = host.ask("hello", 1, 0, "test")
        assert identity.get("state_no") == 0
        assert identity.get("simulated") == 1


def gone(pid: int) -> bool:
    """True when the process has ended, also when nobody has collected its end yet (Linux)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except (FileNotFoundError, ProcessLookupError):
        return True


def within(seconds: float, holds: Callable[[], bool]) -> bool:
    """True as soon as `holds()` is, False after that many seconds."""
    deadline_s = time.monotonic() + seconds
    while time.monotonic() < deadline_s:
        if holds():
            return True
        time.sleep(0.02)
    return False


def children_of(pid: int) -> list[int]:
    """Process numbers of the children (Linux)."""
    listed = Path(f"/proc/{pid}/task/{pid}/children")
    if not listed.exists():
        pytest.skip("this system does not list children in /proc")
    return [int(number) for number in listed.read_text().split()]


@pytest.fixture
def process(tmp_path: Path) -> "Iterator[subprocess.Popen[bytes]]":
    """One rig started by hand, its temporary files under tmp_path."""
    environment = {**os.environ, "TMPDIR": str(tmp_path)}
    process = subprocess.Popen(
        [sys.executable, "-m", "snapgloss.virtual", "--mass-g", "500", "--speed", "max"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=environment,
    )
    yield process
    if process.poll() is None:
        process.kill()
    process.communicate()


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT, "stdin"])
def test_the_process_ends_clean(
    process: "subprocess.Popen[bytes]", tmp_path: Path, how: int | str
) -> None:
    """SIGTERM, SIGINT or the end of stdin: exit 0 within 3 s, no child, no folder left."""
    assert process.stdout is not None and process.stdin is not None
    facts = json.loads(process.stdout.readline())
    assert facts["pid"] == process.pid and Path(facts["port"]).exists()
    (firmware,) = children_of(process.pid)
    assert len(list(tmp_path.iterdir())) == 1
    if isinstance(how, str):
        process.stdin.close()
        process.stdin = None
    else:
        process.send_signal(how)
    assert process.wait(3) == 0
    assert gone(firmware)
    assert list(tmp_path.iterdir()) == []


def test_a_rig_that_is_killed_takes_its_firmware_along(process: "subprocess.Popen[bytes]") -> None:
    """SIGKILL leaves no time to clean up; the firmware ends within 3 s as its pipe does."""
    assert process.stdout is not None
    process.stdout.readline()
    (firmware,) = children_of(process.pid)
    process.kill()
    process.wait()
    assert within(3, lambda: gone(firmware))


def test_nonsense_is_refused_in_words() -> None:
    """An unknown hazard: one sentence, exit 2, no traceback."""
    done = subprocess.run(
        [sys.executable, "-m", "snapgloss.virtual", "--fault", "ghost@1"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=20,
        check=False,
    )
    assert done.returncode == 2
    assert b"No hazard is called 'ghost'" in done.stderr and b"Traceback" not in done.stderr


def test_a_spawn_that_fails_says_why() -> None:
    """The rig's own sentence is in the error."""
    with pytest.raises(RigError, match="speed"):
        VirtualRigProcess(SpawnOptions(PlantSetup(), speed="fast"))


def test_the_process_imports_nothing_heavy() -> None:
    """No numpy, pydantic, SQLAlchemy, matplotlib or serial in the rig's process."""
    listing = subprocess.run(
        [sys.executable, "-c", "import snapgloss.virtual.process, sys; print(*sys.modules)"],
        capture_output=True,
        text=True,
        timeout=20,
        check=True,
    ).stdout.split()
    heavy = {"numpy", "pydantic", "sqlalchemy", "matplotlib", "serial", "click", "rich"}
    assert "snapgloss.virtual.rig" in listing
    assert heavy.isdisjoint(listing)
