"""A store with a run in it, and its report."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from snapgloss.store import open_store
from snapgloss.store.store import Store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty store whose clock stands still."""
    with open_store(tmp_path / "data", lambda: 1_790_000_000_000) as opened:
        yield opened
