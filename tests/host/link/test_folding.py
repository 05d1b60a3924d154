"""Named numbers in the place of their names: the same program, with fewer names."""

import ast

import pytest

from snapgloss.base.errors import SnapglossError
from snapgloss.link.folding import folded
from snapgloss.rigs.manifest import firmware_files

LIMITS = '"""Words."""\nHOT_MC = 2000  # a comment\nCOLD_MC = -HOT_MC\nDAY_MS = 24 * 3600 * 1000\n'


def fold(text: str, keep_names: bool = False, **more: str) -> str:
    """The text of module `m` of package `p`, beside `p.limits`."""
    sources = {"p": "", "p.limits": LIMITS, "p.m": text}
    sources.update({f"p.{name}": source for name, source in more.items()})
    found = folded(sources, keep_names)["p.m"]
    return "\n".join(line for line in found.splitlines() if line.strip() != "pass")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("from p import limits\nx = limits.HOT_MC", "x = 2000"),
        ("from p.limits import COLD_MC\nx = 1 - COLD_MC", "x = 1 - (-2000)"),
        ("from p.limits import DAY_MS as DAY\nx = DAY // 2", "x = 86400000 // 2"),
        ("HALF = 500\nTOP = 2 * HALF + 1\ndef f():\n    return TOP", "def f():\n    return 1001"),
        ("def f():\n    from p import limits\n    x = limits.HOT_MC", "def f():\n    x = 2000"),
        ("IS_ON = False\nx = 1 if IS_ON else 2", "x = 1 if False else 2"),
        ("WORD = 'rig'\nx = WORD", "x = 'rig'"),
        ("from p.folded import const\n_A_S = const(1.5)\nx = _A_S", "_A_S = const(1.5)\nx = _A_S"),
        ("class A:\n    __slots__ = ('b',)\n    c = 1", "class A:\n    c = 1"),
    ],
)
def test_a_number_stands_where_its_name_was(text: str, expected: str) -> None:
    """By module, by name, by another name, as a sum, inside a function; its line is gone."""
    assert fold(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "A = 1\nA = 2\nx = A",  # assigned twice
        "a = 1\nx = a",  # not in capitals
        "A = (1, 2)\nx = A",
        "A = len('abc')\nx = A",
        "A = 'a text of more letters'\nx = A",
        "A: int = 1\nx = A",
        "A, B = (1, 2)\nx = A",
        "from p import limits\nx = limits.missing",
        "from p import limits\nx = limits",
        "import p.limits\nx = p.limits.HOT_MC",
        "a, b = c, d  # no bracket: it would take memory",
        "x = '°C' ;  y=( 1 )",
    ],
)
def test_anything_else_stays_as_it_is(text: str) -> None:
    """What is no named number is not touched."""
    assert fold(text) == text


def test_a_number_goes_through_a_module_that_hands_it_on() -> None:
    """`m` has it from `middle`, which has it from `limits`; no import is left."""
    middle = "from p.limits import HOT_MC"
    assert fold("from p.middle import HOT_MC\nx = HOT_MC", middle=middle) == "x = 2000"


def test_a_module_stays_imported_while_anything_else_of_it_is_used() -> None:
    """A function of it, beside a number."""
    text = "from p import other, limits\nx = other.f(other.A + limits.HOT_MC)"
    found = fold(text, other="A = 5\ndef f(a):\n    return a")
    assert found == "from p import other\nx = other.f(5 + 2000)"


@pytest.mark.parametrize(
    "text",
    [
        "from p import limits\ndef f(limits):\n    return limits.HOT_MC",
        "from p.limits import HOT_MC\ndef f():\n    HOT_MC = 1\n    return HOT_MC",
        "from p.limits import HOT_MC\nx = [HOT_MC for HOT_MC in (1, 2)]",
        "from p.limits import HOT_MC\nx = f'{HOT_MC}'",
    ],
)
def test_a_name_of_two_meanings_is_refused(text: str) -> None:
    """It cannot be told which one is meant, or where it stands: nothing is compiled."""
    with pytest.raises(SnapglossError, match="two meanings"):
        fold(text)


def test_kept_names_are_still_there() -> None:
    """For tests: numbers are in place, and names can be looked up, too."""
    text = "from p.limits import HOT_MC\nHALF = 2\nx = HOT_MC // HALF"
    found = fold(text, keep_names=True)
    assert found == "from p.limits import HOT_MC\nHALF = 2\nx = 2000 // 2"


def _firmware() -> dict[str, str]:
    return {
        path.removesuffix(".py").removesuffix("/__init__").replace("/", "."): source.read_text()
        for path, source in firmware_files().items()
    }


def _defined(tree: ast.Module) -> set[str]:
    """The names that a module has once it is imported, those that it deletes included."""
    names = {one.id for one in ast.walk(tree) if isinstance(one, ast.Name)}
    for one in ast.walk(tree):
        if isinstance(one, ast.FunctionDef | ast.ClassDef):
            names.add(one.name)
        elif isinstance(one, ast.ImportFrom | ast.Import):
            names |= {alias.asname or alias.name.split(".")[0] for alias in one.names}
    return names


def test_no_module_of_the_firmware_asks_for_a_name_that_is_gone() -> None:
    """Every import of the folded firmware finds its module and its name."""
    trees = {name: ast.parse(text) for name, text in folded(_firmware()).items()}
    asked = 0
    for name, tree in trees.items():
        for one in ast.walk(tree):
            if isinstance(one, ast.ImportFrom) and one.module in trees:
                for alias in one.names:
                    asked += 1
                    is_module = f"{one.module}.{alias.name}" in trees
                    assert is_module or alias.name in _defined(trees[one.module]), (
                        name,
                        alias.name,
                    )
    assert asked > 100


def test_the_ceilings_are_in_the_program_and_nowhere_else() -> None:
    """No module of the firmware looks up a limit when it runs; the figures stand in the code."""
    texts = folded(_firmware())
    assert not [name for name, text in texts.items() if "limits." in _code(text)]
    assert "80000" in texts["rigfw.plate"] or "80000" in texts["rigfw.describe"]


def _code(text: str) -> str:
    """A module without its words for people."""
    tree = ast.parse(text)
    return "\n".join(
        f"{one.value.id}.{one.attr}"
        for one in ast.walk(tree)
        if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name)
    )
