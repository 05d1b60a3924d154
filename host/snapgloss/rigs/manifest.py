"""Which files a board gets: the wire and the firmware, exactly as installed here.

The virtual rig runs the same list, so what is tested is what is sent.
"""

import hashlib
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from snapgloss.base.errors import SnapglossError

PACKAGES = ("rigwire", "rigfw")


def firmware_files() -> dict[str, Path]:
    """Return {path on the board: file here} of every Python file of the two packages, sorted.

    Data beside them (golden vectors, hazards, type markers) stays here.
    """
    found: dict[str, Path] = {}
    for package in PACKAGES:
        root = _folder(files(package), package)
        for path in root.rglob("*.py"):
            if "__pycache__" not in path.parts:
                found[f"{package}/{path.relative_to(root).as_posix()}"] = path
    return dict(sorted(found.items()))


def module_of(name: str) -> str:
    """Return the dotted name of a file on the board."""
    return name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file's bytes as 64 hex digits."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def manifest() -> dict[str, str]:
    """Return {path on the board: SHA-256} of what would be sent."""
    return {name: sha256_of(path) for name, path in firmware_files().items()}


def _folder(root: Traversable, package: str) -> Path:
    """Return the package's folder; inside a zip there are no files to send."""
    if not isinstance(root, Path):
        raise SnapglossError(
            f"The package {package} is not installed as files.", "Install it with pip."
        )
    return root
