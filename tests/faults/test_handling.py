"""Random handling of random batches: no stop without a fault, no fault missed. Simulated.

The long form is `python tests/faults/handling.py --sequences 1000 --seed S --json`.
"""

import sys
import tomllib
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from handling import NOT_CLAIMED, Sequence, campaign, has_failed, plant_faults, run_seed, summary
from handling_cases import FAULTS, case_of, without_fault
from handling_truth import STATED

import rigwire

HAZARDS = Path(rigwire.__file__).parent / "hazards.toml"
SEQUENCES = 40


def hazards() -> dict[str, dict[str, object]]:
    """The rows of hazards.toml by key."""
    return {row["key"]: row for row in tomllib.loads(HAZARDS.read_text())["hazard"]}


def test_handling_never_stops_a_batch_and_hides_no_fault() -> None:
    """40 sequences of 3 to 8 acts, half with a fault: nothing found; all kinds of act are in."""
    figures = campaign(range(1, 1 + SEQUENCES))
    assert not has_failed(figures), figures
    assert figures["sequences"] == SEQUENCES
    assert figures["handling_acts"] >= 3 * SEQUENCES
    assert figures["faults"] >= SEQUENCES // 4
    names = {act.name for seed in range(1, 1 + SEQUENCES) for act in case_of(seed).acts}
    assert len(names) == 8


def test_the_bounds_of_the_campaign_are_those_of_the_hazard_table() -> None:
    """Every hazard injected is covered there with the same bound, or is named as not claimed."""
    rows = hazards()
    for _, hazard in FAULTS:
        if hazard in NOT_CLAIMED:
            assert rows[hazard]["status"] == "planned"
        else:
            assert rows[hazard]["status"] == "covered"
            assert STATED[hazard] in str(rows[hazard]["bound"]), hazard


def test_a_seed_is_always_the_same_sequence() -> None:
    """Run twice, seed 7 ends with the same figures."""
    assert case_of(7).words() == case_of(7).words()
    assert run_seed(7) == run_seed(7)


def test_a_probe_that_goes_missing_is_a_fault_that_the_witness_would_see() -> None:
    """A firmware that never stops: the witness reports the fault and the heat."""
    seed = next(
        seed
        for seed in range(1, 200)
        if (case := case_of(seed)).fault and case.fault.name == "probe_missing"
    )
    sequence = Sequence(case_of(seed))
    locks = sequence.firmware._app.interlocks
    locks._judge_ages = lambda _readings, _now_ms: None
    outcome = sequence.run()
    assert any(words.startswith("fault_missed ") for words in outcome.failures)
    assert has_failed(summary([outcome]))


def test_a_stop_without_a_fault_is_seen() -> None:
    """A firmware that stops in the middle of healthy handling: reported, and the batch is lost."""
    sequence = Sequence(without_fault(case_of(4)))
    app = sequence.firmware._app
    passes = iter(range(1_000_000))
    judge = app.judge
    app.judge = lambda: app.stop(3, 0) if next(passes) == 1000 else judge()
    outcome = sequence.run()
    kinds = [words.split(" ")[0] for words in outcome.failures]
    assert kinds == ["stop_without_fault", "batch_lost"]


@pytest.mark.parametrize("name", [text.partition("=")[0] for text, _ in FAULTS])
def test_every_fault_of_the_campaign_can_be_injected(name: str) -> None:
    """Each name is a hazard of the plant or its panel, or one the campaign makes itself."""
    from snapgloss.virtual.faults import Fault, FaultPlan, Panel
    from snapgloss.virtual.hazards import PlantFaults

    if name != "nobody":
        FaultPlan(plant_faults(Fault(name, True, 1.0, None)), (PlantFaults(), Panel()))
