"""One live session for each data folder: a second one would fight for the rig and the record."""

import os
from pathlib import Path
from types import TracebackType

from snapgloss.base.errors import StoreError
from snapgloss.base.textfiles import shown_path

FILE_NAME = "live.lock"


class Owner:
    """Holds the folder while it is open; the system lets go when the program ends, however.

    A context manager. Raises StoreError when another program holds it.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / FILE_NAME
        self._handle = -1

    def __enter__(self) -> "Owner":
        try:
            import fcntl
        except ImportError:  # a system without it guards the port alone
            return self
        self._handle = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            self._let_go()
            raise StoreError(
                f"Another snapgloss page runs with {shown_path(self._path.parent)}.",
                "Use that one, end it, or name another data folder with --data.",
            ) from None
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _fault: BaseException | None,
        _where: TracebackType | None,
    ) -> None:  # fmt: skip
        self._let_go()

    def _let_go(self) -> None:
        if self._handle >= 0:
            os.close(self._handle)
            self._handle = -1
