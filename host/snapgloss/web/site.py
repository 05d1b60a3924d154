"""What all parts of the page share."""

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from snapgloss.runs.knife import Knives
from snapgloss.web.desk import Desk
from snapgloss.web.hub import Hub

if TYPE_CHECKING:
    from snapgloss.runs.live.session import Session
    from snapgloss.runs.live.staged import Staged
    from snapgloss.store.store import Store
    from snapgloss.web.heavy import Heavy

Given = ParamSpec("Given")
Done = TypeVar("Done")
HEAVY_WITHIN_S = 300.0


@dataclass
class Site:
    """`sample` makes the sample batch ready, where the rig is a simulated one of ours.

    `heavy` is a process for reports and pictures, `planner` one for what a person waits for.
    `key` and `name` are the rig's, in an address and for a person; `has_others`: it is one of
    several on this page.
    """

    session: "Session"
    store: "Store"
    folder: Path
    desk: Desk
    hub: Hub
    sample: "Callable[[], Staged] | None" = None
    heavy: "Heavy | None" = None
    planner: "Heavy | None" = None
    key: str = ""
    name: str = ""
    has_others: bool = False
    knives: Knives = field(default_factory=Knives)
    learning: "Future[Any] | None" = None

    @property
    def is_learning(self) -> bool:
        """True while the rig is learned from its batches."""
        return self.learning is not None and not self.learning.done()

    def begin_heavily(
        self, work: Callable[Given, Done], *given: Given.args, **named: Given.kwargs
    ) -> "Future[Done]":
        """Begin what takes long, in a process of its own; without one it is done at once."""
        if self.heavy is not None:
            return self.heavy.begin(work, *given, **named)
        done: Future[Done] = Future()
        done.set_result(work(*given, **named))
        return done

    def heavily(
        self, work: Callable[Given, Done], *given: Given.args, **named: Given.kwargs
    ) -> Done:
        """Do what takes long in a process of its own, and wait for it: never in the event loop.

        Raises what the work raises. Without such a process it is done here.
        """
        return self.begin_heavily(work, *given, **named).result(HEAVY_WITHIN_S)

    def planned(
        self, work: Callable[Given, Done], *given: Given.args, **named: Given.kwargs
    ) -> Done:
        """The same in the process of the planner, which stays: a person waits for the answer."""
        if self.planner is None:
            return work(*given, **named)
        return self.planner.begin(work, *given, **named).result(HEAVY_WITHIN_S)
