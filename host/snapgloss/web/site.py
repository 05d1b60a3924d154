"""What all parts of the page share."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from snapgloss.web.desk import Desk
from snapgloss.web.hub import Hub

if TYPE_CHECKING:
    from snapgloss.runs.live.session import Session
    from snapgloss.runs.live.staged import Staged
    from snapgloss.store.store import Store


@dataclass
class Site:
    """`sample` makes the sample batch ready, where the rig is a simulated one of ours."""

    session: "Session"
    store: "Store"
    folder: Path
    desk: Desk
    hub: Hub
    sample: "Callable[[], Staged] | None" = None
