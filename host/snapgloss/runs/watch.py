"""Who is told how a batch goes on: a terminal, a page, a test."""

from typing import Protocol

from snapgloss.runs.moment import Progress


class Leave(KeyboardInterrupt):
    """Raised by a Watch to leave a batch to the rig, as a person does with Ctrl-C."""


class Watch(Protocol):
    """Who is told how a batch goes on."""

    def progress(self, progress: Progress) -> None:
        """Take the present moment; called a few times a second."""
        ...

    def say(self, at_s: int, words: str) -> None:
        """Take one sentence; at_s are device seconds since the batch began."""
        ...
