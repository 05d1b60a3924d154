"""What a batch taught, in the form in which a board keeps what it learned of its rig."""

from typing import Any, NamedTuple

from rigfw.config import RigConfig
from snapgloss.rigs.description import RigDescription
from snapgloss.rigs.heat_model import Log
from snapgloss.rigs.refine import record_of, refine


class Taught(NamedTuple):
    """`record` is for the board of the rig so described; `rms_c` of the readings about the fit."""

    record: bytes
    rms_c: float


def taught_by(log: Log, said: RigDescription) -> Taught:
    """Return what a log says of the rig that is described so.

    Raises InputError when the log is too short or too even, or the fit does not explain it.
    """
    described: Any = RigConfig  # untyped, for it runs on a board as well
    config = described.from_text(said.to_config_text())
    found = refine(log, config)
    return Taught(record_of(config, found.figures), found.rms_c)
