"""Watches a rig while no batch of ours is under way: its temperature, its state, no record."""

from collections.abc import Callable
from dataclasses import replace

from snapgloss.base.records import Identity, Reading, Sample, Status
from snapgloss.link.client import RigLink
from snapgloss.link.decode import Boot, Record
from snapgloss.quality.event_words import stop_words
from snapgloss.runs import connect, words
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.moment import Ahead, Moment, Outputs, Pouring, with_reading
from snapgloss.runs.live.sample_run import SampleRun
from snapgloss.runs.progress import UNDER_WAY

WAIT_S = 1.0
SILENCE_S = 6.0  # a rig speaks every second
MAY_OFFER_S = 45


class IdleWatch:
    """Runs until something is to be done: a batch that was staged, or one that goes on."""

    def __init__(
        self, feed: Feed, link: RigLink, there: Identity, said: str,
        sample: SampleRun | None = None,
    ) -> None:  # fmt: skip
        self._feed, self._link, self._there, self._sample = feed, link, there, sample
        self._moment = _at_rest(feed.moment, there, said)
        self._state, self._stop_code = there.state, 0
        self._heard_at_s = link.now_s()
        self._is_over = False

    def run(self, may_go_on: Callable[[], bool]) -> None:
        """Watch. Raises LinkError when the rig is gone."""
        self._link.on_taken = lambda _records: None
        self._feed.tell(self._with_words(self._moment))
        while may_go_on() and not self._is_over:
            self._link.wait(WAIT_S)
            self._take(self._link.take())

    def _take(self, records: list[Record]) -> None:
        reading = None
        for record in records:
            if isinstance(record, Reading):
                reading = record
            elif isinstance(record, Status):
                self._stop_code = record.stop_code
                self._turn_to(record.state)
            elif isinstance(record, Sample) and self._sample is not None:
                self._sample.take(record, self._link)
            elif isinstance(record, Boot):
                self._is_over = True
        if reading is not None:
            self._heard(reading)
        elif self._link.now_s() - self._heard_at_s > SILENCE_S:
            self._link.hello(connect.HOST_VERSION)
            self._heard_at_s = self._link.now_s()

    def _heard(self, reading: Reading) -> None:
        self._heard_at_s = self._link.now_s()
        self._turn_to(reading.state)
        self._moment = self._with_words(with_reading(self._moment, reading))
        self._feed.tell(self._moment, (), True)

    def _turn_to(self, state: str) -> None:
        """Another state is a reason to look whether a batch goes on, or has ended."""
        if state != self._state:
            self._is_over = self._is_over or {state, self._state} & _MATTERS != set()
            self._state = state

    def _with_words(self, moment: Moment) -> Moment:
        state = self._state
        if state == "stopped":
            step_words = f"Stopped: {stop_words(self._stop_code)}"
            return replace(moment, step_words=step_words, now=words.OUTSIDE["stopped"])
        if state in UNDER_WAY:
            return replace(moment, step_words=words.state_words(state), now=words.NOT_OURS)
        now = words.OUTSIDE.get(state, words.CHOOSE)
        return replace(moment, step_words=words.state_words(state), now=now)


_MATTERS = {*UNDER_WAY, "ready"}


def _at_rest(before: Moment, there: Identity, said: str) -> Moment:
    """What a page shows of a rig at rest: it, and how the last batch ended."""
    ended = said or before.ended
    return Moment(
        is_there=True,
        simulated=there.simulated,
        firmware=there.firmware,
        state=there.state,
        run=before.run,
        title=before.title,
        ended=ended,
        said=before.said,
        product_mc=before.product_mc,
        outputs=Outputs(),
        pouring=Pouring(before.pouring.moulds, before.pouring.done),
        ahead=Ahead(),
        window_low_mc=before.window_low_mc,
        window_high_mc=before.window_high_mc,
        inside_s=before.inside_s,
    )
