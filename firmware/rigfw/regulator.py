"""How much heat and fan. Called once a second with new readings; the only place with floats.

A cascade. Outer: from the distance to the target, the heat the chocolate should take or give,
    q = part of loss * (T - room) + gain * (target - T),   gain = (m c + C_plate) / TAU_S,
the second term within the step's rates, so that it lands softly. The plate that gives q is
T + q / h. Inner: the power that brings the plate there,
    p = h * (plate - T) + C_plate * (wanted plate - plate) / TAU_PLATE_S + rest of the loss,
heat where p > 0, fan where p < 0. What the plate holds is in the second term, so heat and fan
end early. T is the reading ahead by the probe's lag, out of a second-order filter.
Temperatures degC, powers W, times s in here.
"""

from rigfw import limits
from rigwire.messages import MISSING_MC

SPECIFIC_J_PER_KG_K = 1600.0  # Manufacturing Confectioner 1991, in Beckett 2009 p. 667: 1590-1670
TAU_S = 110.0  # own choice: four times the plate's time (33 s) less what the probe hides
PLATE_LOSS_PART = 0.5  # of the loss in still air, straight from the plate; assumption
LEAST_GAIN_W_PER_K = 20.0  # own choice: a small bowl needs as much to outweigh a wrong loss
TAU_PLATE_S = 12.0
TAU_SUM_S = 350.0
ALPHA = 0.25
BETA = 0.036  # critically damped with ALPHA
DEFAULT_ROOM_C = 21.0
GENTLE_BAND_C = 2.5  # common practice: the last 2 to 3 degrees at most 0.5 K/min
GENTLE_C_PER_S = 0.45 / 60
SUM_BAND_C = 2.0
SUM_CALM_C_PER_S = 0.004
FAN_FREE_C = 0.1
LEAST_W = 2.0
LEARN_GAP_C = 3.0  # own choice: under it the description is the better guess
SOLID_PART = 0.4  # of plate_w_per_k while the chocolate is in pieces; assumption
SOLID_C = 33.0


