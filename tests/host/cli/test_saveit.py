"""The command that says what to do for a batch that went wrong."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from snapgloss.base.records import Event, Identity, Reading
from snapgloss.cli.saveit import NO_RUN
from snapgloss.quality.save_it_run import kind_of
from snapgloss.schedules.demo import demo_text
from snapgloss.store import NewRun, open_store

Keep = Callable[..., int]


@pytest.fixture
def keep(data: Path) -> Keep:
    """Put a batch into the record: seconds of work at each temperature, `schedule` its text."""

    def keep(*work: tuple[int, int], schedule: str = demo_text(), ended: bool = True) -> int:
        new = NewRun(
            schedule, "0123abcd", "Lantern 72", "dark", "seeded", 2000, 31_000, 32_000, 31_500,
            "bench rig", True, 1, "Quillby & Maar",
        )  # fmt: skip
        line = [mc for seconds, mc in ((60, 31_500), *work) for _ in range(seconds)]
        readings = [
            Reading(n, n * 1000, "working", 6, 31_500, mc, None, None, 0, 0, 0, 128)
            for n, mc in enumerate(line)
        ]
        with open_store(data) as store:
            identity = Identity("b1", 6, "0.1.0", 1, 1, "", "off", 60_000, 100, 0, 0, 0, 0, True)
            boot_id = store.boot_id(identity)
            run_id = store.begin_run(new, boot_id, 0)
            store.add_readings(boot_id, readings)
            store.add_events(boot_id, [Event(0, 0, "added", 1, 120)])
            if ended:
                store.end_run(run_id, len(line) * 1000, "off", "Turned off.")
        return run_id

    return keep


def test_a_card_is_printed(call: Any, keep: Keep) -> None:
    """What happened, what to do, when to give up, and where that comes from; nothing else."""
    run_id = keep((95, 33_000), (60, 31_500))
    answer = call("saveit", str(run_id))
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.splitlines() == [
        "The chocolate was up to 33.0 °C, for 95 s over the 32.5 °C that dark chocolate bears in "
        "temper.",
        "Now: When it is back at 31.5 °C, stir in 11 g to 21 g of grated seed for 5 min, then dip "
        "a knife.",
        "If the knife has not set in 5 min, start again from the melt at 48.0 °C; nothing is "
        "wrong with the chocolate.",
        "(common practice, no source)",
    ]
    assert "33.0" not in call("saveit", "--fahrenheit").out


def test_without_a_number_the_newest_is_meant(call: Any, keep: Keep, run_1: int) -> None:
    """The batch before it was calm; the newest has the card."""
    keep((95, 33_000), (60, 31_500))
    assert call("saveit").out.startswith("The chocolate was up to 33.0 °C")
    assert call("saveit", str(run_1)).out == (
        "Run 1: nothing to save. Whether it is in temper is for the knife to say.\n"
    )


def test_as_json(call: Any, keep: Keep) -> None:
    """One value: the run and its card with raw figures, or null."""
    run_id = keep((60, 31_500))
    assert call("saveit", "--json").value == {"run": run_id, "card": None}
    thick = call("saveit", "--thick", "--json").value["card"]
    assert (thick["key"], thick["figures"]["top_up_g"]) == ("too_thick", 106)
    assert list(thick) == ["key", "what", "now", "give_up", "source", "figures"]


def test_a_batch_under_way_is_judged_as_it_is(call: Any, keep: Keep) -> None:
    """Twenty minutes after all is well again nothing is said; of a batch that ended it is."""
    keep((95, 33_000), (1300, 31_500), ended=False)
    assert "nothing to save" in call("saveit").out


def test_milk_fat_of_the_schedule_counts(call: Any, keep: Keep) -> None:
    """12 % of milk fat lowers the cap of dark by 0.96 to 31.54; 31.6 is over it then."""
    text = demo_text().replace('type = "dark"', 'type = "dark"\nmilk_fat = "12 %"')
    text = text.replace('high = "32 C"', 'high = "31.5 C"').replace(
        'wall = "34 C"', 'wall = "33 C"'
    )
    text = text.replace('target = "33.5 C"', 'target = "32.5 C"')
    run_id = keep((300, 31_600), schedule=text)
    assert "over the 31.5 °C" in call("saveit", str(run_id)).out


def test_a_schedule_of_another_version_leaves_the_type(data: Path, keep: Keep) -> None:
    """What cannot be read is no fault: the run's own type is taken."""
    run_id = keep((60, 31_500), schedule="format = 9\n")
    with open_store(data) as store:
        assert kind_of(store.run(run_id)).cap_mc == 32_500


def test_no_batch(call: Any) -> None:
    """An empty record is told as such; a number that is not there too."""
    answer = call("saveit")
    assert (answer.code, answer.out, answer.err) == (2, "", "\n".join(NO_RUN) + "\n")
    assert call("saveit", "7").code == 2
