"""The group: quick help, and every error as sentences with its exit code."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from snapgloss.base import errors
from snapgloss.cli import main

HEAVY = {
    "numpy", "sqlalchemy", "pydantic", "matplotlib", "scipy", "nicegui", "rich", "serial",
    "alembic", "transitions", "platformdirs", "jinja2",
}  # fmt: skip
SAY = "from snapgloss.cli.main import main; main()"


def imported_by(*arguments: str) -> set[str]:
    """Top-level modules that a call imports, as `-X importtime` lists them."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", SAY, *arguments],
        capture_output=True, text=True, check=True, timeout=30, env=environment,
    )  # fmt: skip
    lines = [line for line in done.stderr.splitlines() if line.startswith("import time:")]
    assert len(lines) > 20
    return {line.rpartition("|")[2].strip().partition(".")[0] for line in lines}


def test_python_itself_starts_it() -> None:
    """Where the environment's programs are not on the path: the same program."""
    done = subprocess.run(
        [sys.executable, "-m", "snapgloss", "--version"],
        capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    assert done.stdout.startswith("snapgloss")


@pytest.mark.parametrize(
    "arguments", [("--help",), ("--version",), *((name, "--help") for name in main.COMMANDS)]
)
def test_help_imports_nothing_heavy(arguments: tuple[str, ...]) -> None:
    """Help of the program and of each command stays quick: none of the large libraries."""
    found = imported_by(*arguments)
    assert "click" in found
    assert found & HEAVY == set()


def test_a_heavy_import_would_be_seen() -> None:
    """The list is read rightly: a command that opens the record does import its library."""
    assert "serial" in imported_by("ports")


def test_version(call: Any) -> None:
    """--version prints name and version."""
    from rigfw.version import __version__

    assert call("--version").out == f"snapgloss {__version__}\n"


def test_exit_codes_stand_in_the_help(call: Any) -> None:
    """The end of --help lists each error's exit code."""
    shown = call("--help").out
    tree = [
        errors.SnapglossError, errors.InputError, errors.RigError, errors.LinkError,
        errors.StoreError, errors.VersionError,
    ]  # fmt: skip
    for error in tree:
        assert f"    {error.exit_code}    " in shown
    assert "    130  " in shown


@pytest.mark.parametrize(
    ("arguments", "code", "message", "remedy"),
    [
        (("try", "--mass", "2"), 2, '--mass: "2" has no unit.', "Write a mass like 2 kg or "
         "120 g."),
        (("try", "--port", "/dev/x", "--seed", "4"), 2, "--seed and --speed are for the virtual "
         "rig.", "Leave them out with --port."),
        (("try", "--speed", "0"), 2, None, None),
        (("try", "--port", "/dev/no-rig"), 4, "There is no port /dev/no-rig.", "Plug the rig in "
         "and list the ports with `snapgloss ports`."),
        (("run", "no.toml", "--port", "x"), 2, "There is no file no.toml.", "Check the name and "
         "the folder."),
    ],
)  # fmt: skip
def test_errors_are_two_sentences(
    call: Any, arguments: tuple[str, ...], code: int, message: str | None, remedy: str | None
) -> None:
    """What happened and what to do, on stderr, with the error's code; nothing on stdout."""
    answer = call(*arguments)
    assert (answer.code, answer.out) == (code, "")
    assert len(answer.err.splitlines()) == 2
    if message is not None:
        assert answer.err == f"{message}\n{remedy}\n"


def test_no_such_run(call: Any) -> None:
    """A number without a run is something mistyped."""
    answer = call("show", "99")
    assert answer.code == 2
    assert answer.err.startswith("There is no run 99 in ")
    assert answer.err.endswith("List the runs there are: snapgloss runs.\n")


def test_a_data_folder_that_is_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file in the place of the data folder is told as such, not as a traceback."""
    (tmp_path / "data").write_text("a file")
    code = main.run(["--data", str(tmp_path / "data"), "runs"])
    assert code == 5
    assert "cannot be made: it is a file." in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [("polish",), ("runs", "--loud"), ("show",), ("show", "x")])
def test_usage_errors(call: Any, arguments: tuple[str, ...]) -> None:
    """Wrong commands and options end with 2 and a usage line."""
    answer = call(*arguments)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith("Usage: snapgloss")


def raising(error: BaseException) -> click.Command:
    """A command that fails."""

    @click.command()
    def fail() -> None:
        raise error

    return fail


def put_in(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Let the command `runs` fail with error."""
    monkeypatch.setattr("snapgloss.cli.record.runs", raising(error))


def test_a_fault_of_ours(call: Any, data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An unexpected exception is one sentence; the traceback is in the data folder's log."""
    put_in(monkeypatch, ZeroDivisionError("a slip"))
    answer = call("runs")
    log = data / "faults.log"
    assert answer == (
        1, "", f"snapgloss met a fault of its own. The details are in {log}.\n",
    )  # fmt: skip
    assert "ZeroDivisionError: a slip" in log.read_text()
    call("runs")
    assert log.read_text().count("ZeroDivisionError: a slip") == 2


def test_a_fault_that_cannot_be_written_down(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a data folder the sentence still comes, and says so."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("SNAPGLOSS_DATA", str(tmp_path / "file" / "under"))
    put_in(monkeypatch, ZeroDivisionError("a slip"))
    assert main.run(["runs"]) == 1
    assert "could not be written down" in capsys.readouterr().err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_interrupted(call: Any, monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Ctrl-C ends with 130 and a word."""
    put_in(monkeypatch, error)
    answer = call("runs")
    assert (answer.code, answer.out) == (130, "")
    assert "Interrupted." in answer.err
    assert "Traceback" not in answer.err


@pytest.mark.parametrize("code", [1, 2, 3, 4, 5, 6])
def test_each_error_has_its_code(call: Any, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    """Each class of the tree ends with its own code."""
    tree = [errors.SnapglossError, *errors.SnapglossError.__subclasses__()]
    kinds = {kind.exit_code: kind for kind in tree}
    put_in(monkeypatch, kinds[code]("It broke.", "Mend it."))
    assert call("runs") == (code, "", "It broke.\nMend it.\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("try", "--mass", "0 kg"), "0 g is too little to temper."),
        (("schedule", "--mass", "50 g"), "50 g is too little to temper."),
        (("virtual", "--mass", "0 kg"), "0 g is too little to temper."),
        (("virtual", "--mass", "100 kg"), "does not fit this rig's bowl."),
        (("show", "9" * 24), "is not in the range"),
        (("report", "9" * 24), "is not in the range"),
        (("saveit", "9" * 24), "is not in the range"),
        (("--data", "", "runs"), "the name of the folder is empty."),
        (("try", "--port", ""), "The name of the port is empty."),
        (("test", "--fan", "5 %", "--port", " "), "The name of the port is empty."),
        (("schedule", "--chocolate", ""), "The chocolate's name is empty."),
        (("virtual", "--fault", "nosuch"), "There are: bowl_lifted"),
    ],
)
def test_what_is_typed_wrongly_is_no_fault_of_the_program(
    call: Any, arguments: tuple[str, ...], said: str
) -> None:
    """Code 2 and a sentence, never "a fault of its own"."""
    answer = call(*arguments)
    assert answer.code == 2 and said in answer.err
    assert "fault of its own" not in answer.err


def test_a_long_data_folder_is_shown_by_its_end(call: Any) -> None:
    """10,000 letters do not fill the screen."""
    answer = call("--data", "y" * 10_000, "runs")
    assert answer.code == 5
    assert answer.err.startswith("The data folder ...yyy") and len(answer.err) < 400


def test_a_long_chocolate_name_makes_a_schedule(call: Any) -> None:
    """60 letters, the most a name may have, still leave room for the schedule's own name."""
    assert call("schedule", "--chocolate", "x" * 60).code == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_output_on_a_full_disk_is_said_in_words(data: Path) -> None:
    """Printing into a full disk ends with code 2 and what to do."""
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-c", SAY, "--data", str(data), "runs"],
            stdout=full, stderr=subprocess.PIPE, text=True, timeout=30, check=False,
        )  # fmt: skip
    assert (done.returncode, "Make room" in done.stderr) == (2, True), done.stderr
