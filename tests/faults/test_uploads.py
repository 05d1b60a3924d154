"""The whole of uploads.py with fewer mixtures, and that it sees an upload that is not whole."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from uploads import OLD, Campaign, campaign

from rigfw.upload import Upload
from rigwire.schedule import from_body


def test_an_upload_is_whole_or_nothing() -> None:
    """Every cut, order and mixture leaves one whole schedule; windows start what they name."""
    count = campaign(mixtures=60, seed=2)
    assert count.wrong == []
    assert count.cuts == count.retries > 400


def test_the_campaign_sees_a_rig_that_switches_too_early(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rig that takes the announced digest for held as soon as an upload opens is found out."""
    opened = Upload.open

    def too_early(self: Upload, bytes_total: int, name: str) -> None:
        opened(self, bytes_total, name)
        self._commit(from_body(OLD), name)

    monkeypatch.setattr(Upload, "open", too_early)
    trial = Campaign(1)
    trial.orders()
    assert any("holds None" in case for case in trial.count.wrong)
