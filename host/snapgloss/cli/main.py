"""The group of commands, loaded one by one, and the one place where errors become sentences."""

import errno
import importlib
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

import click

from rigfw.version import __version__
from snapgloss.base.errors import InputError, SnapglossError

INTERRUPTED = 130
EPILOG = """\b
Exit codes:
  0    done
  1    a fault in this program
  2    something typed, or a file, cannot be used
  3    the rig refused, stopped or lost its power, or nobody pressed start
  4    the cable or the port
  5    the data folder
  6    program and rig, or program and data, are of different age
  130  interrupted with Ctrl-C
"""
COMMANDS = {
    "try": "snapgloss.cli.batch:try_",
    "run": "snapgloss.cli.batch:run",
    "byhand": "snapgloss.cli.byhand:byhand",
    "off": "snapgloss.cli.rig:off",
    "runs": "snapgloss.cli.record:runs",
    "show": "snapgloss.cli.record:show",
    "report": "snapgloss.cli.record:report",
    "figures": "snapgloss.cli.repeat:figures",
    "charts": "snapgloss.cli.repeat:charts",
    "compare": "snapgloss.cli.repeat:compare",
    "window": "snapgloss.cli.window:window",
    "grade": "snapgloss.cli.grade:grade",
    "why": "snapgloss.cli.why:why",
    "changed": "snapgloss.cli.changed:changed",
    "bars": "snapgloss.cli.grade:bars",
    "gloss": "snapgloss.cli.gloss:gloss",
    "snap": "snapgloss.cli.gloss:snap",
    "linecard": "snapgloss.cli.gloss:linecard",
    "note": "snapgloss.cli.grade:note",
    "tray": "snapgloss.cli.tray:tray",
    "bag": "snapgloss.cli.lots:bag",
    "used": "snapgloss.cli.lots:used",
    "label": "snapgloss.cli.lots:label",
    "trace": "snapgloss.cli.lots:trace",
    "export": "snapgloss.cli.exchange:export",
    "import": "snapgloss.cli.exchange:import_",
    "pack": "snapgloss.cli.exchange:pack",
    "backup": "snapgloss.cli.safekeep:backup",
    "verify": "snapgloss.cli.safekeep:verify",
    "restore": "snapgloss.cli.safekeep:restore",
    "salvage": "snapgloss.cli.safekeep:salvage",
    "copy": "snapgloss.cli.copying:copy_",
    "saveit": "snapgloss.cli.saveit:saveit",
    "temper": "snapgloss.cli.temper:temper",
    "crystals": "snapgloss.cli.crystals:crystals",
    "schedule": "snapgloss.cli.schedule:schedule",
    "forecast": "snapgloss.cli.forecast:forecast",
    "learn": "snapgloss.cli.learn:learn",
    "teach": "snapgloss.cli.teach:teach",
    "chocolate": "snapgloss.cli.chocolate:chocolate",
    "moulds": "snapgloss.cli.moulds:moulds",
    "pour": "snapgloss.cli.pour:pour",
    "setting": "snapgloss.cli.setting:setting",
    "turnout": "snapgloss.cli.turnout:turnout",
    "storage": "snapgloss.cli.turnout:storage",
    "mix": "snapgloss.cli.mix:mix",
    "remelt": "snapgloss.cli.mix:remelt",
    "check": "snapgloss.cli.check:check",
    "test": "snapgloss.cli.test:test_",
    "size": "snapgloss.cli.size:size",
    "deploy": "snapgloss.cli.deploy:deploy",
    "calibrate": "snapgloss.cli.calibrate:calibrate",
    "commission": "snapgloss.cli.commission:commission",
    "serve": "snapgloss.cli.serve:serve",
    "virtual": "snapgloss.cli.rig:virtual",
    "rigs": "snapgloss.cli.rigs:rigs",
    "ports": "snapgloss.cli.rig:ports",
}


