"""Time in the window, counted while it goes on; the same time that the figures of a run give."""

from rigwire.tables import FLAG_HOLDING
from snapgloss.base.records import Reading
from snapgloss.quality.spans import GAP_OVER_MS


class WindowClock:
    """Takes readings in order. The work begins when the rig says that its target is reached."""

    def __init__(self, low_mc: int, high_mc: int) -> None:
        self._low_mc, self._high_mc = low_mc, high_mc
        self._before: Reading | None = None
        self._begun = False
        self._inside_ms = self._working_ms = 0

    @property
    def inside_s(self) -> int:
        """Seconds of work inside the window, both edges included."""
        return self._inside_ms // 1000

    @property
    def working_s(self) -> int:
        """Seconds of work, inside the window or not; 0 before it began."""
        return self._working_ms // 1000

    @property
    def has_begun(self) -> bool:
        """True once the working temperature was reached."""
        return self._begun

    def take(self, reading: Reading) -> None:
        """Take the next reading; a longer gap before it is nobody's time."""
        before, self._before = self._before, reading
        if before is not None and self._begun and before.state == "working":
            span_ms = reading.at_ms - before.at_ms
            if 0 < span_ms <= GAP_OVER_MS:
                self._working_ms += span_ms
                self._inside_ms += span_ms if self._is_inside(before) else 0
        if reading.state == "working" and reading.flags & FLAG_HOLDING:
            self._begun = True

    def _is_inside(self, reading: Reading) -> bool:
        mc = reading.product_mc
        return mc is not None and self._low_mc <= mc <= self._high_mc
