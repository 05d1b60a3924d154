"""What several checks of the documents read."""

import runpy
from pathlib import Path
from types import SimpleNamespace

import pytest

ROOT = Path(__file__).resolve().parents[2]
OUT = {"build", "dist", "__pycache__", "node_modules"}


def in_project(path: Path) -> bool:
    """False for what tools leave behind: dot folders (.venv, .git) and build folders."""
    return not any(part in OUT or part.startswith(".") for part in path.relative_to(ROOT).parts)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the project."""
    return ROOT


@pytest.fixture(scope="session")
def documents() -> list[Path]:
    """Every Markdown file of the project."""
    return [path for path in sorted(ROOT.rglob("*.md")) if in_project(path)]


@pytest.fixture(scope="session")
def generate() -> SimpleNamespace:
    """The generator of documents, tests/docs/generate.py, as a namespace."""
    return SimpleNamespace(**runpy.run_path(str(ROOT / "tests" / "docs" / "generate.py")))