class Regulator:
    """`heat_permille` and `fan_permille`, 0 to 1000, are the demand. `demand` allocates."""

    def __init__(self, config):
        self._heater_w = float(config.heater_w)
        self._plate_j_per_k = float(config.plate_j_per_k)
        self._plate_w_per_k = float(config.plate_w_per_k)
        self._loss_w_per_k = config.loss_mw_per_k / 1000.0
        self._fan_w_per_k = config.fan_loss_mw_per_k / 1000.0
        self._lag_s = config.probe_lag_ms / 1000.0
        self._ceiling_c = config.plate_ceiling_mc / 1000.0 - limits.WALL_MARGIN_MC / 1000.0
        self.heat_permille = 0
        self.fan_permille = 0
        self.begin(1000)

    def begin(self, mass_g):
        """A batch of this mass begins, in the next `demand`: this allocates nothing."""
        self._mass_g = mass_g
        self._is_new = True
        self.rest()

    def _begin(self):
        """Nothing is known of its temperatures."""
        self._is_new = False
        self._heat_j_per_k = self._mass_g / 1000.0 * SPECIFIC_J_PER_KG_K
        both_j_per_k = self._heat_j_per_k + self._plate_j_per_k
        self._gain_w_per_k = max(both_j_per_k / TAU_S, LEAST_GAIN_W_PER_K)
        self._contact_w_per_k = self._plate_w_per_k
        self._sum_w = 0.0
        self._reading_c = None
        self._plate_c = None
        self._rate_c_per_s = 0.0

    def rest(self):
        """No demand."""
        self.heat_permille = self.fan_permille = 0

    def demand(self, readings, target_mc, step, delivered_permille, passed_ms):
        """Set the demand for the next second.

        `readings` in mC; `step` gives kind, rate and wall limit; `delivered_permille` is the mean
        of what the heater switch really gave in the last `passed_ms`.
        """
        if self._is_new:
            self._begin()
        passed_s = passed_ms / 1000.0
        self._filter(readings.product_mc / 1000.0, passed_s)
        room_mc = readings.room_mc
        room_c = DEFAULT_ROOM_C if room_mc == MISSING_MC else room_mc / 1000.0
        now_c = self._reading_c + self._lag_s * self._rate_c_per_s
        heat_w = delivered_permille * self._heater_w / 1000.0
        loss_w = self._loss_w_per_k * (now_c - room_c)
        direct_w = PLATE_LOSS_PART * loss_w
        if readings.plate_mc == MISSING_MC:
            self._guess_plate(now_c, room_c, heat_w - direct_w, passed_s, step.kind == "melt")
        else:
            self._read_plate(readings.plate_mc / 1000.0, now_c, heat_w - direct_w, passed_s)
        missing_c = target_mc / 1000.0 - now_c
        wanted_c = self._wanted_plate(now_c, missing_c, loss_w - direct_w, step, passed_s)
        power_w = self._contact_w_per_k * (self._plate_c - now_c) + direct_w
        power_w += self._plate_j_per_k * (wanted_c - self._plate_c) / TAU_PLATE_S
        self._drive(power_w, missing_c, room_c, step.kind == "cool")

    def _filter(self, reading_c, passed_s):
        """Reading and its rate, smoothed. A dip is believed at once, its slope is not."""
        if self._reading_c is None or abs(reading_c - self._reading_c) > 2.0:
            self._reading_c = reading_c
            self._rate_c_per_s = 0.0
            return
        ahead_c = self._reading_c + self._rate_c_per_s * passed_s
        off_c = reading_c - ahead_c
        self._reading_c = ahead_c + ALPHA * off_c
        if passed_s > 0.0:
            self._rate_c_per_s += BETA * off_c / passed_s

    def _read_plate(self, plate_c, now_c, net_w, passed_s):
        """The plate as measured; what it does not keep of the heat went into the chocolate."""
        before_c, self._plate_c = self._plate_c, plate_c
        if before_c is not None and passed_s > 0.0 and not self.fan_permille:
            flow_w = net_w - self._plate_j_per_k * (plate_c - before_c) / passed_s
            self._learn_contact(flow_w, plate_c - now_c)

    def _guess_plate(self, now_c, room_c, net_w, passed_s, melting):
        """The plate from its own heat balance, where no probe reads it."""
        if self._plate_c is None:
            self._plate_c = now_c
        part = SOLID_PART if melting and now_c < SOLID_C else 1.0
        self._contact_w_per_k = part * self._plate_w_per_k
        flow_w = self._contact_w_per_k * (self._plate_c - now_c)
        fan_w = self.fan_permille / 1000.0 * self._fan_w_per_k * (self._plate_c - room_c)
        self._plate_c += passed_s * (net_w - flow_w - fan_w) / self._plate_j_per_k

    def _learn_contact(self, flow_w, gap_c):
        """Heat flow over difference, slowly; solid pieces take far less than liquid."""
        described = self._plate_w_per_k
        seen = described
        if gap_c >= LEARN_GAP_C:
            seen = max(0.2 * described, min(1.2 * described, flow_w / gap_c))
        self._contact_w_per_k += 0.03 * (seen - self._contact_w_per_k)

    def _wanted_plate(self, now_c, missing_c, loss_w, step, passed_s):
        push_w = self._push(missing_c, step)
        calm = abs(self._rate_c_per_s) < SUM_CALM_C_PER_S
        if calm and abs(missing_c) < SUM_BAND_C:
            self._add_up(missing_c, passed_s)
        flow_w = loss_w + push_w + self._sum_w
        wall_c = (step.wall_mc - limits.WALL_MARGIN_MC) / 1000.0
        wanted_c = now_c + flow_w / self._contact_w_per_k
        return min(wanted_c, wall_c, self._ceiling_c)

    def _push(self, missing_c, step):
        """W that move the chocolate: soft at the end, gentle in the last degrees of cooling.

        A step that only holds has no rate downwards: what is over is taken back at once.
        """
        most_c_per_s = step.rate_mc_per_min / 60000.0
        push_w = min(self._heat_j_per_k * most_c_per_s, self._gain_w_per_k * missing_c)
        if step.kind in ("cool", "seed"):
            if missing_c > -GENTLE_BAND_C:
                most_c_per_s = min(most_c_per_s, GENTLE_C_PER_S)
            push_w = max(push_w, -self._heat_j_per_k * most_c_per_s)
        return push_w

    def _add_up(self, missing_c, passed_s):
        """The slow part, bounded so that it can never carry far past the target."""
        self._sum_w += self._gain_w_per_k * missing_c * passed_s / TAU_SUM_S
        bound_w = 0.3 * self._heater_w
        self._sum_w = max(-bound_w, min(bound_w, self._sum_w))

    def _drive(self, power_w, missing_c, room_c, cooling):
        """Power on the plate as heat or as fan, never both."""
        self.rest()
        if power_w >= LEAST_W:
            if not cooling or missing_c > -0.5:
                self.heat_permille = int(1000.0 * min(1.0, power_w / self._heater_w))
        elif power_w <= -LEAST_W and missing_c < -FAN_FREE_C:
            possible_w = self._fan_w_per_k * (self._plate_c - room_c)
            if possible_w > 0.0:
                self.fan_permille = int(1000.0 * min(1.0, -power_w / possible_w))
