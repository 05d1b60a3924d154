"""The short form of powercuts.py, and that it can fail."""

import sys
from pathlib import Path
from random import Random

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from powercuts import campaign
from powercuts_disk import FOLDER, Disk, Op

SECONDS = 60


@pytest.mark.strace
def test_no_cut_loses_what_was_acknowledged() -> None:
    """Each eleventh operation of a minute, its closing, packing and room given back included."""
    count = campaign(SECONDS, seed=3, every=11)
    assert (count.lost, count.differing, count.half_done) == (0, 0, 0), count.worst
    assert (count.corrupt, count.unopened, count.worst) == (0, 0, [])
    assert count.syncs > SECONDS
    assert count.images > count.cuts > 50


@pytest.mark.strace
def test_a_disk_that_lies_about_its_syncs_is_caught() -> None:
    """The same with all syncs of files taken away: rows are lost, so the check can fail."""
    count = campaign(SECONDS, seed=3, every=31, without_sync=True)
    assert not count.good
    assert count.lost > 0


@pytest.mark.strace
def test_a_store_that_asks_for_no_sync_is_caught() -> None:
    """The program itself with synchronous=OFF loses what it had called kept."""
    count = campaign(SECONDS, seed=3, every=31, synchronous="OFF")
    assert not count.good
    assert count.lost > 0


def disk_with(*ops: Op) -> Disk:
    """A disk that took these."""
    disk = Disk()
    for op in ops:
        disk.take(op)
    return disk


NAMED = Op("names", changes=(("a", 1),))
WRITTEN = Op("write", 1, 0, b"x" * 5000)


def test_the_disk_keeps_what_was_synced_and_only_that() -> None:
    """A name by its folder's sync, content by the file's own; without them nothing."""
    chance = Random(1)
    assert disk_with(NAMED, WRITTEN, Op("sync", 1)).image("lost", chance) == {}
    assert disk_with(NAMED, WRITTEN, Op("sync_names", path=".")).image("lost", chance) == {
        "a": b""
    }
    synced = disk_with(NAMED, WRITTEN, Op("sync", 1), Op("sync_names", path="."))
    assert synced.image("lost", chance) == {"a": b"x" * 5000}


def test_a_name_in_a_folder_that_is_not_there_is_not_there() -> None:
    """The folder's own name was not synced in the one above it."""
    inside = Op("names", changes=(("data/a", 1),))
    disk = disk_with(
        Op("names", changes=(("data", FOLDER),)), inside, Op("sync_names", path="data")
    )
    assert disk.image("lost", Random(1)) == {}
    disk.take(Op("sync_names", path="."))
    assert disk.image("lost", Random(1)) == {"data": None, "data/a": b""}


def test_unsynced_writes_are_torn_and_reordered_by_sectors() -> None:
    """Torn: a beginning that ends at a sector. Reordered: sectors with zeros between them."""
    ops = (NAMED, Op("sync_names", path="."), Op("write", 1, 0, b"x" * 8192))
    torn = {len(disk_with(*ops).image("torn", Random(n))["a"]) for n in range(50)}
    assert len(torn) > 5
    assert all(length % 512 == 0 for length in torn)
    images = [bytes(disk_with(*ops).image("reordered", Random(n))["a"]) for n in range(50)]
    assert any(image.startswith(bytes(512)) and b"x" * 512 in image for image in images)
    assert all(set(image[at : at + 512]) <= {image[at]} for image in images
               for at in range(0, len(image), 512))  # fmt: skip


def test_a_rename_is_there_whole_or_not() -> None:
    """Either the old name or the new one."""
    disk = disk_with(
        NAMED, Op("sync_names", path="."), Op("names", changes=(("a", None), ("b", 1)))
    )
    seen = {tuple(disk.image("reordered", Random(n))) for n in range(20)}
    assert seen == {("a",), ("b",)}
