"""A folder's name outlives a power cut: the one above it is synced."""

import os
from pathlib import Path

import pytest

from snapgloss.base import folders


@pytest.fixture
def synced(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The folders whose names were put on the disk, in order."""
    seen: list[Path] = []
    monkeypatch.setattr(folders, "sync", seen.append)
    return seen


def test_each_folder_that_is_made_is_synced_in_the_one_above(tmp_path, synced):
    """From the top down; what was there already is left alone."""
    folders.make(tmp_path / "a" / "b")
    assert (tmp_path / "a" / "b").is_dir()
    assert synced == [tmp_path, tmp_path / "a"]
    folders.make(tmp_path / "a" / "b")
    assert len(synced) == 2


def test_a_file_in_its_place_is_an_error(tmp_path, synced):
    """As Path.mkdir says it."""
    (tmp_path / "a").write_text("")
    with pytest.raises(FileExistsError):
        folders.make(tmp_path / "a")


@pytest.mark.skipif(os.name != "posix", reason="folders are synced on POSIX")
def test_the_sync_is_of_the_folder_itself(tmp_path, monkeypatch):
    """fsync is asked of a descriptor of that folder."""
    asked: list[int] = []
    monkeypatch.setattr(folders.os, "fsync", lambda number: asked.append(os.fstat(number).st_ino))
    folders.sync(tmp_path)
    assert asked == [tmp_path.stat().st_ino]
