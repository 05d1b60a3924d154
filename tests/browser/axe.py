"""The rules of WCAG 2.2 AA by axe-core, from npm: `npm ci` in this folder installs it."""

from pathlib import Path

from playwright.sync_api import Page

SOURCE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
GRAVE = ("serious", "critical")
SEEN_MOST = 120


def serious(page: Page) -> list[str]:
    """What it finds that is serious or critical: the rule, and where."""
    assert SOURCE.is_file(), "Run `npm ci` in tests/browser first."
    page.evaluate(SOURCE.read_text(encoding="utf-8"))
    found = page.evaluate(
        "tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", TAGS
    )
    assert len(found["passes"]) > 5, "it looked at nothing"
    return [f"{one['id']}: {node['html'][:SEEN_MOST]}" for one in found["violations"]
            if one["impact"] in GRAVE for node in one["nodes"]]  # fmt: skip
