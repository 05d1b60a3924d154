"""The mains goes in the middle of a batch and comes back: the rig offers, a person presses."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "system"))

import pytest
from virtual_client import Client

from rigwire.schedule import Schedule, Step
from rigwire.states import STATES
from snapgloss.virtual.plant import PlantSetup
from snapgloss.virtual.spawn import SpawnOptions, VirtualRigProcess

KEPT = Schedule(
    "Lantern 72",
    "kept",
    "in_temper",
    2000,
    55_000,
    [
        Step("rewarm", 31_500, 0, 800, 34_000),
        Step("work", 31_500, 1500, 500, 34_000),
    ],
)
IN_TEMPER = PlantSetup(solid=False, start_c=30.0, start_v=0.01)


def events(host: Client) -> list[tuple[str, int]]:
    """Kind and first value of every event pushed."""
    return [(row.get("kind"), row.get("a")) for row in host.rows("event")]


def test_a_short_cut_is_carried_on_by_a_press() -> None:
    """60 s without power in work: a boot from power on, an offer, a press, work to its end."""
    options = SpawnOptions(IN_TEMPER, faults=["power_cut@900-960"])
    with VirtualRigProcess(options) as rig, Client(rig.port) as host:
        host.start(KEPT)
        while ("carried_on", 2) not in events(host):
            assert host.pump(10), (events(host), host.text)
        assert host.until_state("finished", "stopped") == "finished"
        happened = events(host)
    cut = happened.index(("boot", 1), 1)
    after = [kind for kind, _ in happened[cut:] if kind in ("offer", "press", "carried_on")]
    assert after[:3] == ["offer", "press", "carried_on"]
    assert b"the power is cut" in host.text
    assert b"Traceback" not in host.text
    heated = [
        row
        for row in host.rows("reading")
        if STATES[row.get("state_no")] in ("off", "ready") and row.get("heat_permille")
    ]
    assert heated == []


@pytest.mark.parametrize("fault", ["power_cut@900-10000"])
def test_a_cut_that_lasts_too_long_for_the_chocolate_is_not_carried_on(fault: str) -> None:
    """2.5 hours later the bowl is at room temperature: the rig boots to off and offers nothing."""
    with (
        VirtualRigProcess(SpawnOptions(IN_TEMPER, faults=[fault])) as rig,
        Client(rig.port) as host,
    ):
        host.start(KEPT)
        while events(host).count(("boot", 1)) < 2:
            assert host.pump(30), (events(host), host.text)
        at_ms = 0
        while at_ms < 60_000:
            host.pump(10)
            boots = [row for row in host.rows("event") if row.get("kind") == "boot"]
            after = host.messages[host.messages.index(boots[-1]) :]
            at_ms = max([row.get("at_ms") for row in after if row.name == "reading"], default=0)
        assert {row.get("state_no") for row in after if row.name == "reading"} == {
            STATES.index("off")
        }
    assert "offer" not in [kind for kind, _ in events(host)]
