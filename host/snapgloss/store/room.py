"""Whether a folder has room left, found by asking its disk for some."""

import errno
import tempfile
from pathlib import Path

ASKED_BYTES = 131_072  # SQLite's shared memory takes 32 KB, its log and first pages some more
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT)


def lacks_room(folder: Path) -> bool:
    """True when the disk or a quota refuses the folder some 100 KB for the moment.

    False for every other reason why nothing can be written there.
    """
    try:
        with tempfile.TemporaryFile(dir=folder, buffering=0) as asked:
            given = asked.write(bytes(ASKED_BYTES))
            return given < ASKED_BYTES  # a disk gives what it has before it refuses
    except OSError as error:
        return error.errno in _NO_ROOM
