"""House rules for what runs on the board."""

import ast
from pathlib import Path

import pytest

RIGFW = Path(__file__).parents[2] / "firmware" / "rigfw"
LOGIC = sorted(RIGFW.glob("*.py"))
HARDWARE = {"machine", "time", "gc", "select", "os", "utime", "onewire", "micropython"}


def _imports(path):
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {node.module.split(".")[0]}
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
            names.add(node.module)
    return names


@pytest.mark.parametrize("path", LOGIC, ids=lambda path: path.name)
def test_logic_knows_no_hardware(path):
    """No module of the logic imports hardware, clock, collector, driver or board."""
    names = _imports(path)
    assert not names & HARDWARE
    assert not [name for name in names if name.startswith(("rigfw.drivers", "rigfw.pico"))]


@pytest.mark.parametrize("path", sorted(RIGFW.rglob("*.py")), ids=lambda path: path.name)
def test_modules_and_functions_are_short(path):
    """A module has fewer than 300 lines, a function at most 40."""
    source = path.read_text(encoding="utf-8")
    assert len(source.splitlines()) < 300
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef):
            assert node.end_lineno - node.lineno < 40, node.name


REGULATOR = {
    "estimator.py", "flows.py", "folded.py", "landing.py", "memory.py", "model.py",
    "regulator.py", "relay.py",
}  # fmt: skip


def test_floats_stay_in_the_regulator():
    """A float literal or a true division allocates on the board: only the regulator has them."""
    found = []
    for path in LOGIC:
        if path.name in REGULATOR:
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, float):
                found.append((path.name, node.lineno))
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div):
                found.append((path.name, node.lineno))
    assert found == []


def test_every_limit_says_where_it_comes_from():
    """Each figure has a comment on its line or heads a group that begins with one."""
    bare = []
    is_covered = False
    for line in (RIGFW / "limits.py").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            is_covered = True
        elif not line:
            is_covered = False
        elif " = " in line and not is_covered and "#" not in line:
            bare.append(line)
    assert bare == []
