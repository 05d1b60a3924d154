"""A page with parts that are made from data: written anew or, with `--check`, compared."""

import sys
from collections.abc import Callable
from pathlib import Path


def keep(page: Path, made: Callable[[str], str]) -> int:
    """Write what `made` makes of a page's text or, with --check on the command line, compare the
    two; 1 when they differ then."""
    text = page.read_text(encoding="utf-8")
    wanted = made(text)
    if "--check" in sys.argv[1:]:
        return int(text != wanted)
    page.write_text(wanted, encoding="utf-8")
    return 0
