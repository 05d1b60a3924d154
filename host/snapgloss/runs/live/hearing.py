"""What a rig tells while something else than a batch is done with it, shown as it comes."""

from collections.abc import Callable
from dataclasses import replace

from snapgloss.base.records import Reading, Status
from snapgloss.link.decode import Record
from snapgloss.runs import words
from snapgloss.runs.live.feed import Feed
from snapgloss.runs.live.moment import with_reading


def heard_by(feed: Feed) -> Callable[[list[Record]], None]:
    """Return what takes records and tells the newest reading to a feed."""

    def hear(records: list[Record]) -> None:
        reading = next((one for one in reversed(records) if isinstance(one, Reading)), None)
        status = next((one for one in reversed(records) if isinstance(one, Status)), None)
        if reading is None:
            return
        state = status.state if status is not None else reading.state
        told = words.state_words(state)
        moment = with_reading(feed.moment, reading)
        feed.tell(replace(moment, state=state, step_words=told, now=words.PROVING), (), True)

    return hear
