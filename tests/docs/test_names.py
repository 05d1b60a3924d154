"""A public parameter carries its unit in its name."""

import ast

import pytest

BARE = {"temp", "time", "timeout", "delay", "rate", "temperature", "interval", "duration",
        "period"}  # fmt: skip
FOLDERS = ("host/snapgloss", "protocol/rigwire", "firmware/rigfw")


def bare_parameters(source: str) -> list[tuple[int, str, str]]:
    """(line, function, parameter) for each public function with a parameter without a unit."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            continue
        if node.name.startswith("_") and node.name != "__init__":
            continue
        given = node.args
        for arg in (*given.posonlyargs, *given.args, *given.kwonlyargs):
            if arg.arg in BARE:
                found.append((node.lineno, node.name, arg.arg))
    return found


@pytest.mark.parametrize("folder", FOLDERS)
def test_parameters_carry_their_unit(folder, root):
    """No public function takes a bare temp, time, timeout, delay, rate and the like."""
    found = {}
    files = sorted((root / folder).rglob("*.py"))
    assert files
    for path in files:
        bare = bare_parameters(path.read_text(encoding="utf-8"))
        if bare:
            found[str(path.relative_to(root))] = bare
    assert found == {}


def test_a_bare_parameter_is_found():
    """A bare name is reported, in constructors too; one with a unit and a private one are not."""
    source = (
        "def wait(timeout, *, delay=1): ...\n"
        "def hold(hold_s): ...\n"
        "def _inner(time): ...\n"
        "class Rig:\n"
        "    def __init__(self, period): ...\n"
    )
    assert bare_parameters(source) == [
        (1, "wait", "timeout"),
        (1, "wait", "delay"),
        (5, "__init__", "period"),
    ]
