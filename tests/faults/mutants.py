"""Break each check of the firmware, one at a time, and see a test fail.

    python tests/faults/mutants.py --json                all of them, some 20 minutes of processor
    python tests/faults/mutants.py --module hot          those of one module
    python tests/faults/mutants.py --sample 40 --seed 1
    python tests/faults/mutants.py --only 17             show one, and what its tests say

A mutant negates one condition, leaves one part of it out, shifts one comparison's edge, drops one
statement of a safety module, or moves one limit by 10 %, by one at the least. It is killed when
one of the shared tests of the firmware fails on it: the module's own edge tests are asked first.
They run on this Python, in a copy of the firmware. Before the first mutant they must pass on the
firmware as it is. A mutant in EQUIVALENT is run like any other, and must live. Prints the
survivors; exit code 1 when there is one, or when a test tells an equivalent one apart. Docstrings,
names and figures that only words use are not mutated.
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
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
RIGFW = ROOT / "firmware/rigfw"
CHECKS = (
    "balance", "fancheck", "hot", "interlocks", "judge", "plate", "proof", "recent", "rise",
    "seconds", "witness",
)  # fmt: skip
EDGES = tuple(f"edges_{module}" for module in CHECKS)
TESTS = (
    "interlocks", "witness", "handling", "additions", "hot", "testing", "proof", "press", "batch",
    "heap",
)  # fmt: skip
SWAPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}  # fmt: skip
LONGEST_S = 240
_NO_HEAT = "no heat, whatever it is divided by, moves the chocolate by nothing"
_NO_MOVE = (
    "a reading that did not move is no jump: 0 is within what may move, which is never below 0"
)
EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("balance", "if net_j < 0:", "edge: net_j <= 0"): _NO_HEAT,
    ("balance", "if net_j > 0:", "edge: net_j >= 0"): _NO_HEAT,
    (
        "interlocks",
        "and recent_mc - limits.SEED_FALL_MC <= product_mc < self.product_mc",
        "edge: recent_mc - limits.SEED_FALL_MC <= product_mc <= self.product_mc",
    ): _NO_MOVE,
    (
        "interlocks",
        "if 0 < moved_mc and product_mc <= recent_mc + limits.STEADY_MC:",
        "edge: 0 <= moved_mc",
    ): _NO_MOVE,
    (
        "interlocks",
        "elif moved_mc < 0:",
        "edge: moved_mc <= 0",
    ): "it is asked of jumps only, and a reading that did not move is none",
}
"""(module, the line in the source, what was done): why no test can tell it from the original."""

Change = tuple[str, str, Any]
"""Words, and the field of a node that gets another value."""


class Mutant(NamedTuple):
    """One changed file: which, in what line, what was done, its new text, the line as it was."""

    number: int
    module: str
    line: int
    what: str
    text: str
    source: str

    def why_equivalent(self) -> str:
        """The reason why it behaves like the original, "" when it should not."""
        return EQUIVALENT.get((self.module, self.source, self.what), "")

    def row(self) -> list[Any]:
        """What is printed of it."""
        return [self.number, self.module, self.line, self.what, self.source]


def _of_node(node: ast.AST) -> Iterator[Change]:
    """Each way to break this node."""
    if isinstance(node, ast.If | ast.While | ast.IfExp):
        yield "negated", "test", ast.UnaryOp(ast.Not(), node.test)
    if isinstance(node, ast.Assign | ast.Return) and isinstance(
        node.value, ast.Compare | ast.BoolOp
    ):
        yield "negated", "value", ast.UnaryOp(ast.Not(), node.value)
    if isinstance(node, ast.Compare):
        yield from _edges(node)
    if isinstance(node, ast.BoolOp):
        for at, part in enumerate(node.values):
            rest = [*node.values[:at], *node.values[at + 1 :]]
            yield f"without: {ast.unparse(part)}", "values", rest
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield "dropped", "value", ast.Constant(None)


def _edges(node: ast.Compare) -> Iterator[Change]:
    """Each of its edges shifted; an equality is turned round."""
    for at, operator in enumerate(node.ops):
        if type(operator) in SWAPPED:
            ops = [*node.ops[:at], SWAPPED[type(operator)](), *node.ops[at + 1 :]]
            shown = ast.unparse(ast.Compare(node.left, ops, node.comparators))
            yield f"edge: {shown}", "ops", ops


def _of_statement(node: ast.Assign | ast.AugAssign, again: set[int]) -> Iterator[Change]:
    """An attribute keeps what it had; it is set where it had nothing yet, or nothing would run."""
    if isinstance(node, ast.AugAssign):
        yield "dropped", "__class__", ast.Pass
        return
    for dropped in node.targets:
        if isinstance(dropped, ast.Attribute):
            values: list[ast.expr] = [
                _kept(dropped, node.value) if one is dropped else node.value
                for one in node.targets
            ]
            yield f"dropped: {ast.unparse(dropped)}", "value", ast.Tuple(values, ast.Load())
    if id(node) in again:
        yield "dropped", "__class__", ast.Pass


def _kept(target: ast.Attribute, value: ast.expr) -> ast.expr:
    return ast.Call(ast.Name("getattr"), [target.value, ast.Constant(target.attr), value], [])


def _set_again(function: ast.FunctionDef) -> set[int]:
    """Assignments to names that are set elsewhere in the function, too."""
    made = [n for n in ast.walk(function) if isinstance(n, ast.Assign)]
    named = [(one, one.targets[0].id) for one in made if isinstance(one.targets[0], ast.Name)]
    names = [name for _one, name in named] + [one.arg for one in function.args.args]
    return {id(one) for one, name in named if names.count(name) > 1}


def _changes(tree: ast.AST) -> Iterator[tuple[ast.AST, Change]]:
    """Every change to a node. `__init__` is left out: what it sets, `begin` sets again."""
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    for function in functions:
        if function.name == "__init__":
            continue
        again = _set_again(function)
        for node in ast.walk(function):
            for change in _of_node(node):
                yield node, change
            if isinstance(node, ast.Assign | ast.AugAssign):
                for change in _of_statement(node, again):
                    yield node, change


def _changed(tree: ast.AST, node: ast.AST, field: str, value: Any) -> str:
    """The text of the tree with one field of a node changed; the tree is as before."""
    before = getattr(node, field)
    targets = getattr(node, "targets", None)
    if isinstance(value, ast.Tuple) and targets is not None:
        node.targets = [ast.Tuple(targets, ast.Store())]  # type: ignore[attr-defined]
    setattr(node, field, value)
    text = ast.unparse(ast.fix_missing_locations(tree))
    setattr(node, field, before)
    if targets is not None:
        node.targets = targets  # type: ignore[attr-defined]
    return text


def of_checks() -> Iterator[tuple[str, int, str, str, str]]:
    """(module, line, what, text, source) for each way to break a safety module."""
    for module in CHECKS:
        source = (RIGFW / f"{module}.py").read_text(encoding="utf-8")
        lines = source.splitlines()
        tree = ast.parse(source)
        for node, (what, field, value) in _changes(tree):
            line: int = node.lineno  # type: ignore[attr-defined]
            yield module, line, what, _changed(tree, node, field, value), lines[line - 1].strip()


def of_limits() -> Iterator[tuple[str, int, str, str, str]]:
    """Each limit that a safety module names, 10 % up and 10 % down, by one at the least."""
    used = "".join((RIGFW / f"{module}.py").read_text(encoding="utf-8") for module in CHECKS)
    source = (RIGFW / "limits.py").read_text(encoding="utf-8")
    lines = source.splitlines(keepends=True)
    for node in ast.parse(source).body:
        if not (isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)):
            continue
        name = node.targets[0].id
        if f"limits.{name}" not in used:
            continue
        value = int(eval(ast.unparse(node.value), {}))
        step = max(1, value // 10)
        for words, moved in (("down", value - step), ("up", value + step)):
            changed = [*lines[: node.lineno - 1], f"{name} = {moved}\n", *lines[node.end_lineno :]]
            first = lines[node.lineno - 1].strip()
            yield "limits", node.lineno, f"{words}: {moved}", "".join(changed), first


def all_mutants() -> list[Mutant]:
    """All of them, in an order that does not change."""
    found = [*of_checks(), *of_limits()]
    return [Mutant(number, *rest) for number, rest in enumerate(found)]


def _fails(folder: str, names: tuple[str, ...], verbose: bool) -> bool:
    """Whether one of these test files fails in the copy. One that never ends fails, too."""
    command = [
        sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly",
        "--rootdir", folder, "--import-mode=importlib",
        *[f"{folder}/shared/test_fw_{name}.py" for name in names],
    ]  # fmt: skip
    paths = [folder, f"{folder}/shared", str(ROOT / "protocol")]
    try:
        done = subprocess.run(
            command, cwd=folder, capture_output=True, text=True, timeout=LONGEST_S, check=False,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        print(f"no end after {LONGEST_S} s: {', '.join(names)}", file=sys.stderr)
        return True
    if verbose:
        print(done.stdout[-3000:])
    return done.returncode != 0


def survives(module: str, text: str, verbose: bool = False) -> bool:
    """True when no test notices a module of this text."""
    own = EDGES if module == "limits" else (f"edges_{module}",)
    rest = tuple(name for name in EDGES if name not in own)
    with tempfile.TemporaryDirectory(prefix="mutant-") as folder:
        shutil.copytree(ROOT / "firmware/rigfw", Path(folder) / "rigfw")
        shutil.copytree(ROOT / "tests/shared", Path(folder) / "shared")
        (Path(folder) / "rigfw" / f"{module}.py").write_text(text, encoding="utf-8")
        # One file after another: what fails soon is asked soon, and each has its own time.
        groups = [own, *[(name,) for name in (*rest, *TESTS)]]
        return not any(_fails(folder, names, verbose) for names in groups)


def _is_sound() -> bool:
    """Whether all tests pass on the firmware as it is."""
    return survives("limits", (RIGFW / "limits.py").read_text(encoding="utf-8"))


def figures_of(mutants: list[Mutant], lives: list[bool]) -> dict[str, Any]:
    """What is reported. An equivalent mutant is neither killed nor a survivor."""
    both = list(zip(mutants, lives, strict=True))
    equal = [(one, is_alive) for one, is_alive in both if one.why_equivalent()]
    alive = [one.row() for one, is_alive in both if is_alive and not one.why_equivalent()]
    return {
        "mutants": len(mutants),
        "killed": len(mutants) - len(equal) - len(alive),
        "equivalent": [[*one.row(), one.why_equivalent()] for one, _is_alive in equal],
        "told_apart": [one.row() for one, is_alive in equal if not is_alive],
        "survivors": alive,
    }


def _run(mutants: list[Mutant], workers: int) -> dict[str, Any]:
    begun_s = time.monotonic()
    lives = []
    with ThreadPoolExecutor(workers) as pool:
        answers = pool.map(lambda one: survives(one.module, one.text), mutants)
        for count, (mutant, is_alive) in enumerate(zip(mutants, answers, strict=True), 1):
            lives.append(is_alive)
            word = "equivalent" if mutant.why_equivalent() else "survives"
            said = f"{word}: {mutant.row()}\n" if is_alive else ""
            print(f"{said}{count} of {len(mutants)}", file=sys.stderr)
    return {**figures_of(mutants, lives), "wall_s": round(time.monotonic() - begun_s, 1)}


def main() -> int:
    """The command."""
    known = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    known.add_argument("--sample", type=int, default=0, help="so many at random; 0 = all")
    known.add_argument("--seed", type=int, default=1)
    known.add_argument("--only", type=int)
    known.add_argument("--module", choices=[*CHECKS, "limits"], help="those of one module")
    known.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    known.add_argument("--json", action="store_true")
    chosen = known.parse_args()
    mutants = all_mutants()
    if chosen.only is not None:
        mutant = mutants[chosen.only]
        print(mutant.row(), mutant.why_equivalent())
        return 1 if survives(mutant.module, mutant.text, True) else 0
    mutants = [one for one in mutants if chosen.module in (None, one.module)]
    if chosen.sample:
        mutants = random.Random(chosen.seed).sample(mutants, min(chosen.sample, len(mutants)))
    if not _is_sound():
        print("the tests fail on the firmware as it is: nothing can be said", file=sys.stderr)
        return 2
    figures = _run(mutants, chosen.workers)
    print(json.dumps(figures) if chosen.json else json.dumps(figures, indent=1))
    return 1 if figures["survivors"] or figures["told_apart"] else 0


if __name__ == "__main__":
    sys.exit(main())
