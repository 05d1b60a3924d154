"""What a batch taught goes to the rig that ran it, which begins its next batch with it."""

from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError, LinkError, VersionError
from snapgloss.link.client import RigLink
from snapgloss.rigs.taught import taught_by
from snapgloss.runs.learning import log_of_run

if TYPE_CHECKING:
    from snapgloss.rigs.description import RigDescription
    from snapgloss.store.store import Store

LEARNED_MINOR = 6  # the first version of the wire that takes it
ANY_ROOM_C = 21.0
"""The fit finds the room by itself; a log of a rig without a room probe must say one."""


class Taught(NamedTuple):
    """`rms_c` is of the readings about the fit; `words` for a person."""

    run: int
    rms_c: float
    words: str


def teach(link: RigLink, store: "Store", run_id: int, said: "RigDescription") -> Taught:
    """Fit a batch, which takes some seconds, and give it to the rig at the link.

    Raises InputError for a batch of another rig, or one that teaches nothing; VersionError for
    firmware that cannot take it; RigError when the rig is busy, is described otherwise, or
    cannot store it. After each of them the rig goes on with what it has learned by itself.
    """
    _check(link, store, run_id)
    found = taught_by(log_of_run(store, run_id, ANY_ROOM_C), said)
    link.teach(found.record)
    words = (
        f"The rig has what batch {run_id} taught, and begins its next batch with it "
        f"(readings within {found.rms_c:.3f} °C of the fit)."
    )
    return Taught(run_id, found.rms_c, words)


def _check(link: RigLink, store: "Store", run_id: int) -> None:
    """Before seconds of fitting: can this rig take it, and is the batch its own?"""
    there, run = link.identity, store.run(run_id)
    if there is None:
        raise LinkError("This link has not been introduced.", "Say hello first.")
    if there.minor < LEARNED_MINOR:
        raise VersionError(
            "The rig's firmware is too old to be told what its batches taught.",
            "Update the rig's firmware; until then it learns by itself.",
        )
    if run.simulated != there.simulated or store.boards(run_id) != {there.board}:
        raise InputError(
            f"Batch {run_id} was not made on this rig.", "Name a batch that this rig ran."
        )
