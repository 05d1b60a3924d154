"""Names that people give: kept as they wrote them, as long as they fit one line."""

from snapgloss.base.errors import InputError

NAME_MOST = 60


def check_name(text: str, what: str) -> None:
    """Raise InputError unless the text is 1 to 60 printable characters; `what` is its subject.

    Quotes, accents and most emoji are names like any other; what a terminal, a file or a report
    would not show on one line is not.
    """
    if not 1 <= len(text) <= NAME_MOST or not text.strip():
        raise InputError(
            f"{what} has {len(text)} characters." if text.strip() else f"{what} is empty.",
            f"Write 1 to {NAME_MOST}.",
        )
    if not text.isprintable():
        raise InputError(
            f"{what} has a character that cannot be shown on one line.",
            "Leave out line ends, tabs and joined emoji.",
        )
