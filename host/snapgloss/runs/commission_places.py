"""Where a commissioning happens: at a rig on a port, or at a simulated one of its own."""

import contextlib
import threading
from collections.abc import Callable, Iterator

from snapgloss.base.errors import LinkError
from snapgloss.chocolate.heat import specific_heat
from snapgloss.link.client import RigLink
from snapgloss.link.clock import SystemWaitingClock, WaitingClock
from snapgloss.rigs.description import RigDescription
from snapgloss.runs.commission_place import Hands, Place, held_of
from snapgloss.runs.commissioning import described_as
from snapgloss.runs.connect import connect

VIRTUAL_STUCK_S = 1800  # half of the hour that a real rig takes
VIRTUAL_MASS_KG = 2.0
BACK_WITHIN_S, AGAIN_S = 10.0, 0.5

OpenPlace = Callable[[Hands], contextlib.AbstractContextManager[Place]]
"""What gives a place for the person who is there, and lets it go again."""


def simulated(rig: RigDescription, is_described: bool) -> RigDescription:
    """The description of the simulated rig in its stead; one that nobody described has a sense
    of its heater's node and a tachometer, so that every step can be shown."""
    fitted = {} if is_described else {"has_sense": True, "has_tacho": True}
    return described_as(rig.model_copy(update=fitted), True)


def patiently(
    open_link: Callable[[], RigLink], clock: WaitingClock | None = None
) -> Callable[[], RigLink]:
    """The same, tried for 10 s: a port is not there at once when its cable is plugged in."""

    def opened() -> RigLink:
        waiting = clock or SystemWaitingClock()
        until_s = waiting.now_s() + BACK_WITHIN_S
        while True:
            try:
                return open_link()
            except LinkError:
                if waiting.now_s() >= until_s:
                    raise
            waiting.wait(threading.Event(), AGAIN_S)

    return opened


def at_a_rig(rig: RigDescription, open_link: Callable[[], RigLink]) -> OpenPlace:
    """A rig whose link `open_link` opens, again after its cable was out; 1 kg of water in it.

    The link that is open at the end stays with the place: who opened it, closes it.
    """

    @contextlib.contextmanager
    def opened(hands: Hands) -> Iterator[Place]:
        yield Place(open_link(), hands, rig, patiently(open_link), held_of(rig))

    return opened


def on_a_port(rig: RigDescription, port: str) -> OpenPlace:
    """A rig on a port of this computer, let go at the end."""

    @contextlib.contextmanager
    def opened(hands: Hands) -> Iterator[Place]:
        with at_a_rig(rig, lambda: connect(port))(hands) as place:
            try:
                yield place
            finally:
                place.link.close()

    return opened


def on_a_virtual_rig(rig: RigDescription) -> OpenPlace:
    """A simulated rig of its own: warm and liquid, so that it loses nothing, as water would.

    A simulated person does what hands do at it; the person who is there is asked all the rest.
    """

    @contextlib.contextmanager
    def opened(hands: Hands) -> Iterator[Place]:
        from snapgloss.virtual.hands_on import WARM_C, AtVirtualRig, QuickClock
        from snapgloss.virtual.plant import PlantSetup
        from snapgloss.virtual.rig import RigOptions, VirtualRig

        setup = PlantSetup(
            mass_g=1000 * VIRTUAL_MASS_KG, solid=False, start_c=WARM_C, room_c=WARM_C,
            heater_w=float(rig.heater_w), plate_j_per_k=rig.plate_j_per_k,
            plate_w_per_k=rig.plate_w_per_k, probe_lag_s=rig.probe_lag_s,
        )  # fmt: skip
        chosen = RigOptions(setup, speed=None, config_text=rig.to_config_text())
        with VirtualRig(chosen, clock=QuickClock()) as virtual:
            held = VIRTUAL_MASS_KG * specific_heat(setup.fat_share) + rig.plate_j_per_k
            place = Place(
                connect(virtual.port), AtVirtualRig(virtual, hands), rig,
                lambda: connect(virtual.port), held, VIRTUAL_STUCK_S,
            )  # fmt: skip
            try:
                yield place
            finally:
                place.link.close()

    return opened
