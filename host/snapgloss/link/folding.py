"""Named numbers put in the place of their names, before the firmware is compiled for a board.

`HOT_MC = 2000` takes some 40 bytes of a board's memory for the name alone, and the firmware has
hundreds. MicroPython's own `const` does this within one module; here it is done across modules:
`limits.HOT_MC`, and `HOT_MC` where it was imported, become `2000`, and what then nobody uses (the
import, the assignment) is left out; so is `__slots__`, which MicroPython ignores. The rest of the
text stays as it was written, letter by letter: a text that is only equal can run otherwise (two
values put into two names build a tuple, which takes memory, when there is a bracket round them).

A named number is a name in capitals that the top level of a module assigns once, to a number or to
a sum of numbers and named numbers. A short word or a truth value is treated alike.
"""

import ast
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any, NamedTuple

from snapgloss.base.errors import SnapglossError

Number = int | float | str
WORD_MOST = 16  # letters; a long text stays in one place
SUM = (ast.Constant, ast.BinOp, ast.UnaryOp, ast.operator, ast.unaryop)
NOTHING = "pass"
CONST = "const"


class Module(NamedTuple):
    """A module: its text and tree, the numbers that it knows by name, those names that it assigns
    itself, and the numbers of each module that it imports by name."""

    text: str
    tree: ast.Module
    numbers: dict[str, Number]
    own: set[str]
    modules: dict[str, dict[str, Number]]


class Edit(NamedTuple):
    """What stands instead of a piece of the text."""

    place: ast.expr | ast.stmt
    text: str


def folded(sources: Mapping[str, str], keep_names: bool = False) -> dict[str, str]:
    """The text of each module, by its dotted name. `keep_names` leaves imports and assignments
    where they are, for tests that look them up. Raises SnapglossError for a name of two meanings.
    """
    done: dict[str, Module] = {}
    for name in sources:
        _read(name, sources, done)
    return {name: _text(module, keep_names) for name, module in done.items()}


def _text(module: Module, keep_names: bool) -> str:
    edits = list(_numbers_in_place(module))
    if not keep_names:
        idle = list(_idle(module, {id(edit.place) for edit in edits}))
        within = {id(part) for edit in idle for part in ast.walk(edit.place)}
        edits = [edit for edit in edits if id(edit.place) not in within] + idle
    return _edited(module.text, edits)


def _edited(text: str, edits: list[Edit]) -> str:
    """Places in the tree count bytes, not letters."""
    data = text.encode()
    starts = [0]
    for line in data.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for place, new in sorted(edits, key=lambda edit: (-edit.place.lineno, -edit.place.col_offset)):
        assert place.end_lineno is not None and place.end_col_offset is not None
        begin = starts[place.lineno - 1] + place.col_offset
        end = starts[place.end_lineno - 1] + place.end_col_offset
        data = data[:begin] + new.encode() + data[end:]
    return data.decode()


# What is known.


def _read(name: str, sources: Mapping[str, str], done: dict[str, Module]) -> None:
    """A module into `done`, after those that it imports."""
    if name in done or name not in sources:
        return
    module = done[name] = Module(sources[name], ast.parse(sources[name]), {}, set(), {})
    for one in ast.walk(module.tree):
        if isinstance(one, ast.ImportFrom) and one.module:
            _read(one.module, sources, done)
            for alias in one.names:
                _read(f"{one.module}.{alias.name}", sources, done)
                _note_import(one.module, alias, module, done)
    assigned = [_assigned(one) for one in module.tree.body]
    for one in module.tree.body:
        target = _assigned(one)
        if target.isupper() and assigned.count(target) == 1 and isinstance(one, ast.Assign):
            _note_number(target, one.value, module)
    _refuse_second_meaning(name, module)


