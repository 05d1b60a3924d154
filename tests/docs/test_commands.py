"""Every command line that a document shows is one the program has."""

import re
import shlex
import subprocess
import sys

import pytest

SAY_HELP = "from snapgloss.cli.main import main; main()"
LINE = re.compile(r"(?:^|[\s`/\\])snapgloss(?:\.exe)?((?: +[^\s`#|&]+)*)")


def shown_commands(text: str) -> set[tuple[str, ...]]:
    """Command and options of each line like `snapgloss runs --json` in code of a document."""
    code = re.findall(r"^```\w*\n(.*?)^```|`([^`\n]+)`", text, re.DOTALL | re.MULTILINE)
    shown = set()
    for line in "\n".join(block or span for block, span in code).splitlines():
        match = LINE.search(line)
        if not match:
            continue
        words = shlex.split(match[1].replace("\\", "/"))
        if words and re.fullmatch(r"[a-z]+", words[0]):
            shown.add((words[0], *(word.split("=")[0] for word in words if word[:2] == "--")))
    return shown


def help_of(*command: str) -> subprocess.CompletedProcess:
    """What `snapgloss COMMAND --help` answers."""
    call = [sys.executable, "-c", SAY_HELP, *command, "--help"]
    return subprocess.run(call, capture_output=True, text=True, check=False, timeout=30)


@pytest.fixture(scope="module")
def shown(documents):
    """All command lines of all documents."""
    texts = (page.read_text(encoding="utf-8") for page in documents)
    return sorted(set().union(*map(shown_commands, texts)))


def test_commands_are_recognised():
    """The reader of documents finds commands and their options, and no other words."""
    text = (
        "```sh\n.venv/bin/pip install . && .venv/bin/snapgloss try\nsnapgloss runs --json # x\n```"
    )
    assert shown_commands(text) == {("try",), ("runs", "--json")}
    assert shown_commands("`snapgloss.base.units` and `host/snapgloss/base/`") == set()


def test_shown_commands_exist(shown):
    """Each command and option in a document is in the program's own help."""
    assert ("try",) in shown
    wrong = []
    for command, *options in shown:
        answer = help_of(command)
        if answer.returncode != 0:
            wrong.append(command)
        wrong += [f"{command} {option}" for option in options if option not in answer.stdout]
    assert wrong == []


def test_a_wrong_command_is_found():
    """A command that does not exist ends with a code other than 0."""
    assert help_of("polish").returncode != 0


def test_readme_starts_with_the_two_commands(root):
    """The README's first two commands are the batch and the tests, as they must be typed."""
    text = (root / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```sh\n(.*?)^```", text, re.DOTALL | re.MULTILINE)
    venv = "python3 -m venv .venv && .venv/bin/pip install"
    assert blocks[0] == f"{venv} . && .venv/bin/snapgloss try\n"
    assert blocks[1] == f'{venv} -e ".[test]" && .venv/bin/python -m pytest\n'
    assert len(re.findall(r"Windows \(not verified\)", text)) == 2
