"""On which line a value stands, counted by hand."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.toml_lines import line_of

TEXT = '''\
name = """
target = "1 C"
[[steps]]
"""
"type" = "dark"
[window] # the window
low = "31 C"

[[steps]]
# target = "2 C"
kind = "melt"
  target = "48 C"
[[steps]]
'target' = "50 C"
wall.most = 3
[ steps_more ]
target = "9 C"
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("name",), 1),
        (("type",), 5),
        (("window",), 6),
        (("window", "low"), 7),
        (("window", "high"), 6),  # missing: where its table begins
        (("steps",), 9),
        (("steps", 0), 9),
        (("steps", 0, "kind"), 11),
        (("steps", 0, "target"), 12),
        (("steps", 0, "hold"), 9),
        (("steps", 1), 13),
        (("steps", 1, "target"), 14),
        (("steps", 1, "kind"), 13),
        (("steps_more", "target"), 17),
        (("steps_more",), 16),
        (("mass",), None),
    ],
)
def test_lines_counted_by_hand(path, line):
    """Lines in a long text, in a comment or under another table never count."""
    assert line_of(TEXT, path) == line


def test_inline_tables_give_the_line_of_the_whole():
    """A step written on one line is on that line."""
    assert line_of('a = 1\nsteps = [{kind = "melt"}]\n', ("steps", 0, "kind")) == 2


_KEYS = st.text(st.sampled_from("ab \"\\'=.[]#é"), min_size=1, max_size=4)


@given(st.text(max_size=80), _KEYS)
def test_any_text_gives_a_line_of_it_or_none(text, key):
    """Whatever the text and the key, the answer is None or a line that the text has."""
    line = line_of(text, ("steps", 0, key))
    assert line is None or 1 <= line <= text.count("\n") + 1


@given(st.lists(st.sampled_from(["x = 1", "y = 2", "# x = 1", "", "z.x = 3", "[t]"]), max_size=8))
def test_the_line_found_is_the_first_that_sets_it(lines):
    """Up to the line before it the text does not have the key; with the line it does."""
    text = "\n".join(lines) + "\n"
    line = line_of(text, ("x",))
    try:
        whole = tomllib.loads(text)
    except ValueError:
        return
    assert (line is not None) == ("x" in whole)
    if line is not None:
        assert "x" not in tomllib.loads("\n".join(lines[: line - 1]))
        assert "x" in tomllib.loads("\n".join(lines[:line]))
