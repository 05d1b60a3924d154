"""The command that says what changed between good batches and bad ones."""

import click

from snapgloss.cli import options


@click.command()
@click.option("--rig", metavar="NAME", help="Its batches. Default: the rig of the newest batch.")
@options.as_json
@options.fahrenheit
@click.pass_context
def changed(ctx: click.Context, rig: str | None, as_json: bool, fahrenheit: bool) -> None:
    """Say what changed between the good batches of a rig and the bad ones.

    Looks at fan, probe against probe, stirring, room, bars melted again and bags, over the newest
    40 graded batches. With few batches it says that they are too few.
    """
    from snapgloss.runs.changed import changed as ask

    with options.open_record(ctx, to_read=True) as store:
        found = ask(store, rig, fahrenheit)
    if as_json:
        options.print_json(options.plain(found))
        return
    options.say(found.words)
    for one in found.changed:
        counts = f"{one.good_count} good, {one.bad_count} bad"
        about = f"({counts}; so much by luck: {100 * one.chance:.2g} %)"
        click.echo(options.hanging("- ", f"{one.words} {about}"))
    if found.same:
        options.say(f"Looked at and not changed: {', '.join(one.name for one in found.same)}.")
