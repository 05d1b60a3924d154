"""What the live session must know again after its program was started anew: a small file.

It holds the schedule that was last sent to the rig, what goes in, and how many moulds are filled.
The batch itself is the rig's and the record's.
"""

import json
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path

from snapgloss.base.textfiles import replace
from snapgloss.runs.sources import Sources

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
    lots: list[str] = field(default_factory=list)
    remelts: list[int] = field(default_factory=list)
    said: str = ""

    def put(self, sources: Sources) -> None:
        """Remember what goes into the batch that was sent."""
        self.lots, self.remelts, self.said = [*sources.lots], [*sources.remelts], sources.note

    @property
    def sources(self) -> Sources:
        """What goes into the batch that was sent."""
        return Sources(tuple(map(str, self.lots)), tuple(map(int, self.remelts)), self.said)


def read_kept(folder: Path) -> Kept:
    """Return what was kept; a file that cannot be used is as good as none."""
    try:
        found = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        known = {one.name: type(getattr(Kept(), one.name)) for one in fields(Kept)}
        kept = Kept(**{name: known[name](found[name]) for name in known if name in found})
        _ = kept.sources  # they can be used, too
        return kept
    except (OSError, ValueError, TypeError):
        return Kept()


def write_kept(folder: Path, kept: Kept) -> None:
    """Keep it, whole or not at all. A disk that takes nothing must not end a batch."""
    try:
        replace(folder / FILE_NAME, json.dumps(asdict(kept)).encode())
    except OSError:
        return
