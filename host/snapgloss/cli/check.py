"""The command that says whether a file can be used."""

from pathlib import Path
from typing import Any

import click

from snapgloss.base.errors import InputError
from snapgloss.cli import options


@click.command()
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@options.as_json
@options.fahrenheit
def check(file: Path, as_json: bool, fahrenheit: bool) -> int:
    """Say in a sentence whether a file can be used, or what is wrong in which line.

    FILE is a schedule, a rig or a chocolate; which, is seen by its content. The exit code is 0
    only when it can be used.
    """
    from snapgloss.runs.checking import check_file

    try:
        verdict = check_file(file, fahrenheit)
    except InputError as refused:
        if not as_json:
            raise
        options.print_json(_refusal(refused, file.name))
        return refused.exit_code
    if as_json:
        options.print_json(verdict.as_dict())
        return 0
    click.echo(verdict.sentence)
    for warning in verdict.unusual:
        click.echo(options.hanging("Unusual: ", warning), err=True)
    return 0


def _refusal(refused: InputError, name: str) -> dict[str, Any]:
    """What is wrong, for a program; line and field are null where no one line is to blame."""
    return {
        "usable": False,
        "file": name,
        "line": getattr(refused, "line", None),
        "field": getattr(refused, "field", "") or None,
        "sentence": str(refused),
    }
