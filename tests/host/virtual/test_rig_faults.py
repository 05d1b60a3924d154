"""Hazards by the clock."""

import pytest

from snapgloss.base.errors import InputError
from snapgloss.virtual.faults import Fault, FaultPlan, Panel, parse_fault
from snapgloss.virtual.plant import Plant, PlantSetup


def test_texts_of_hazards() -> None:
    """Name, value, begin and end; `boot` means at once."""
    assert parse_fault("probe_out@3600") == Fault("probe_out", True, 3600.0, None)
    assert parse_fault("heater_factor=0.5@10-20") == Fault("heater_factor", 0.5, 10.0, 20.0)
    assert parse_fault("stop_open@boot") == Fault("stop_open", True, None, None)


@pytest.mark.parametrize(
    "text",
    [
        "probe_out",
        "@5",
        "probe_out@",
        "probe_out@x",
        "a=b@1",
        "",
        "probe_out@nan",
        "probe_out@1-inf",
    ],
)
def test_texts_that_are_none(text: str) -> None:
    """Each is refused in words that show the form."""
    with pytest.raises(InputError, match="name@second"):
        parse_fault(text)


@pytest.mark.parametrize("text", ["power_cut@5-1", "power_cut@5-5", "power_cut@boot-0"])
def test_a_hazard_that_ends_before_it_begins_is_refused(text: str) -> None:
    """Seconds in the wrong order, in words that show the right one."""
    with pytest.raises(InputError, match="before it has begun") as caught:
        parse_fault(text)
    assert "power_cut@900-910" in caught.value.remedy


@pytest.mark.parametrize("text", ["nosuch", "nosuch@", "@7"])
def test_a_name_without_its_second_is_answered_with_the_names(text: str) -> None:
    """Whoever asks for a hazard that is none reads those there are; a known one needs no list."""
    with pytest.raises(InputError) as caught:
        parse_fault(text)
    assert "power_cut" in caught.value.remedy and "probe_out" in caught.value.remedy
    with pytest.raises(InputError) as caught:
        parse_fault("probe_out")
    assert "There are" not in caught.value.remedy


def test_a_hazard_begins_and_ends_in_time() -> None:
    """`heater_factor=0.5@10-20` holds from 10 s to 20 s and then is as before."""
    faults = Plant(PlantSetup()).faults
    plan = FaultPlan([parse_fault("heater_factor=0.5@10-20")], (faults, Panel()))
    seen = []
    for since_s in (0.0, 9.75, 10.0, 19.75, 20.0):
        plan.apply(since_s)
        seen.append(faults.heater_factor)
    assert seen == [1.0, 1.0, 0.5, 0.5, 1.0]


def test_a_hazard_of_the_panel_at_boot() -> None:
    """It holds before anything is applied, and the plan says that something has begun."""
    panel = Panel()
    plan = FaultPlan([parse_fault("start_stuck@boot")], (Plant(PlantSetup()).faults, panel))
    assert panel.start_stuck and plan.begun


def test_an_unknown_hazard_is_refused_with_the_known_ones() -> None:
    """The list names hazards of plant and panel."""
    with pytest.raises(InputError, match=r"probe_out.*stop_open"):
        FaultPlan([parse_fault("ghost@1")], (Plant(PlantSetup()).faults, Panel()))
