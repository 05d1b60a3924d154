"""Named numbers put in the place of their names, before the firmware is compiled for a board.

`HOT_MC = 2000` takes some 40 bytes of a board's memory for the name alone, and the firmware has
hundreds. MicroPython's own `const` does this within one module; here it is done across modules:
`limits.HOT_MC`, and `HOT_MC` where it was imported, become `2000`, and what then nobody uses (the
import, the assignment) is left out. Nothing else is changed.

A named number is a name in capitals that the top level of a module assigns once, to a number or to
a sum of numbers and named numbers.
"""

import ast
from collections.abc import Mapping
from typing import NamedTuple

Number = int | float
SUM = (ast.Constant, ast.BinOp, ast.UnaryOp, ast.operator, ast.unaryop)


class Module(NamedTuple):
    """A module: its tree, the numbers that it knows by name, those names that it assigns itself,
    and the numbers of each module that it imports by name."""

    tree: ast.Module
    numbers: dict[str, Number]
    own: set[str]
    modules: dict[str, dict[str, Number]]


def folded(sources: Mapping[str, str], keep_names: bool = False) -> dict[str, str]:
    """The text of each module, by its dotted name. `keep_names` leaves imports and assignments
    where they are, for tests that look them up."""
    done: dict[str, Module] = {}
    for name in sources:
        _read(name, sources, done)
    return {name: _text(module, keep_names) for name, module in done.items()}


def _text(module: Module, keep_names: bool) -> str:
    tree = _Folder(module).visit(module.tree)
    if not keep_names:
        tree = _Cleaner(module).visit(tree)
    return ast.unparse(ast.fix_missing_locations(tree))


def _read(name: str, sources: Mapping[str, str], done: dict[str, Module]) -> None:
    """A module into `done`, after those that it imports."""
    if name in done or name not in sources:
        return
    module = done[name] = Module(ast.parse(sources[name]), {}, set(), {})
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


def _note_import(source: str, alias: ast.alias, into: Module, done: Mapping[str, Module]) -> None:
    here = alias.asname or alias.name
    if source in done and alias.name in done[source].numbers:
        into.numbers[here] = done[source].numbers[alias.name]
    elif f"{source}.{alias.name}" in done:
        into.modules[here] = done[f"{source}.{alias.name}"].numbers


def _note_number(name: str, value: ast.expr, into: Module) -> None:
    whole = ast.fix_missing_locations(ast.Expression(_Folder(into).visit(value)))
    if all(isinstance(part, SUM) for part in ast.walk(whole.body)):
        found = eval(compile(whole, "", "eval"), {"__builtins__": {}})  # a sum of numbers alone
        if type(found) in (int, float):
            into.numbers[name] = found
            into.own.add(name)


def _assigned(one: ast.stmt) -> str:
    """The one name that a statement assigns, "" for any other statement."""
    if isinstance(one, ast.Assign) and len(one.targets) == 1:
        target = one.targets[0]
        return target.id if isinstance(target, ast.Name) else ""
    return ""


class _Folder(ast.NodeTransformer):
    """Puts the numbers in the places of their names."""

    def __init__(self, module: Module) -> None:
        self._module = module

    def visit_Name(self, node: ast.Name) -> ast.expr:
        """A name that is read."""
        if isinstance(node.ctx, ast.Load) and node.id in self._module.numbers:
            return _written(self._module.numbers[node.id])
        return node

    def visit_Attribute(self, node: ast.Attribute) -> ast.expr:
        """A number of another module, by that module's name."""
        if isinstance(node.value, ast.Name):
            numbers = self._module.modules.get(node.value.id, {})
            if node.attr in numbers:
                return _written(numbers[node.attr])
        self.generic_visit(node)
        return node


class _Cleaner(ast.NodeTransformer):
    """Leaves out what nobody uses any more."""

    def __init__(self, module: Module) -> None:
        self._module = module
        names = (one.id for one in ast.walk(module.tree) if isinstance(one, ast.Name))
        self._used = set(names)

    def visit_Assign(self, node: ast.Assign) -> ast.Assign | None:
        """A named number's own line."""
        return None if _assigned(node) in self._module.own else node

    def visit_ImportFrom(self, node: ast.ImportFrom) -> ast.ImportFrom | None:
        """Numbers, and modules of which only numbers were used."""
        node.names = [alias for alias in node.names if self._is_needed(alias)]
        return node if node.names else None

    def _is_needed(self, alias: ast.alias) -> bool:
        name = alias.asname or alias.name
        if name in self._module.numbers:
            return False
        return name not in self._module.modules or name in self._used


def _written(number: Number) -> ast.expr:
    if number < 0:
        return ast.UnaryOp(ast.USub(), ast.Constant(-number))
    return ast.Constant(number)