class DataFolder(click.Path):
    """A folder by name; an empty one would silently mean the folder one stands in."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the path. Refuses an empty text."""
        if value == "":
            self.fail("the name of the folder is empty.", param, ctx)
        return super().convert(value, param, ctx)


class LazyGroup(click.Group):
    """Knows its commands by name and imports the module of one only when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the names in the order of a first visit."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import and return one command."""
        place = COMMANDS.get(cmd_name)
        if place is None:
            return None
        module, _, name = place.partition(":")
        command: click.Command = getattr(importlib.import_module(module), name)
        return command


@click.group(cls=LazyGroup, epilog=EPILOG, context_settings={"max_content_width": 90})
@click.version_option(__version__, prog_name="snapgloss", message="%(prog)s %(version)s")
@click.option(
    "--data",
    type=DataFolder(path_type=Path),
    metavar="DIR",
    help="Folder of the record. Default: SNAPGLOSS_DATA, else the system's place for user data.",
)
@click.pass_context
def cli(ctx: click.Context, data: Path | None) -> None:
    """Temper chocolate on a homemade rig, and keep a record of every batch.

    Begin with `snapgloss try`: a whole batch on the virtual rig, simulated, in seconds.
    """
    ctx.obj = data


def main() -> NoReturn:
    """Run the command line and end the process with its exit code."""
    sys.exit(run(sys.argv[1:]))


def run(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code; every error ends as sentences on stderr."""
    try:
        code = cli.main(list(arguments), prog_name="snapgloss", standalone_mode=False)
    except SnapglossError as error:
        _tell(*_by_wish((error.message, error.remedy), arguments))
        return error.exit_code
    except click.ClickException as error:
        _show(error)
        return error.exit_code
    except (click.Abort, KeyboardInterrupt):
        _tell("Interrupted.", "")
        return INTERRUPTED
    except BrokenPipeError:  # the reader of our output has seen enough
        sys.stderr.close()
        return 0
    except Exception as problem:
        return _output_full() if _is_output_full(problem) else _fault(arguments)
    return code if isinstance(code, int) else 0


def _show(error: click.ClickException) -> None:
    """What click has to say, its last line as one of ours: within 80 columns on a screen."""
    told = io.StringIO()
    error.show(file=told)
    *before, last = told.getvalue().rstrip("\n").splitlines() or [""]
    for line in before:
        click.echo(line, err=True)
    _tell(last, "")


def _by_wish(sentences: tuple[str, str], arguments: Sequence[str]) -> tuple[str, str]:
    """The sentences as they are, or in °F for a call that asked for it."""
    if "--fahrenheit" not in arguments:
        return sentences
    from snapgloss.base.fahrenheit import in_fahrenheit

    message, remedy = (in_fahrenheit(words) for words in sentences)
    return message, remedy


def _is_output_full(problem: Exception) -> bool:
    """True when printing failed for want of room; a full disk of ours names its file."""
    return isinstance(problem, OSError) and problem.errno == errno.ENOSPC and not problem.filename


def _output_full() -> int:
    # What is still in the buffer cannot be written either; at exit it must not be tried again.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    _tell("The output could not be written: its disk is full.", "Make room, then try again.")
    return InputError.exit_code


def _tell(message: str, remedy: str) -> None:
    for words in filter(None, (message, remedy)):
        click.echo(_in_columns(words) if sys.stderr.isatty() else words, err=True)


def _in_columns(words: str) -> str:
    """For a person's screen; a program that reads along gets each sentence as one line."""
    from snapgloss.cli.options import hanging

    return "\n".join(hanging("", line) for line in words.splitlines())


def _fault(arguments: Sequence[str]) -> int:
    """Write the details of an exception of ours to a file and say where."""
    from snapgloss.cli.fault_log import keep_details

    where = keep_details(arguments)
    kept = f"The details are in {where}." if where else "The details could not be written down."
    _tell(f"snapgloss met a fault of its own. {kept}", "")
    return 1
