"""What the live session must know again after its program was started anew: a small file.

It holds the schedule that was last sent to the rig, and how many moulds are filled. The batch
itself is the rig's and the record's.
"""

import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from snapgloss.base.textfiles import replace

FILE_NAME = "live.json"


@dataclass
class Kept:
    """`digest` names the schedule; `run` is the batch that the moulds belong to, 0 for none.
    `poured_at_s` is when the first mould was counted, seconds from the start, -1 for not yet."""

    digest: str = ""
    schedule_toml: str = ""
    workshop: str = ""
    room_c: float = 21.0
    run: int = 0
    moulds: int = 0
    done: int = 0
    poured_at_s: int = -1


def read_kept(folder: Path) -> Kept:
    """Return what was kept; a file that cannot be used is as good as none."""
    try:
        found = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        known = {field.name: type(getattr(Kept(), field.name)) for field in fields(Kept)}
        return Kept(**{name: known[name](found[name]) for name in known if name in found})
    except (OSError, ValueError, TypeError):
        return Kept()


def write_kept(folder: Path, kept: Kept) -> None:
    """Keep it, whole or not at all. A disk that takes nothing must not end a batch."""
    try:
        replace(folder / FILE_NAME, json.dumps(asdict(kept)).encode())
    except OSError:
        return
