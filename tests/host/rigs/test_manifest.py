"""What a board gets: every Python file of wire and firmware, and nothing else."""

import hashlib
import zipfile
from pathlib import Path

import pytest

import rigfw
import rigwire
from snapgloss.base.errors import SnapglossError
from snapgloss.rigs import manifest


def test_every_source_file_is_listed():
    """Each .py below the two packages is sent, wherever it lies."""
    expected = {
        f"{package.__name__}/{path.relative_to(Path(package.__file__).parent).as_posix()}"
        for package in (rigwire, rigfw)
        for path in Path(package.__file__).parent.rglob("*.py")
    }
    assert set(manifest.firmware_files()) == expected
    assert {"rigwire/frames.py", "rigwire/schedule.py", "rigfw/config.py"} <= expected


def test_data_stays_on_the_host():
    """Golden vectors, hazards and type markers are not sent."""
    assert all(name.endswith(".py") for name in manifest.firmware_files())
    assert all("vectors" not in name for name in manifest.firmware_files())


def test_sha256_of(tmp_path):
    """FIPS 180-4 test vector: SHA-256 of "abc"."""
    (tmp_path / "abc").write_bytes(b"abc")
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert manifest.sha256_of(tmp_path / "abc") == known


def test_manifest_hashes_the_bytes_that_would_be_sent():
    """The list names each file's own bytes, in a fixed order."""
    hashes = manifest.manifest()
    assert list(hashes) == sorted(hashes)
    for name, path in manifest.firmware_files().items():
        assert hashes[name] == hashlib.sha256(path.read_bytes()).hexdigest()


def test_packages_inside_a_zip_cannot_be_sent(tmp_path, monkeypatch):
    """Files that are no files are said to be missing, with what to do."""
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        archive.writestr("rigwire/frames.py", "")
    inside = zipfile.Path(tmp_path / "all.zip", "rigwire/")
    monkeypatch.setattr(manifest, "files", lambda package: inside)
    with pytest.raises(SnapglossError, match="Install it with pip"):
        manifest.firmware_files()
