"""Keep photos of the line card in bars, and snaps; say how bars are by them."""

import math
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from snapgloss.base.errors import InputError, StoreError
from snapgloss.base.textfiles import replace, shown_path
from snapgloss.quality import kept_bar
from snapgloss.quality.grades import LOOK_WORDS
from snapgloss.quality.kept_bar import SOUND_MOST_BYTES, Entry, Repeats, Seen
from snapgloss.runs.photos import keep_photo, read_photo

if TYPE_CHECKING:
    from snapgloss.quality.gloss import Gloss
    from snapgloss.quality.snap_sound import Snap
    from snapgloss.store.store import Store

SOUNDS = "sounds"
# Standard deviations for the same bar, of simulated photos and sounds: tests/bench/gloss.py. A
# kitchen's own take their place.
GLOSS_SPREAD, LOUDNESS_SPREAD_DB, CENTROID_SPREAD = 0.05, 2.0, 0.07
SHARPNESS_LEAST = 0.001  # under it nothing is seen; its logarithm is kept finite
NO_KEPT = "No kept bar in that session to compare with."


class Trend(NamedTuple):
    """What a kind of figure says of a run's bars: theirs, and the kept bar's where it is one of
    them; values as in snapgloss.quality.kept_bar."""

    bars: list[Seen]
    kept: list[Seen]
    repeats: Repeats


def keep_gloss(
    store: "Store", run_id: int, photo: bytes | Path, kept: bool, data_folder: Path,
    work: "Callable[[bytes], Gloss] | None" = None,
) -> "Gloss":  # fmt: skip
    """Keep a photo of the card in a bar of a run and what it says, and return that.

    `work` does `quality.gloss_photo.gloss_of_photo` elsewhere. A photo that says nothing is not
    kept: raises InputError with what to do. StoreError when it cannot be kept.
    """
    store.run(run_id)
    content = photo if isinstance(photo, bytes) else read_photo(photo)
    found = (work or _gloss_here)(content)
    name = keep_photo(content, run_id, data_folder)
    store.add_gloss(run_id, kept, kept_bar.GLOSS_WAY, found.sharpness, found.mirrored, name)
    return found


def keep_snap(
    store: "Store", run_id: int, sound: bytes | Path, kept: bool, data_folder: Path,
    work: "Callable[[bytes], Snap] | None" = None,
) -> "Snap":  # fmt: skip
    """Keep the sound of a bar of a run as it broke and what it says, and return that.

    `work` does `quality.snap_sound.snap_of_sound` elsewhere. Raises InputError with what to do for
    one that says nothing, which is not kept; StoreError when it cannot be kept.
    """
    store.run(run_id)
    content = sound if isinstance(sound, bytes) else read_sound(sound)
    found = (work or _snap_here)(content)
    name = _keep_sound(content, run_id, data_folder)
    store.add_snap(run_id, kept, kept_bar.SNAP_WAY, found.loudness_db, found.centroid_hz, name)
    return found


def _gloss_here(content: bytes) -> "Gloss":
    from snapgloss.quality.gloss_photo import gloss_of_photo

    return gloss_of_photo(content)


def _snap_here(content: bytes) -> "Snap":
    from snapgloss.quality.snap_sound import snap_of_sound

    return snap_of_sound(content)


def read_sound(sound: Path) -> bytes:
    """Return a file's content. Raises InputError for one that cannot be read or is too large."""
    try:
        if sound.stat().st_size > SOUND_MOST_BYTES:
            raise InputError(f"{shown_path(sound)} is larger than 6 MB.", "Name a short WAV file.")
        return sound.read_bytes()
    except OSError as problem:
        words = f"{shown_path(sound)} cannot be read: {problem.strerror}."
        raise InputError(words, "Name a WAV file.") from problem


def _keep_sound(content: bytes, run_id: int, data_folder: Path) -> str:
    name = f"{SOUNDS}/run-{run_id}-{zlib.crc32(content):08x}.wav"
    try:
        (data_folder / SOUNDS).mkdir(parents=True, exist_ok=True)
        replace(data_folder / name, content)
    except OSError as problem:
        words = f"The sound cannot be kept in {shown_path(data_folder)}: {problem.strerror}."
        raise StoreError(words, "Make room, or leave the sound out.") from problem
    return name


def gloss_trend(store: "Store", run_id: int) -> Trend:
    """How sharply a run's bars mirrored the card, as logarithms of shares, look by look."""
    rows = store.glosses()
    entries = [
        Entry(row.run_id, row.seen_utc_ms, row.kept, math.log(max(row.sharpness, SHARPNESS_LEAST)))
        for row in rows
        if row.way == rows[-1].way
    ]
    return _trend(store, run_id, entries, GLOSS_SPREAD)


