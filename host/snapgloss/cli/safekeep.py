"""The commands that keep the record safe: a copy, a check, the way back."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from snapgloss.base.addresses import record_address
from snapgloss.base.errors import InputError
from snapgloss.cli import options

if TYPE_CHECKING:
    from snapgloss.store.restoring import Restored

BACKUPS = "backups"
NO_CONTENT = (BACKUPS, "reports")  # folders that need no copy: they can be had again
BACKUP = click.argument("backup", metavar="FILE", type=click.Path(path_type=Path))


@click.command()
@click.argument("to", metavar="[TO]", type=click.Path(path_type=Path), required=False)
@options.as_json
@click.pass_context
def backup(ctx: click.Context, to: Path | None, as_json: bool) -> None:
    """Copy the record into a file and check the copy; a batch may be recorded meanwhile.

    TO is a folder, or a file that ends in .sqlite3 and is not there yet. Default: the folder
    `backups` beside the record. Nothing is written over.
    """
    data = options.data_folder(ctx)
    target = _target(to or data / BACKUPS)
    with options.open_record(ctx, to_read=True) as store:
        counted = store.copy_to(target)
    size = target.stat().st_size
    if as_json:
        options.print_json({"file": str(target), "bytes": size, **counted._asdict()})
        return
    options.say(f"Backup: {target}, {_size(size)}.")
    options.say(f"Checked: it holds {counted.words}.")
    for caution in _cautions(data, target):
        options.say(caution)


def _target(to: Path) -> Path:
    if to.suffix == ".sqlite3":
        return to
    return to / f"snapgloss-{datetime.now():%Y%m%d-%H%M%S}.sqlite3"


def _cautions(data: Path, target: Path) -> Iterator[str]:
    if target.stat().st_dev == data.stat().st_dev:
        yield "It is on the same disk as the record: copy it to another disk."
    beside = sorted(
        each.name
        for each in data.iterdir()
        if each.is_dir() and each.name not in NO_CONTENT and each.name[0] != "."
    )
    if beside:
        yield f"Not in it are the folders {', '.join(beside)} of {data}: copy them, too."


@click.command()
@click.argument("backup", metavar="[FILE]", type=click.Path(path_type=Path), required=False)
@options.as_json
@click.pass_context
def verify(ctx: click.Context, backup: Path | None, as_json: bool) -> None:
    """Read a backup, or the record, from end to end, and say whether all of it is sound."""
    from snapgloss.store.copying import checked

    if backup is None:
        with options.open_record(ctx, to_read=True) as store:
            where, counted = store.where, store.checked()
    else:
        where, counted = str(backup), checked(backup, thorough=True)
    if as_json:
        options.print_json({"file": where, "sound": True, **counted._asdict()})
        return
    options.say(f"Sound: {where}.")
    options.say(f"It holds {counted.words}.")


@click.command()
@BACKUP
@options.as_json
@click.pass_context
def restore(ctx: click.Context, backup: Path, as_json: bool) -> None:
    """Put a backup in the place of the record, which is set aside and not deleted.

    The backup is read from end to end first. Close other programs that use the record.
    """
    from snapgloss.store.restoring import restored

    _tell(restored(_folder(ctx), backup), as_json)


def _folder(ctx: click.Context) -> Path:
    """The data folder with the record in it. Raises InputError where the record is elsewhere: a
    file put there would be one that no command reads."""
    folder = options.data_folder(ctx)
    if record_address(folder) != folder:
        raise InputError(
            "The record is in a database, not in the data folder.",
            "Its server has a program of its own for backups.",
        )
    return folder


def _tell(found: "Restored", as_json: bool) -> None:
    if as_json:
        aside = str(found.set_aside) if found.set_aside else None
        options.print_json(
            {"file": str(found.record), "set_aside": aside, **found.counted._asdict()}
        )
        return
    options.say(f"The record is restored: {found.counted.words}.")
    if found.set_aside:
        options.say(f"What stood there before was set aside, and not deleted: {found.set_aside}.")


def _size(size_bytes: int) -> str:
    if size_bytes < 10**6:
        return f"{max(1, round(size_bytes / 1000))} KB"
    return f"{size_bytes / 10**6:.1f} MB" if size_bytes < 10**7 else f"{size_bytes // 10**6} MB"


@click.command()
@options.as_json
@click.pass_context
def salvage(ctx: click.Context, as_json: bool) -> None:
    """Set a damaged record aside and keep what can be read of it; a sound one is left alone.

    Nothing is deleted. Close other programs that use the record.
    """
    from snapgloss.store.mending import mended

    found = mended(_folder(ctx))
    if as_json:
        kept = found and {
            **found._asdict(), **found.counted._asdict(), "set_aside": str(found.set_aside),
        }  # fmt: skip
        options.print_json({"sound": found is None, **(kept or {})})
    else:
        options.say(found.words if found else "The record is sound: nothing was done.")
