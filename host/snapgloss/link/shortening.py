"""Names that nobody else needs, shared by all modules, before the firmware is compiled.

A name takes some 20 bytes of a board's memory where it is used first, whatever is called by it, so
all modules take those names that are their own affair from one short row: `_a`, `_b`, `_c`. Those
are names with one leading underscore, and arguments that are given by their place alone.

Modules of which one builds on a class of another count as one: they share their objects. A
traceback of a board names short functions; `python -m snapgloss.link.shortening MODULE` tells.
"""

import ast
import builtins
import io
import sys
import tokenize
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from string import ascii_lowercase

from snapgloss.base.errors import SnapglossError
from snapgloss.link.folding import folded
from snapgloss.rigs.manifest import firmware_files, module_of

Names = dict[str, None]
"""Each once, in their order."""


def shortened(sources: Mapping[str, str], kept: Collection[str] = ()) -> dict[str, str]:
    """The text of each module, by its dotted name; names `kept` stay as they are. Raises
    SnapglossError where a module uses a private name of another's: it would not be found."""
    short = short_names(sources, kept)
    return {name: _renamed(text, short[name]) for name, text in sources.items()}


def short_names(
    sources: Mapping[str, str], kept: Collection[str] = ()
) -> dict[str, dict[str, str]]:
    """{name here: name on a board} of each module. Raises as `shortened` does."""
    trees = {name: ast.parse(text) for name, text in sources.items()}
    known = {*kept, *dir(builtins), *_all(_public, trees.values())}
    groups = _groups(trees)
    made = [_made([trees[name] for name in group], known) for group in groups]
    _refuse_foreign(trees, groups, made)
    row = [one for one in _row() if one not in known]
    return {
        module: dict(zip(names, row, strict=False))
        for group, names in zip(groups, made, strict=True)
        for module in group
    }


def _groups(trees: Mapping[str, ast.Module]) -> list[list[str]]:
    """Names of modules in groups: with each one that of a class that a class of it builds on."""
    group = {name: [name] for name in trees}
    for name, tree in trees.items():
        for other in _built_on(tree):
            if other in group and group[other] is not group[name]:
                group[other] += group[name]
                group.update(dict.fromkeys(group[name], group[other]))
    return list({id(members): members for members in group.values()}.values())


def _built_on(tree: ast.Module) -> Iterator[str]:
    """Modules of which a class is a base here."""
    bases = [base for one in ast.walk(tree) if isinstance(one, ast.ClassDef) for base in one.bases]
    used = {part.id for base in bases for part in ast.walk(base) if isinstance(part, ast.Name)}
    for one in ast.walk(tree):
        if isinstance(one, ast.ImportFrom):
            for alias in one.names:
                if (alias.asname or alias.name) in used:
                    yield from (f"{one.module}", f"{one.module}.{alias.name}")


# What is called by which names.


def _all(found: Callable[[ast.AST], Iterator[str]], trees: Iterable[ast.Module]) -> Names:
    return dict.fromkeys(name for tree in trees for one in ast.walk(tree) for name in found(one))


def _made(trees: list[ast.Module], kept: set[str]) -> Names:
    """Names that can change, of modules that share them."""
    found = _all(_stored, trees) | _all(_arguments, trees) | _all(_functions, trees)
    return {name: None for name in found if name not in kept}


def _is_private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__") and name != "_"


def _stored(one: ast.AST) -> Iterator[str]:
    """Private names of values."""
    if isinstance(getattr(one, "ctx", None), ast.Store):
        yield from _private(one)


def _arguments(one: ast.AST) -> Iterator[str]:
    if isinstance(one, ast.arg) and one.arg != "self":
        yield one.arg


def _functions(one: ast.AST) -> Iterator[str]:
    if isinstance(one, ast.FunctionDef | ast.ClassDef) and _is_private(one.name):
        yield one.name


def _public(one: ast.AST) -> Iterator[str]:
    """Names by which one module may reach what another has, as well as words in texts."""
    if isinstance(one, ast.Attribute) and not _is_private(one.attr):
        yield one.attr
    elif isinstance(one, ast.keyword) and one.arg:
        yield one.arg
    elif isinstance(one, ast.alias):
        yield from (*one.name.split("."), one.asname or one.name)
    elif isinstance(one, ast.ImportFrom):
        yield from f"{one.module}".split(".")
    elif isinstance(one, ast.FunctionDef | ast.ClassDef) and not _is_private(one.name):
        yield one.name
    elif isinstance(one, ast.Module):
        targets = (part for line in one.body for part in getattr(line, "targets", ()))
        names = (part.id for part in targets if isinstance(part, ast.Name))
        yield from (name for name in names if not _is_private(name))
    elif isinstance(one, ast.Constant) and isinstance(one.value, str):
        yield one.value


def _refuse_foreign(
    trees: Mapping[str, ast.Module], groups: list[list[str]], made: list[Names]
) -> None:
    everywhere = {name for names in made for name in names}
    for group, names in zip(groups, made, strict=True):
        for name in group:
            for one in _all(_private, [trees[name]]):
                if one in everywhere and one not in names:
                    raise SnapglossError(f"{name}: {one} is private to another module.")


def _private(one: ast.AST) -> Iterator[str]:
    name = getattr(one, "id", getattr(one, "attr", ""))
    if _is_private(name):
        yield name


# The new text.


def _row() -> Iterator[str]:
    """`_a` to `_z`, then `_aa` and so on."""
    yield from (f"_{letter}" for letter in ascii_lowercase)
    yield from (f"_{first}{second}" for first in ascii_lowercase for second in ascii_lowercase)


def _renamed(text: str, short: Mapping[str, str]) -> str:
    """The text as it was, letter by letter, but for these names."""
    lines = text.splitlines(keepends=True)
    tokens = [*tokenize.generate_tokens(io.StringIO(text).readline)]
    for one in reversed(tokens):
        if one.type == tokenize.NAME and one.string in short:
            row, column = one.start
            line = lines[row - 1]
            lines[row - 1] = line[:column] + short[one.string] + line[one.end[1] :]
    return "".join(lines)


def main() -> None:
    """Print what a module's names are on a board."""
    paths = firmware_files().items()
    texts = folded({module_of(name): path.read_text("utf-8") for name, path in paths})
    for name, short in short_names(texts).get(sys.argv[1], {}).items():
        sys.stdout.write(f"{short:5} {name}\n")


if __name__ == "__main__":
    main()
