"""The data folder: the option first, then the environment, then the system's place."""

from pathlib import Path

import pytest

from snapgloss.base import settings
from snapgloss.base.errors import StoreError


def test_option_wins_over_environment(tmp_path, monkeypatch):
    """--data is obeyed even when SNAPGLOSS_DATA is set, and the folder is made."""
    monkeypatch.setenv("SNAPGLOSS_DATA", str(tmp_path / "environment"))
    assert settings.data_dir(tmp_path / "deep" / "option") == tmp_path / "deep" / "option"
    assert (tmp_path / "deep" / "option").is_dir()
    assert not (tmp_path / "environment").exists()


def test_environment_wins_over_the_system_place(tmp_path, monkeypatch):
    """Without an option SNAPGLOSS_DATA is used."""
    monkeypatch.setenv("SNAPGLOSS_DATA", str(tmp_path / "environment"))
    assert settings.data_dir(None) == tmp_path / "environment"


def test_blank_environment_is_no_choice(tmp_path, monkeypatch):
    """An empty or blank variable falls through to the system's place."""
    monkeypatch.setenv("SNAPGLOSS_DATA", "  ")
    monkeypatch.setattr(settings, "user_data_path", lambda *a, **k: tmp_path / "system")
    assert settings.data_dir(None) == tmp_path / "system"


def test_result_is_absolute(tmp_path, monkeypatch):
    """A relative option is kept as an absolute path, so a change of folder does not matter."""
    monkeypatch.chdir(tmp_path)
    assert settings.data_dir(Path("here")) == tmp_path / "here"


def test_a_file_in_the_way_is_a_store_error(tmp_path):
    """A file where the folder should be gives exit code 5 and names the option."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="--data") as refused:
        settings.data_dir(tmp_path / "file")
    assert refused.value.exit_code == 5


@pytest.mark.parametrize("name", ["~no-such-person-here/data", "nul\0"])
def test_a_name_that_cannot_be_a_folder_is_a_store_error(name):
    """An unknown home or an impossible name is said, not thrown."""
    with pytest.raises(StoreError, match="cannot be used"):
        settings.data_dir(Path(name))
