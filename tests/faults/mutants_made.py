"""The mutants of the firmware's safety modules: each is one file with one check broken.

A mutant negates one condition, leaves one part of it out, shifts one comparison's edge, drops one
statement or early return of a safety module, or moves one limit by 10 %, by one at the least.
Docstrings, names and figures that only words use are not mutated.
"""

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

RIGFW = Path(__file__).parents[2] / "firmware/rigfw"
CHECKS = (
    "balance", "calm", "commissioned", "describe", "fancheck", "hot", "interlocks", "judge",
    "order", "people", "plate", "proof", "recent", "rise", "seconds", "selfwatch", "testing",
    "witness", "drivers/contact", "drivers/ds18b20", "drivers/onewire_crc", "drivers/platinum",
    "drivers/probe", "drivers/tachometer", "drivers/thermistor", "drivers/filekeep",
    "drivers/probelist", "drivers/romsearch", "slots", "app", "windows", "update",
    "pico/boot", "pico/main", "pico/startup", "pico/board",
)  # fmt: skip
BUILDERS = ("__init__", "_begin_at_boot")
"""What only makes an object."""
ONLY = {"app": ("all_off", "_fail", "stop", "off", "lock", "product_mc")}
"""What carries safety of a module that also does other things: all off, and what is believed."""
SWAPPED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}  # fmt: skip
_NO_HEAT = "no heat, whatever it is divided by, moves the chocolate by nothing"
_NO_MOVE = (
    "a reading that did not move is no jump: 0 is within what may move, which is never below 0"
)
_MADE_ANEW = "the whole slot is made anew of what it says, sum and head as well, and compared"
_MADE_HERE = "a board is new here and has none yet, so that the mutant sets it as well"
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
        "commissioned",
        "if type(text) is str and type(rig_text) is str and text == proof_text(rig_text):",
        "without: type(text) is str",
    ): "the line is a text, and what is no text is equal to none",
    ("fancheck", "self.renew(MISSING_MC)", "dropped"): (
        "in its first minute each second renews it: here the attributes are only made"
    ),
    (
        "witness",
        "self._same_s = self._moved_s = self._ahead_s = self._off_s = self._mean_mw = 0",
        "dropped: self._moved_s",
    ): "the first reading of a new count makes the plate's span 0, and this with it",
    (
        "witness",
        "self._ahead_from_mc = self._idle_low_mc = MISSING_MC",
        "dropped: self._idle_low_mc",
    ): "_off_s is 0 as well, and as long as it is IDLE_S or less each second sets this anew",
    (
        "people",
        "if button.down and not was_down:",
        "without: button.down",
    ): "between two presses nothing is asked of whether one was used, and the next begins anew",
    (
        "people",
        "self._used = 1 (2)",
        "dropped: self._used",
    ): "a press that was let go is asked for nothing more, and the next begins unused",
    (
        "drivers/ds18b20",
        "return False",
        "dropped",
    ): "a conversion that begins in this pass is not done in it, and False is the answer as well",
    (
        "drivers/platinum",
        "if not why and not LOW_MC <= read_mc <= HIGH_MC:",
        "without: not why",
    ): "what was refused is read as 0, and 0 is within the range",
    (
        "slots",
        "if not body.startswith(HEAD) or crc_hex(body.encode()) != crc:",
        "without: not body.startswith(HEAD)",
    ): _MADE_ANEW,
    (
        "slots",
        "if not body.startswith(HEAD) or crc_hex(body.encode()) != crc:",
        "without: crc_hex(body.encode()) != crc",
    ): _MADE_ANEW,
    ("slots", "return None", "dropped"): _MADE_ANEW,
    (
        "drivers/romsearch",
        "return self._rom[at >> 3] >> (at & 7) & 1 if at < self._fork else 0",
        "edge: at <= self._fork",
    ): "at the fork itself the line before has answered",
    ("pico/startup", "board.keep = FileKeep(KEEP_FOLDER)", "dropped: board.keep"): _MADE_HERE,
    (
        "pico/startup",
        "board.cap_permille = cap_permille(proof, config.to_text(), config.heater_w)",
        "dropped: board.cap_permille",
    ): _MADE_HERE,
    (
        "interlocks",
        "elif moved_mc < 0:",
        "edge: moved_mc <= 0",
    ): "it is asked of jumps only, and a reading that did not move is none",
}
"""(module, the line in the source, what was done): why no test can tell it from the original. A
line that is not the first of its text has its count behind it."""

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


def _early(function: ast.FunctionDef) -> set[int]:
    """Returns on a condition, with more to come after them."""
    return {
        id(node)
        for statement in function.body[:-1]
        for node in ast.walk(statement)
        if isinstance(node, ast.Return)
    }


def _changes(tree: ast.AST, only: tuple[str, ...]) -> Iterator[tuple[ast.AST, Change]]:
    """Every change to a node. `__init__` is left out: what it sets, `begin` sets again, or nothing
    would run."""
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    for function in functions:
        if function.name in BUILDERS or (only and function.name not in only):
            continue
        again, early = _set_again(function), _early(function)
        for node in ast.walk(function):
            for change in _of_node(node):
                yield node, change
            if isinstance(node, ast.Assign | ast.AugAssign):
                for change in _of_statement(node, again):
                    yield node, change
            if id(node) in early:
                yield node, ("dropped", "__class__", ast.Pass)


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
        for node, (what, field, value) in _changes(tree, ONLY.get(module, ())):
            line: int = node.lineno  # type: ignore[attr-defined]
            yield module, line, what, _changed(tree, node, field, value), _source(lines, line)


def _source(lines: list[str], line: int) -> str:
    """The line as it is, with its count where the module has the same one before."""
    text = lines[line - 1].strip()
    count = [one.strip() for one in lines[:line]].count(text)
    return text if count == 1 else f"{text} ({count})"


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