def snap_trends(store: "Store", run_id: int) -> tuple[Trend, Trend]:
    """How loud a run's bars snapped, in dB, and how high, as logarithms of Hz, look by look."""
    rows = store.snaps()
    rows = [row for row in rows if row.way == rows[-1].way]
    loud = [Entry(row.run_id, row.heard_utc_ms, row.kept, row.loudness_db) for row in rows]
    high = [
        Entry(row.run_id, row.heard_utc_ms, row.kept, math.log(row.centroid_hz)) for row in rows
    ]
    return (
        _trend(store, run_id, loud, LOUDNESS_SPREAD_DB),
        _trend(store, run_id, high, CENTROID_SPREAD),
    )


def _trend(store: "Store", run_id: int, entries: Sequence[Entry], simulated: float) -> Trend:
    run = store.run(run_id)
    ended = run.started_utc_ms if run.ended_utc_ms is None else run.ended_utc_ms
    repeats = kept_bar.repeats_of(entries, simulated)
    bars, kept = (
        kept_bar.seen_at_looks(entries, run_id, ended, is_kept, repeats)
        for is_kept in (False, True)
    )
    return Trend(bars, kept, repeats)


def gloss_lines(store: "Store", run_id: int) -> list[str]:
    """What the photos of a run's bars say, in sentences; none where there are none."""
    if not store.glosses(run_id):
        return []
    trend = gloss_trend(store, run_id)
    lines = [f"Gloss {_gloss_words(one)} {_kept_share(one)}" for one in trend.bars]
    for one in trend.kept:
        lines.append(f"Gloss of the kept bar {_gloss_words(one)} {_since(one)}".rstrip())
    return [*lines, _repeat_words("Gloss", trend.repeats, "%")] if lines else []


def _gloss_words(one: Seen) -> str:
    photos = "1 photo" if one.number == 1 else f"{one.number} photos"
    share = _percent(math.exp(one.value))
    return f"{LOOK_WORDS[one.look]}: lines {share} as sharp as on the card ({photos})."


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _kept_share(one: Seen) -> str:
    if one.over is None:
        return NO_KEPT
    share = f"{_percent(math.exp(one.over))} of the kept bar's"
    told = "" if abs(one.over) > one.least else ": no difference that can be told"
    return f"That is {share}{told}."


def _since(one: Seen) -> str:
    if one.over is None:
        return ""
    told = "" if abs(one.over) > one.least else ": no difference that can be told"
    return f"That is {_percent(math.exp(one.over))} of its first{told}."


def snap_lines(store: "Store", run_id: int) -> list[str]:
    """What the snaps of a run's bars say, in sentences; none where there are none."""
    if not store.snaps(run_id):
        return []
    loud, high = snap_trends(store, run_id)
    lines = []
    for name, ours, theirs in (
        ("Snap", loud.bars, high.bars), ("Snap of the kept bar", loud.kept, high.kept)
    ):  # fmt: skip
        for one, pitch in zip(ours, theirs, strict=True):
            lines.append(f"{name} {_snap_words(one, pitch)}")
    return [*lines, _repeat_words("Snap", loud.repeats, "dB")] if lines else []


def _snap_words(one: Seen, pitch: Seen) -> str:
    sounds = "1 sound" if one.number == 1 else f"{one.number} sounds"
    said = f"{LOOK_WORDS[one.look]}: {one.value:.0f} dB of full scale, middle "
    said += f"{math.exp(pitch.value) / 1000:.1f} kHz ({sounds})."
    if one.over is None or pitch.over is None:
        return said
    if abs(one.over) <= one.least and abs(pitch.over) <= pitch.least:
        return f"{said} No difference from the kept bar that can be told."
    way = "louder" if one.over > 0 else "softer"
    return f"{said} {abs(one.over):.0f} dB {way}, {math.exp(pitch.over):.2f} times as high."


def _repeat_words(name: str, repeats: Repeats, unit: str) -> str:
    spread = _percent(repeats.spread) if unit == "%" else f"{repeats.spread:.1f} dB"
    source = (
        f"by {repeats.freedom} repeats here" if repeats.freedom else "simulated, not yet yours"
    )
    print_too = ", your print" if unit == "%" else ""
    return f"{name} is relative: your tablet{print_too}. One bar differs by {spread} ({source})."
