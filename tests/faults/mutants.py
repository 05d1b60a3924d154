"""Break each check of the firmware, one at a time, and see a test fail.

    python tests/faults/mutants.py --json                all of them, about an hour on two cores
    python tests/faults/mutants.py --sample 40 --seed 1
    python tests/faults/mutants.py --only 17             show one, and what its tests say

A mutant negates one condition, shifts one comparison's edge, drops one statement of a safety
module, or moves one limit by 10 %. It is killed when one of the shared tests of the firmware fails
on it. They run on this Python, in a copy of the firmware. Prints the survivors; exit code 1 when
there is one. Docstrings, names and figures that only words use are not mutated.
"""

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
RIGFW = ROOT / "firmware/rigfw"
CHECKS = (
    "balance", "fancheck", "hot", "interlocks", "judge", "plate", "proof", "recent", "rise",
    "seconds", "witness",
)  # fmt: skip
TESTS = (
    "interlocks", "witness", "handling", "additions", "hot", "testing", "proof", "press", "batch",
    "heap",
)  # fmt: skip
FIRST = {"witness": "witness", "balance": "witness", "hot": "hot", "seconds": "witness"}
"""The tests that notice most of a module's mutants, asked first."""
SWAPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}  # fmt: skip
LONGEST_S = 240


class Mutant(NamedTuple):
    """One changed file: which, in what line, what was done, and its new text."""

    number: int
    module: str
    line: int
    what: str
    text: str


def _negated(node: ast.expr) -> ast.expr:
    return ast.UnaryOp(ast.Not(), node)


def _of_node(node: ast.AST) -> Iterator[tuple[str, Any]]:
    """Each way to break this node: words, and a function that does it to a copy."""
    if isinstance(node, ast.If | ast.While | ast.IfExp):
        yield "negated", lambda copy: setattr(copy, "test", _negated(copy.test))
    if isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
        after = SWAPPED[type(node.ops[0])]
        yield "edge", lambda copy: copy.ops.__setitem__(0, after())
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield "dropped", lambda copy: setattr(copy, "value", ast.Constant(None))
    if isinstance(node, ast.Assign | ast.AugAssign) and isinstance(_target(node), ast.Attribute):
        yield "dropped", _forget


def _target(node: ast.Assign | ast.AugAssign) -> ast.expr:
    return node.targets[0] if isinstance(node, ast.Assign) else node.target


def _forget(copy: Any) -> None:
    """Assign the attribute to itself."""
    target = deepcopy(_target(copy))
    target.ctx = ast.Load()  # type: ignore[attr-defined]
    copy.value = target if isinstance(copy, ast.Assign) else ast.Constant(0)


def _in_init(tree: ast.AST) -> set[int]:
    """Nodes of `__init__` and `begin`: what they set is set again elsewhere, mostly alike."""
    made = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name == "__init__"]
    return {id(node) for one in made for node in ast.walk(one)}


def of_checks() -> Iterator[tuple[str, int, str, str]]:
    """(module, line, what, text) for each way to break a safety module."""
    for module in CHECKS:
        source = (RIGFW / f"{module}.py").read_text(encoding="utf-8")
        tree = ast.parse(source)
        left_out = _in_init(tree)
        nodes = list(ast.walk(tree))
        for at, node in enumerate(nodes):
            if id(node) in left_out:
                continue
            for what, change in _of_node(node):
                copy = ast.parse(source)
                change(list(ast.walk(copy))[at])
                yield module, node.lineno, what, ast.unparse(ast.fix_missing_locations(copy))  # type: ignore[attr-defined]


def of_limits() -> Iterator[tuple[str, int, str, str]]:
    """Each limit that a safety module names, 10 % up and 10 % down."""
    used = "".join((RIGFW / f"{module}.py").read_text(encoding="utf-8") for module in CHECKS)
    source = (RIGFW / "limits.py").read_text(encoding="utf-8")
    lines = source.splitlines(keepends=True)
    for node in ast.parse(source).body:
        if not (isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)):
            continue
        name = node.targets[0].id
        if f"limits.{name}" not in used:
            continue
        for percent in (90, 110):
            changed = [*lines]
            value = ast.unparse(node.value)
            changed[node.lineno - 1] = f"{name} = ({value}) * {percent} // 100\n"
            yield "limits", node.lineno, f"{name} at {percent} %", "".join(changed)


def all_mutants() -> list[Mutant]:
    """All of them, in an order that does not change."""
    found = [*of_checks(), *of_limits()]
    return [Mutant(number, *rest) for number, rest in enumerate(found)]


def survives(mutant: Mutant, verbose: bool = False) -> bool:
    """True when no test notices it. A test that never ends notices it, too."""
    with tempfile.TemporaryDirectory(prefix="mutant-") as folder:
        shutil.copytree(ROOT / "firmware/rigfw", Path(folder) / "rigfw")
        shutil.copytree(ROOT / "tests/shared", Path(folder) / "shared")
        (Path(folder) / "rigfw" / f"{mutant.module}.py").write_text(mutant.text, encoding="utf-8")
        first = FIRST.get(mutant.module, TESTS[0])
        names = sorted(TESTS, key=lambda name: name != first)
        tests = [f"{folder}/shared/test_fw_{name}.py" for name in names]
        command = [
            sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p",
            "no:randomly", "--rootdir", folder, "--import-mode=importlib", *tests,
        ]  # fmt: skip
        paths = [folder, f"{folder}/shared", str(ROOT / "protocol")]
        try:
            done = subprocess.run(
                command, cwd=folder, capture_output=True, text=True, timeout=LONGEST_S,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)}, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return False
        if verbose:
            print(done.stdout[-3000:])
        return done.returncode == 0


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--sample", type=int, default=0, help="so many at random; 0 = all")
    known.add_argument("--seed", type=int, default=1)
    known.add_argument("--only", type=int)
    known.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    mutants = all_mutants()
    if chosen.only is not None:
        mutant = mutants[chosen.only]
        print(mutant[:4])
        return 1 if survives(mutant, True) else 0
    if chosen.sample:
        mutants = random.Random(chosen.seed).sample(mutants, min(chosen.sample, len(mutants)))
    begun_s = time.monotonic()
    alive = []
    with ThreadPoolExecutor(chosen.workers) as pool:
        for count, (mutant, lives) in enumerate(
            zip(mutants, pool.map(survives, mutants), strict=True), 1
        ):
            alive += [mutant] if lives else []
            said = f"survives: {mutant[:4]}\n" if lives else ""
            print(f"{said}{count} of {len(mutants)}", file=sys.stderr)
    figures = {
        "mutants": len(mutants),
        "killed": len(mutants) - len(alive),
        "survivors": [list(mutant[:4]) for mutant in alive],
        "wall_s": round(time.monotonic() - begun_s, 1),
    }
    print(json.dumps(figures) if chosen.json else json.dumps(figures, indent=1))
    return 1 if alive else 0


if __name__ == "__main__":
    sys.exit(main())
