"""The short forms of campaign.py, and that each check it relies on is needed."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from campaign import bounds_s, campaign
from campaign_cases import INJECTIONS
from campaign_checks import CHECKS

HARDWARE = {"frozen_program"}


def test_no_fault_of_a_few_is_unsafe() -> None:
    """Two of each injection, and three healthy sequences: all met, none unsafe, no false trip."""
    figures = campaign(2 * len(INJECTIONS), 11, 3)
    assert figures["unsafe_seeds"] == {}
    assert figures["false_trip_seeds"] == {}
    assert (figures["not_met"], figures["runs"]) == ([], 2 * len(INJECTIONS))
    assert figures["healthy_runs"] == 3


@pytest.mark.campaign
def test_no_fault_of_600_is_unsafe() -> None:
    """600 faulty runs within their bounds, 20 healthy ones without a stop."""
    figures = campaign(600, 12, 20)
    assert (figures["unsafe_seeds"], figures["false_trip_seeds"]) == ({}, {})
    for row in figures["hazards"]:
        assert row["runs"] > 0, row


@pytest.mark.parametrize("hazard", sorted(CHECKS))
def test_without_its_checks_a_hazard_is_unsafe(hazard: str) -> None:
    """Some of its runs break the invariant once its own checks are gone."""
    figures = campaign(8, 13, 0, without=hazard, workers=1)
    assert figures["runs"] == 8
    assert figures["unsafe"] > 0, hazard


def test_every_hazard_of_the_campaign_has_a_bound_and_its_checks() -> None:
    """The campaign meets what hazards.toml bounds, and nothing else."""
    met = {injection.hazard for injection in INJECTIONS}
    assert met == set(bounds_s())
    assert met - set(CHECKS) == HARDWARE
