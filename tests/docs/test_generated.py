"""SAFETY.md's table of hazards is made from hazards.toml."""

import pytest


def test_no_block_is_stale(generate):
    """The table is what the data gives."""
    assert generate.stale_blocks(write=False) == []


def test_a_stale_block_is_found_and_mended(generate, root, tmp_path):
    """A changed row is named; writing mends it."""
    page = tmp_path / "SAFETY.md"
    good = (root / "SAFETY.md").read_text(encoding="utf-8")
    page.write_text(good.replace("| hardware only |", "| covered |", 1), encoding="utf-8")
    assert generate.stale_blocks(write=False, root=tmp_path) == ["SAFETY.md: hazards"]
    generate.stale_blocks(write=True, root=tmp_path)
    assert page.read_text(encoding="utf-8") == good


def test_a_missing_mark_is_an_error(generate):
    """A document without the marks is not taken for fresh."""
    with pytest.raises(ValueError, match="0 blocks named hazards"):
        generate.with_block("no marks here", "hazards", "body")
