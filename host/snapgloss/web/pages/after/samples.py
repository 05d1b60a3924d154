"""The cooling curve of the rig's sample probe: what to do at each step, and its answer."""

from snapgloss.runs.sample_words import NO_PROBE_HEARD
from snapgloss.web.pages.parts.touches import Told, heading
from snapgloss.web.pages.parts.visit import Visit
from snapgloss.web.words_after import AFTER


class SampleView:
    """Follows the sample that the session follows."""

    def __init__(self, visit: Visit) -> None:
        self._visit = visit
        heading(AFTER["curve"])
        self._words = Told(classes="sample", is_status=True)

    def tick(self) -> None:
        """Show how far it is."""
        samples = self._visit.site.session.samples
        self._words.set(samples.now.words if samples else NO_PROBE_HEARD)