def _note_import(source: str, alias: ast.alias, into: Module, done: Mapping[str, Module]) -> None:
    here = alias.asname or alias.name
    if source in done and alias.name in done[source].numbers:
        into.numbers[here] = done[source].numbers[alias.name]
    elif f"{source}.{alias.name}" in done:
        into.modules[here] = done[f"{source}.{alias.name}"].numbers


def _note_number(name: str, value: ast.expr, into: Module) -> None:
    whole = ast.Expression(body=_Reckoner(into).visit(deepcopy(value)))
    if all(isinstance(part, SUM) for part in ast.walk(whole.body)):
        sum_only = compile(ast.fix_missing_locations(whole), name, "eval")
        found = eval(sum_only, {"__builtins__": {}})  # numbers and signs alone
        if type(found) in (int, float, bool) or (type(found) is str and len(found) <= WORD_MOST):
            into.numbers[name] = found
            into.own.add(name)


def _assigned(one: ast.AST) -> str:
    """The one name that a statement assigns, "" for any other statement."""
    if isinstance(one, ast.Assign) and len(one.targets) == 1:
        target = one.targets[0]
        return target.id if isinstance(target, ast.Name) else ""
    return ""


def _refuse_second_meaning(name: str, module: Module) -> None:
    """A name of a number or a module must not be an argument or a variable somewhere else."""
    meant = {*module.numbers, *module.modules}
    own_lines = {id(target) for one in module.tree.body for target in getattr(one, "targets", ())}
    for one in ast.walk(module.tree):
        again = one.arg if isinstance(one, ast.arg) else ""
        if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store):
            again = "" if id(one) in own_lines else one.id
        if again in meant or isinstance(one, ast.JoinedStr):
            raise SnapglossError(f"{name}: {again or 'an f-string'} has two meanings for a board.")


# What is changed.


def _number(one: ast.AST, module: Module) -> Number | None:
    """The number that a name stands for, None for anything else."""
    if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Load):
        return module.numbers.get(one.id)
    if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name):
        return module.modules.get(one.value.id, {}).get(one.attr)
    return None


def _numbers_in_place(module: Module) -> Iterator[Edit]:
    for one in ast.walk(module.tree):
        number = _number(one, module)
        if number is not None and isinstance(one, ast.expr):
            text = repr(number)
            yield Edit(one, f"({text})" if text.startswith("-") else text)


def _idle(module: Module, in_place: set[int]) -> Iterator[Edit]:
    """Lines that nobody needs once the numbers are in place."""
    used = {
        part.id
        for one in ast.walk(module.tree)
        if id(one) not in in_place
        for part in ast.iter_child_nodes(one)
        if isinstance(part, ast.Name) and id(part) not in in_place
    }
    for one in ast.walk(module.tree):
        name = _assigned(one)
        if name == "__slots__" or (name in module.own and one in module.tree.body):
            assert isinstance(one, ast.Assign)
            yield Edit(one, NOTHING)
        elif isinstance(one, ast.ImportFrom):
            yield from _shorter(one, module, used)


def _shorter(one: ast.ImportFrom, module: Module, used: set[str]) -> Iterator[Edit]:
    """An import without numbers, without modules of which only numbers were used, and without
    `const`, which MicroPython's compiler knows by itself and carries out."""
    needed = []
    for alias in one.names:
        name = alias.asname or alias.name
        is_done = name in module.numbers or name == CONST
        if not is_done and (name not in module.modules or name in used):
            needed.append(ast.unparse(alias))
    if len(needed) < len(one.names):
        text = f"from {one.module} import {', '.join(needed)}" if needed else NOTHING
        yield Edit(one, text)


class _Reckoner(ast.NodeTransformer):
    """Names replaced in a sum, to find out what it comes to."""

    def __init__(self, module: Module) -> None:
        self._module = module

    def visit(self, node: ast.AST) -> Any:
        """A name is its number; anything else is looked into."""
        number = _number(node, self._module)
        return self.generic_visit(node) if number is None else ast.Constant(number)
