"""How long to wait before a rig that is away is tried again: longer each time, up to a bound."""


class Backoff:
    """Doubles from `first_s` up to `most_s`; begins anew once the rig was there."""

    def __init__(self, first_s: float, most_s: float) -> None:
        self._first_s, self._most_s = first_s, most_s
        self._next_s = first_s

    def next_s(self) -> float:
        """Return the seconds to wait now; the next time it is twice that."""
        now_s, self._next_s = self._next_s, min(2 * self._next_s, self._most_s)
        return now_s

    def reset(self) -> None:
        """The rig was there: begin with the shortest wait again."""
        self._next_s = self._first_s
