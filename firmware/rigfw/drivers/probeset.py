"""All probes of a rig, whatever their kinds, in the order of probe.ROLES."""

from rigfw.drivers import probe as probes
from rigfw.drivers.probe import ROLES


class ProbeSet:
    """`sources` have `step(now_ms)`, one for each bus or channel; `roles` four Probes or None.

    `bus` is the 1-wire bus among the sources, None without one. Longest pass: the sum of those of
    the sources.
    """

    def __init__(self, sources, roles, bus=None):
        self._sources = sources
        self._roles = roles
        self._bus = bus
        self._told = [probes.FINE] * len(roles)

    def step(self, now_ms):
        """Each source goes on by one pass."""
        for source in self._sources:
            source.step(now_ms)

    def fill(self, readings):
        """The last values with their times. Allocates nothing."""
        product, plate, room, sample = self._roles
        if product:
            readings.product_mc, readings.product_at_ms = product.value_mc, product.at_ms
        if plate:
            readings.plate_mc, readings.plate_at_ms = plate.value_mc, plate.at_ms
        if room:
            readings.room_mc, readings.room_at_ms = room.value_mc, room.at_ms
        if sample:
            readings.sample_mc = sample.value_mc

    def unlisted(self):
        """ROM of a device on the bus that the list does not have, else None."""
        return self._bus.unlisted if self._bus else None

    def news(self):
        """Words for the console when a probe began or ceased to be believed, else None.

        One probe a call. The value that only ends a gap is no news.
        """
        for at, probe in enumerate(self._roles):
            if probe and probe.why not in (self._told[at], probes.FIRST_VALUE):
                self._told[at] = probe.why
                return ROLES[at] + " probe: " + probes.WHY[probe.why]
        return None
