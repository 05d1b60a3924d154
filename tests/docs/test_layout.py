"""The top level is fixed, and links between documents lead somewhere."""

import re
from pathlib import Path
from urllib.parse import unquote

TOP = {
    "README.md", "DEVELOPERS.md", "SAFETY.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
    "requirements.lock", "firmware", "host", "protocol", "tests", "hardware",
}  # fmt: skip
LEFT_BY_TOOLS = {"build", "dist", "__pycache__"}
LINK = re.compile(r"(?<!`)\[[^\]]*\]\(([^)\s]+)\)")
HEADING = re.compile(r"^#+ +(.*)$", re.MULTILINE)


def links(text: str) -> list[str]:
    """Targets of the relative links of a Markdown text; code blocks are left out."""
    prose = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    return [link for link in LINK.findall(prose) if not re.match(r"[a-z]+:", link)]


def anchors_of(page: Path) -> set[str]:
    """The anchors of a page's headings, as common viewers of Markdown make them."""
    text = page.read_text(encoding="utf-8")
    words = (re.sub(r"[^\w\- ]", "", heading.lower()) for heading in HEADING.findall(text))
    return {heading.replace(" ", "-") for heading in words}


def broken(page: Path) -> list[str]:
    """The relative links of a page that lead nowhere."""
    text = page.read_text(encoding="utf-8")
    bad = []
    for link in links(text):
        file, _, anchor = unquote(link).partition("#")
        target = page.parent / file if file else page
        if not target.exists() or (anchor and anchor not in anchors_of(target)):
            bad.append(link)
    return bad


def test_top_level_holds_nothing_else(root):
    """Only the fixed names, dot-files and what tools leave behind lie in the top folder."""
    names = {path.name for path in root.iterdir() if not path.name.startswith(".")}
    assert names - TOP - LEFT_BY_TOOLS == set()
    assert TOP - names == set()


def test_relative_links_resolve(root, documents):
    """Every relative link of every document leads to a file, and its anchor to a heading."""
    bad = {str(page.relative_to(root)): broken(page) for page in documents}
    assert {page: links for page, links in bad.items() if links} == {}


def test_a_dead_link_is_found(tmp_path):
    """A missing file and a missing heading are reported, a good link is not."""
    page = tmp_path / "page.md"
    page.write_text("# Top\n[a](none.md) [b](#top) [c](page.md#nowhere) ![d](gone.png)\n")
    assert broken(page) == ["none.md", "page.md#nowhere", "gone.png"]


def test_the_folders_of_the_project_have_a_page(root, documents):
    """README, DEVELOPERS, SAFETY and CHANGELOG are there and start with a title."""
    for name in ("README.md", "DEVELOPERS.md", "SAFETY.md", "CHANGELOG.md"):
        page = root / name
        assert page in documents
        assert page.read_text(encoding="utf-8").startswith("# ")
