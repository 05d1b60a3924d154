"""host/docs/commands.md and the program say the same."""

import re
from pathlib import Path

import click
import pytest

from snapgloss.base.errors import SnapglossError
from snapgloss.cli import batch, main
from snapgloss.virtual.faults import parse_fault

PAGE = Path(__file__).parents[3] / "host" / "docs" / "commands.md"
GENERAL = {"--help"}


def sections(text: str) -> dict[str, str]:
    """The text under each second-level heading; under "" what stands before the first."""
    head, *rest = re.split(r"^## ", text, flags=re.MULTILINE)
    named = (part.partition("\n") for part in rest)
    return {"": head, **{name.strip(): body for name, _, body in named}}


def in_table(body: str) -> set[str]:
    """Options that a section's table describes."""
    return set(re.findall(r"^\| `(--[a-z-]+)", body, flags=re.MULTILINE))


def named(body: str) -> set[str]:
    """Every option that a section names anywhere."""
    return set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", body))


def options_of(command: click.Command) -> set[str]:
    """The long options of a command."""
    return {
        name
        for parameter in command.params
        if isinstance(parameter, click.Option)
        for name in parameter.opts
        if name.startswith("--")
    }


@pytest.fixture(scope="module")
def page() -> dict[str, str]:
    """The page by sections."""
    return sections(PAGE.read_text(encoding="utf-8"))


def test_every_command_has_a_section_and_no_other(page: dict[str, str]) -> None:
    """The page's sections are the program's commands, in its order, and the exit codes."""
    assert list(page) == ["", *main.COMMANDS, "Exit codes"]


@pytest.mark.parametrize("name", main.COMMANDS)
def test_every_option_is_described_and_none_is_stale(page: dict[str, str], name: str) -> None:
    """A command's table lists exactly its options."""
    command = main.cli.get_command(click.Context(main.cli), name)
    assert command is not None
    assert in_table(page[name]) == options_of(command)
    assert command.help


def test_the_programs_own_options(page: dict[str, str]) -> None:
    """The first table lists exactly the options that stand before a command."""
    assert in_table(page[""]) == options_of(main.cli) | GENERAL


def test_no_section_names_an_option_that_is_not_there(page: dict[str, str]) -> None:
    """Prose and examples name only options of some command."""
    known = options_of(main.cli) | GENERAL
    for name in main.COMMANDS:
        command = main.cli.get_command(click.Context(main.cli), name)
        assert command is not None
        known |= options_of(command)
    for body in page.values():
        assert named(body) <= known


def test_exit_codes(page: dict[str, str]) -> None:
    """The table of exit codes has each code that the program can end with, once, and no other."""
    listed = [int(code) for code in re.findall(r"^\| (\d+) \|", page["Exit codes"], re.MULTILINE)]
    kinds = [SnapglossError, *SnapglossError.__subclasses__()]
    possible = {kind.exit_code for kind in kinds} | set(batch.EXIT_CODES.values())
    assert sorted(listed) == sorted(possible | {0, main.INTERRUPTED})
    for code in listed:
        assert re.search(rf"^  {code:<5}\S", main.EPILOG, re.MULTILINE)


def test_the_length_of_a_power_cut_is_as_the_page_says(page: dict[str, str]) -> None:
    """The example of a hazard from one second to another lasts as long as its sentence says."""
    shown = re.search(r"`(power_cut@\S+)` is a cut of (\d+) s at\s+second (\d+)", page["virtual"])
    assert shown is not None
    fault = parse_fault(shown[1])
    assert fault.begin_s is not None and fault.end_s is not None
    assert (fault.end_s - fault.begin_s, fault.begin_s) == (float(shown[2]), float(shown[3]))


def test_a_missing_option_would_be_seen() -> None:
    """The reader of tables is no yes-man."""
    assert in_table("| `--json` | x |\n| `--out FOLDER` | y |\nsee `--rig`") == {"--json", "--out"}
    assert named("a--b `--rig X`, --out=3") == {"--rig", "--out"}
