"""host/docs/causes.md against causes.toml."""

import causes_page
from snapgloss.quality.causes import rules

TEXT = causes_page.PAGE.read_text(encoding="utf-8")


def test_page_is_generated_from_the_rules() -> None:
    """The page equals what the rules give; a rule changed on it is noticed."""
    assert causes_page.generated(TEXT) == TEXT
    spoilt = TEXT.replace("`low_missed` | bowl", "`low_missed` | store")
    assert spoilt != TEXT
    assert causes_page.generated(spoilt) == TEXT


def test_every_rule_says_where_it_comes_from() -> None:
    """No rule without a source, or the words that it has none."""
    assert all(len(rule["source"]) > 10 for rule in rules().rules)
