"""A person at the rig, as a program sees one that leads through steps."""

from typing import Protocol


class Person(Protocol):
    """Who is told and asked; all return when it is done, but `act`."""

    def say(self, words: str) -> None:
        """Take a sentence."""
        ...

    def act(self, key: str) -> None:
        """Be told that it is time to do what the step says, now; does not wait."""
        ...

    def look_up(self) -> None:
        """Called at least once a second while the rig is at work; may raise to end the step."""
        ...

    def ready(self, words: str) -> None:
        """Get something done; returns when it is."""
        ...

    def figure(self, words: str, unit: str) -> float | None:
        """Read an instrument; None when the step is passed over."""
        ...

    def seen(self, words: str, must: str) -> bool | None:
        """Look; None when the step is passed over."""
        ...
