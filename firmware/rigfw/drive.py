"""From granted demands to the outputs: pulses, edge train, stirrer, buzzer, lamp.

Allocates nothing after it is built.
"""

from rigfw import limits
from rigfw.outputs import Outputs
from rigfw.proof import SwitchProof
from rigfw.pulser import RELAY_WINDOW_MS, SSR_MIN_ON_MS, SSR_WINDOW_MS, Pulser
from rigwire.messages import MISSING_MC

FULL = 1000


class Drive:
    """`outputs` is what the board writes. Demands in permille, times in ms."""

    def __init__(self, config, journal):
        """`proof` tries both switches before a batch, where the heater's node is sensed."""
        self.proof = SwitchProof(journal) if config.has_sense else None
        self.cold_ms = limits.COLD_AFTER_MS  # since the last heat; a reset knows of none
        # Where neither node nor plate is looked at, nothing would tell of a shorted switch soon.
        self._is_unwatched = not (config.has_plate or config.has_sense)
        self._idle_ms = 0
        window_ms = RELAY_WINDOW_MS if config.min_on_ms >= SSR_MIN_ON_MS else SSR_WINDOW_MS
        self._heater = Pulser(window_ms, config.min_on_ms, config.min_off_ms)
        fan_ms = config.fan_min_ms
        self._fan = Pulser(RELAY_WINDOW_MS, fan_ms, fan_ms) if fan_ms else None
        self.outputs = Outputs()
        self.heat_on_ms = 0
        self.blown_permille_ms = 0
        self.is_stirrer_held = 0
        self._soft = 1
        self._liquid_ms = self._stir_ms = 0
        self._buzz_ms = 0
        self._blink = 0
        self._edge = 0

    def cut(self):
        """All off, at once."""
        self._heater.cut()
        if self.proof:
            self.proof.cut()
        if self._fan:
            self._fan.cut()
        self.is_stirrer_held = 0
        self._buzz_ms = 0
        self.outputs.reset()

    def begin(self, is_solid):
        """A batch begins; blocks of chocolate would jam the stirrer."""
        self._soft = 0 if is_solid else 1
        self._liquid_ms = self._stir_ms = 0
        if self.proof:
            self.proof.begin()

    def power(self, heat_permille, fan_permille, may_heat, passed_ms):
        """Heater switch, enable edges and fan for this pass."""
        outputs = self.outputs
        if outputs.heat_on and not (self.proof and self.proof.tries_relay()):
            self.heat_on_ms += passed_ms  # what the pass that ends now really gave
        self.blown_permille_ms += outputs.fan_permille * passed_ms
        outputs.heat_on = self._heater.step(heat_permille if may_heat else 0, passed_ms)
        self._idle_ms = 0 if heat_permille else self._idle_ms + passed_ms
        if self._is_unwatched and self._idle_ms > limits.IDLE_MS:
            may_heat = False  # the relay opens, so that a shorted switch gives no heat either
        outputs.enable_edge = 1 - outputs.enable_edge if may_heat else 0
        if outputs.heat_on:
            self.cold_ms = 0
        self.cold_ms = min(limits.COLD_AFTER_MS, self.cold_ms + passed_ms)
        if self.proof:
            self._prove(passed_ms)
        if self._fan:
            fan_permille = FULL * self._fan.step(fan_permille, passed_ms)
        outputs.fan_permille = fan_permille

    def _prove(self, passed_ms):
        """Instead of heat: the heater's switch without the relay, then the relay without it."""
        outputs = self.outputs
        if self.proof.tries_relay():
            outputs.heat_on, outputs.enable_edge = 1, 0
        elif self.proof.tries_switch():
            outputs.heat_on = 0
            outputs.enable_edge = 1 - self._edge
        self._edge = outputs.enable_edge
        self.proof.step(passed_ms)

    def stir(self, wanted, product_mc, passed_ms):
        """Full when liquid, pulses when soft, held back while there are blocks."""
        self.is_stirrer_held = 0
        if not wanted:
            self.outputs.stir_permille = 0
            return
        if not self._soft:
            self._soften(product_mc, passed_ms)
        self.outputs.stir_permille = self._stir_permille(passed_ms)

    def _soften(self, product_mc, passed_ms):
        """A scraper that sweeps the probe along the wall shows liquid over blocks for a while."""
        if product_mc == MISSING_MC or product_mc < limits.SOFT_MC:
            self.is_stirrer_held = 1
        self._liquid_ms = self._liquid_ms + passed_ms if product_mc >= limits.LIQUID_MC else 0
        if self._liquid_ms >= limits.LIQUID_MS:
            self._soft = 1

    def _stir_permille(self, passed_ms):
        if self._soft:
            return FULL
        if self.is_stirrer_held:
            return 0
        self._stir_ms = (self._stir_ms + passed_ms) % limits.STIR_PULSE_EVERY_MS
        return FULL if self._stir_ms < limits.STIR_PULSE_MS else 0

    def chime(self, buzz_ms):
        """Sound the buzzer for so long."""
        self._buzz_ms = buzz_ms

    def signal(self, lit, blinking, passed_ms):
        """Buzzer and lamp for this pass; a blinking lamp changes every two passes."""
        outputs = self.outputs
        outputs.buzzer = 1 if self._buzz_ms > 0 else 0
        if self._buzz_ms > 0:
            self._buzz_ms -= passed_ms
        self._blink = (self._blink + 1) & 3
        outputs.lamp = 1 if (blinking and self._blink < 2) or (lit and not blinking) else 0
