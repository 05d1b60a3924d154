"""Names that are their module's own affair, shared: the same program with fewer names."""

import ast

import pytest

from snapgloss.base.errors import SnapglossError
from snapgloss.link.folding import folded
from snapgloss.link.shortening import main, short_names, shortened
from snapgloss.rigs.manifest import firmware_files, module_of


def shorten(text: str, *kept: str, **more: str) -> str:
    """The text of module `m` of package `p`."""
    sources = {"p": "", "p.m": text, **{f"p.{name}": source for name, source in more.items()}}
    return shortened(sources, kept)["p.m"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("self._heat_j = self._heat_j + 1  # _heat_j", "self._a = self._a + 1  # _heat_j"),
        ("def _f(x):\n    return _f(x)", "def _b(_a):\n    return _b(_a)"),
        ("class _A:\n    pass\n_A()", "class _a:\n    pass\n_a()"),
        ("_x = 1\n_a = 2\n_b = _x", "_a = 1\n_b = 2\n_c = _a"),
        ("def f(self, a_ms):\n    return g(a_ms)", "def f(self, _a):\n    return g(_a)"),
        ("def f(a):\n    return lambda b: a + b", "def f(_a):\n    return lambda _b: _a + _b"),
    ],
)
def test_a_name_of_its_own_is_short(text: str, expected: str) -> None:
    """Values, functions, classes and arguments; words of remarks stay."""
    assert shorten(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "self.heat_j = 1\ndef f():\n    pass",
        "def f(heat_w):\n    pass\nx.heat_w = 1",  # somebody may mean it
        "def f(heat_w):\n    pass\nf(heat_w=1)",
        "def f(heat_w):\n    pass\nsetattr(x, 'heat_w', 1)",
        "def f(max):\n    pass",
        "def __init__(self):\n    for _ in x:\n        pass",
        "x._machine",  # of the interpreter: nobody here makes it
        "from p.other import _x",
    ],
)
def test_any_other_name_stays(text: str) -> None:
    """What another module, a text, the language or the machine may call by its name."""
    assert shorten(text, other="_x = 1" if "_x" in text else "") == text


def test_a_name_that_is_asked_for_stays_and_no_short_one_becomes_it() -> None:
    """For tests that look names up."""
    assert shorten("_heat = 1\n_fan = 2", "_heat", "_a") == "_heat = 1\n_b = 2"


def test_modules_that_share_objects_share_their_names() -> None:
    """A class built on another's has its parent's names, and none that its parent has."""
    parent = "class A:\n    def _go(self):\n        self._x = 1"
    child = "from p.parent import A\nclass B(A):\n    _y = 2\n    def f(self):\n        self._go()"
    short = short_names({"p.m": child, "p.parent": parent, "p.else": "_z = 1"})
    assert short["p.m"] == short["p.parent"]
    assert len({*short["p.m"].values()}) == len(short["p.m"]) == 3
    assert short["p.else"] == {"_z": "_a"}


def test_a_private_name_of_another_module_is_refused() -> None:
    """It would have another name there."""
    with pytest.raises(SnapglossError, match=r"p\.m: _heat_j is private to another module"):
        shorten("x._heat_j", other="self._heat_j = 1")


def names(text: str) -> list[str]:
    """Every name of a program, in the order of its tree."""
    kinds = ("id", "attr", "arg", "name", "asname", "module", "value")
    found = [getattr(one, kind, None) for one in ast.walk(ast.parse(text)) for kind in kinds]
    return [one for one in found if isinstance(one, str)]


def test_the_firmware_is_the_same_program() -> None:
    """Module by module one name for one name, and the same tree but for them."""
    sources = {module_of(name): path.read_text("utf-8") for name, path in firmware_files().items()}
    texts = folded(sources)
    for module, text in shortened(texts).items():
        old, new = names(texts[module]), names(text)
        assert len(old) == len(new), module
        pairs = set(zip(old, new, strict=True))
        assert len(pairs) == len({was for was, _ in pairs}) == len({now for _, now in pairs})
        shape = [type(one) for one in ast.walk(ast.parse(texts[module]))]
        assert shape == [type(one) for one in ast.walk(ast.parse(text))], module


def test_it_leaves_four_hundred_names_fewer() -> None:
    """What it is for."""
    sources = {module_of(name): path.read_text("utf-8") for name, path in firmware_files().items()}
    texts = folded(sources)
    before = {name for text in texts.values() for name in names(text)}
    after = {name for text in shortened(texts).values() for name in names(text)}
    assert len(before) - len(after) > 400


def test_the_names_of_a_traceback_can_be_looked_up(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Short and long, a line each."""
    monkeypatch.setattr("sys.argv", ["shortening", "rigfw.link"])
    main()
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split()[0] == "_a"
    assert "_put" in {line.split()[1] for line in lines}
