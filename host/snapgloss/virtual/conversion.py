"""The probes' conversions in simulated time: begun every whole second, read 750 ms later."""

from typing import NamedTuple

from rigwire.messages import MISSING_MC
from snapgloss.virtual import sensors
from snapgloss.virtual.plant import Plant

EVERY_MS = 1000
CONVERSION_MS = 750
"""A DS18B20 at 12 bits (its data sheet). The value is of the moment the conversion began."""


class Temperatures(NamedTuple):
    """What the probes give, in milli-degC; MISSING_MC where one does not answer."""

    product_mc: int
    plate_mc: int
    room_mc: int
    sample_mc: int = MISSING_MC


NOTHING_YET = Temperatures(MISSING_MC, MISSING_MC, MISSING_MC)


class Conversion:
    """`.latest` holds the newest finished conversion, begun at `.begun_at_ms` (simulated).

    Before the press of start probes are exact, so that a longer or shorter wait leaves no trace;
    from then on noise and drift are functions of the seed and the time since the press.
    """

    def __init__(self, seed: int, kind: sensors.Kind = sensors.DS18B20) -> None:
        self._kind = kind
        self._seed = seed
        self._running = NOTHING_YET
        self._running_since_ms = 0
        self.latest = NOTHING_YET
        self.begun_at_ms = 0

    def restart(self) -> None:
        """A boot of the firmware: it has begun no conversion yet."""
        self._running = self.latest = NOTHING_YET

    def step(
        self, at_ms: int, pressed_at_ms: int | None, plant: Plant, sample_c: float | None = None
    ) -> None:
        """Begin or finish a conversion when it is time; call once a tick."""
        phase_ms = at_ms % EVERY_MS
        if phase_ms == CONVERSION_MS:
            self.latest = self._running
            self.begun_at_ms = self._running_since_ms
        elif phase_ms == 0:
            self._running = self._convert(at_ms, pressed_at_ms, plant, sample_c)
            self._running_since_ms = at_ms

    def _convert(
        self, at_ms: int, pressed_at_ms: int | None, plant: Plant, sample_c: float | None
    ) -> Temperatures:
        since_ms, noise_c, drift_c = 0, 0.0, 0.0
        if pressed_at_ms is not None:
            since_ms = at_ms - pressed_at_ms
            noise_c = self._kind.noise_c * plant.faults.noise_factor
            drift_c = sensors.DRIFT_C

        if plant.faults.probe_forced_c is not None:
            noise_c = drift_c = 0.0  # a bus that gives a fixed value gives it exactly

        def mc(true_c: float | None, channel: int) -> int:
            reading_mc = sensors.reading_mc(
                true_c,
                self._seed,
                channel,
                since_ms,
                noise_c=noise_c,
                drift_c=drift_c,
                step_c=self._kind.step_c,
            )
            return MISSING_MC if reading_mc is None else reading_mc

        product_mc = mc(plant.probe_c, sensors.PRODUCT)
        if plant.faults.reading_stuck:
            product_mc = self._running.product_mc
        plate_mc = mc(plant.plate_probe_c, sensors.PLATE)
        if plant.faults.probes_swapped:
            product_mc, plate_mc = plate_mc, product_mc
        room_mc = mc(plant.room_probe_c, sensors.ROOM)
        return Temperatures(product_mc, plate_mc, room_mc, mc(sample_c, sensors.SAMPLE))
