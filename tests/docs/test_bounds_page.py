"""host/docs/bounds.md has the bounds of the code."""

import runpy


def test_the_page_is_as_the_code_has_it(root):
    """Each figure, by its constant."""
    page = runpy.run_path(str(root / "tests" / "docs" / "bounds_page.py"))
    text = (root / "host" / "docs" / "bounds.md").read_text(encoding="utf-8")
    assert page["generated"](text) == text
    assert text.count("\n| ") > len(page["BOUNDS"])
    assert page["generated"](text.replace("| 256 bytes |", "| 512 bytes |")) == text
