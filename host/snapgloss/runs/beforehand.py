"""What to look at before the start: bowl and probe dry, and what the last batch left behind."""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from snapgloss.runs.sources import Contents
    from snapgloss.store.rows import RunRow


class Check(NamedTuple):
    """Something to confirm by one touch: what to look at, and what the record keeps of it."""

    key: str
    words: str
    kept: str


DRY = Check(
    "dry",
    "Bowl, probe and stirrer are dry. A drop of water makes the whole bowl thick.",
    "bowl and probe dry",
)


def checks(now: "Contents", before: "tuple[RunRow, Contents] | None") -> list[Check]:
    """Return what has to be looked at: always the dry bowl, the last batch where it matters."""
    washed = _washed(now, before)
    return [DRY] if washed is None else [DRY, washed]


def _washed(now: "Contents", before: "tuple[RunRow, Contents] | None") -> Check | None:
    """None where the last batch brought nothing that this one does not have anyway."""
    if before is None:
        return None
    run, held = before
    left = sorted({*held.contains, *held.may_contain} - {*now.contains})
    if left:
        what = ", ".join(left)
        return Check(
            "washed",
            f"Last batch: {run.chocolate}, with {what}. Bowl, stirrer, probe and tools are washed "
            f"and dry, or these bars will be labelled: may contain {what}.",
            f"washed after batch {run.id} ({what})",
        )
    if held.unknown:
        return Check(
            "washed",
            f"Last batch: {run.chocolate}; nobody said what is in it. Read its bag. Bowl, "
            "stirrer, probe and tools are washed and dry.",
            f"washed after batch {run.id}",
        )
    return None


def contents_words(now: "Contents") -> str:
    """What this batch contains, in a sentence or two; empty where nothing is known."""
    parts = [f"Contains {', '.join(now.contains)}."] if now.contains else []
    if now.may_contain:
        parts.append(f"May contain {', '.join(now.may_contain)}.")
    if now.unknown:
        parts.append(f"Nobody has said what is in {', '.join(now.unknown)}: read the label.")
    return " ".join(parts)


def kept_words(done: list[Check]) -> str:
    """What the record keeps of the checks that were confirmed."""
    return f"Before the start: {', '.join(check.kept for check in done)}." if done else ""
