"""The command that copies a record to where several computers can share it."""

import time
from collections.abc import Callable

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options


@click.command("copy")
@click.argument("url", required=False, metavar="[URL]")
@options.as_json
@click.pass_context
def copy_(ctx: click.Context, url: str | None, as_json: bool) -> None:
    """Copy the record of the data folder into a PostgreSQL database.

    URL is like postgresql://NAME@SERVER/DATABASE, without a password; by default the address in
    SNAPGLOSS_RECORD or record.url. Every table is counted and summed on both sides. A copy that
    was broken off, or is older than the record, is continued by the same command.
    """
    from snapgloss.base.addresses import record_address, refuse_password
    from snapgloss.runs.copying import copy_to

    folder = options.data_folder(ctx)
    address = refuse_password(url) if url else record_address(folder)
    if not isinstance(address, str):
        raise InputError(
            "No database is named.", "Name one like postgresql://NAME@SERVER/DATABASE."
        )
    began_s = time.monotonic()
    copied = copy_to(folder, address, _teller())
    took_s = time.monotonic() - began_s
    if as_json:
        options.print_json({"took_s": round(took_s, 2), "tables": options.plain(copied)})
        return
    for one in copied:
        click.echo(f"{one.table:14}{one.rows:12} rows   {one.added:12} new   sum {one.check_sum}")
    options.say(f"Copied and verified in {took_s:.1f} s: all tables are the same on both sides.")
    options.say("Photos, sounds, reports and the rigs' own files stay in the data folder.")


def _teller(every_s: float = 2.0) -> Callable[[str, int, int], None]:
    """Say how far a long table is, every two seconds."""
    said_s = time.monotonic()

    def tell(table: str, done: int, total: int) -> None:
        nonlocal said_s
        if time.monotonic() - said_s >= every_s:
            said_s = time.monotonic()
            click.echo(f"{table}: {done} of {total}", err=True)

    return tell
