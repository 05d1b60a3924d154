"""Ceilings compiled into the firmware. No file, message or button can raise one.

Every figure has its unit in its name and its source beside it. "Own choice" figures rest on the
time to react calculated for at most 100 W and at least 0.25 kg in its bowl: 34 s for 5 K.
"""

# The loop.
LOOP_MS = 250  # own choice: well under the 1 s of a probe conversion

# The chocolate probe.
PRODUCT_LOW_MC = 0  # own choice: a shorted 1-wire bus reads 0.0, a cellar does not
PRODUCT_HIGH_MC = 65000  # own choice: 5 K above the greatest target a schedule may have
PRODUCT_CEILING_MC = 60000  # own choice: the greatest target of a schedule
PRODUCT_STALE_MS = 2000  # own choice: two conversions of 750 ms and a little
PRODUCT_STOP_MS = 4000  # own choice; published defaults of heater firmware: 0.9 to 15 s
RANGE_READS = 2  # own choice: one read can be noise, two in a row are a fault
JUMP_MC_PER_S = 500  # own choice: 100 W moves 0.25 kg in its bowl 0.15 K/s (calculated)
JUMP_MC = 2000  # own choice: a move this far at more than the rate above is no chocolate
JUMP_READS = 2  # one odd read keeps heat off, two may stop

# Chocolate against the ceiling of its step.
HOT_MC = 2000  # own choice, with HOT_MS
HOT_MS = 30000
HOT_AT_ONCE_MC = 4000
ADDITION_WIDER_MC = 2000  # own choice: 20 % at 45 degC lifts 31.5 degC by 2.25 K (calculated)
FED_S = 15  # own choice: a probe in its sleeve shows most of a ladle in that time
FED_LEAST_MC = 500  # own choice: above noise and stirring
FED_PERCENT = 125  # of what the described heater can drive: its power is the surest figure
FED_MS = 600000  # own choice: 6 kg with its fan lose 2 K in that time (simulated)
SPECIFIC_LEAST_J_PER_KG_K = 1590  # Manufacturing Confectioner 1991, in Beckett 2009: 1590-1670
RECENT_SLOTS = 6  # own choice: hands dip the reading for less than three minutes
RECENT_SLOT_MS = 30000
SEED_FALL_MC = (
    6000  # a quarter of seed at 15 degC: 3.7 K, and 2.4 K where a third melts (calculated)
)
DROP_MC = 3000  # own choice: more than 5 % cold seed can take, less than a probe in air

# Plate.
PLATE_CEILING_MC = 80000  # own choice: above every wall limit of a schedule (75 degC)
PLATE_LOW_MC = 0
PLATE_HIGH_MC = 110000  # own choice: reads above are a broken probe, and stop as too hot
PLATE_READS = 2
PLATE_OVER_MC = 5000  # the most that the plate may be over its limit, whatever goes wrong
PLATE_BLIND_MS = 6000  # its probe lags by 4 s (assumption); a reading is 2 s old at the most
SHORTED_MS = 3000  # sensed within 2 s, and the relay needs 1 s to fall
WALL_BACK_MC = 500  # hysteresis of heat withheld at the step's wall limit
WALL_MARGIN_MC = 500  # the regulator keeps this far below the wall limit

# No rise.
GAP_LEAST_PERMILLE = 300  # own choice: judged only above this mean heat, loss taken off
GAP_PART = 4  # plate must be hotter than the chocolate by a quarter of what is expected
GAP_MS = 30000
GAP_HALF_PERMILLE = 500  # own choice
GAP_SWAPPED_PERMILLE = 200  # own choice: over what the plate may lose itself
GAP_MEAN_S = 64  # memory of the mean heat, about twice the plate's own time
RISE_MC = 1500  # expected rise of one judgement without a plate probe
CLIMB_MC = 1000  # nearer to its target the chocolate need not rise
LATENT_J_PER_KG = 63000  # greatest: 0.40 fat x 157 kJ/kg (Chevalley 1970, in Beckett 2009)
SPECIFIC_J_PER_KG_K = 2000  # cocoa mass below 25 degC: 1970 (Antokolskaia 1964, in Mohos 2010)
MELTED_MC = 36000  # above it no latent heat is left (stable form melts at 33.8 degC)
LOSS_WIDER_PERCENT = 150  # the described loss may be this much greater
COLD_ROOM_MC = 15000  # taken for the room where no room probe is
USUAL_ROOM_MC = 21000  # likewise, where the least loss would accuse

# Heat given against temperatures.
BALANCE_SLOTS = 12
BALANCE_SLOT_S = 10  # own choice: two minutes, as long as a shorted switch may go unseen
BALANCE_LONG_SLOT_S = 30  # own choice: 60 W move 6 kg by the 1 K below in five minutes
BALANCE_MC = 1000  # own choice: the reading may be this far from where the heat says
BALANCE_BEHIND_S = 20  # own choice: a scraper sweeps the probe along the wall for less
BALANCE_AHEAD_S = 20  # own choice: a warm ladle shows as one within FED_S
BALANCE_PLATE_S = 5  # own choice: what comes through the plate is no ladle
BALANCE_GAP_MC = 1000
BALANCE_HEAT_PERCENT = 15  # mains within 6 % of its voltage moves the power by 12 % (calculated)
BALANCE_LOSS_PERCENT = 60  # own choice: draught, a lid, a described loss that is not quite so
BALANCE_PLATE_PERCENT = 25  # own choice: the plate is not as warm everywhere as at its probe
BALANCE_PLATE_MC = 3000  # own choice: what a plate without probe may have gained or given
BALANCE_POURED_PERCENT = 30  # while working, this share of the batch may be all that is left
AHEAD_MC = 2000  # own choice, with BALANCE_AHEAD_S: two probes differ by 1 K
AHEAD_PARTS = 2  # own choice: thick, or half poured out, a bowl takes half of the heat
AHEAD_MELT_PARTS = 5  # own choice: with pieces in it a fifth
PIECES_S = 900  # own choice: cold pieces that went in may take all heat for so long
DEAD_PARTS = 5  # own choice: judged above a fifth of the heater's power
PLATE_STEP_MC = 125  # own choice: two steps of its probe
AHEAD_OFF_S = 60  # own choice: by then a plate without heat has given off five sixths of it
IDLE_S = 15  # own choice: by then the element has given its own heat to the plate
IDLE_WINDOW_S = 30  # own choice: crystals, or a warm room, lift a bowl much more slowly than
IDLE_MC = 400  # this in that time; noise of its probe is less
UNSEEN_MC = 1000  # own choice, with the next: less than 1.5 K in all
UNSEEN_WARY_MC = 500  # own choice: so much of the batch, and twice, is less than 1.5 K
WITNESS_MC = 1500  # own choice: plate and chocolate at rest agree within it; probes differ by 1 K
APART_MOST_MC = 1000  # probes of plate and chocolate differ by so much at the most (data sheets)
APART_UP_MC = 1  # own choice: in a second; a bowl that thickens or empties changes no faster,
APART_DOWN_MC = 20  # and a minute after the start it is known
APART_MC = (
    600  # own choice, with BALANCE_BEHIND_S: the reading is 1 K from the truth a minute later
)
APART_PARTS = 10  # of what the heat makes: the described coupling may be so far from the true one
APART_REST_MC = 600  # own choice: at first, and more than at rest after a doubt or a press
APART_MEAN_S = 20  # memory of a heat that has just begun: no plate is quicker
DOUBTS_MS = 600000  # own choice: a second doubt within it is settled by a press only
REPEAT_S = 300  # own choice: a reading in steps of 1/16 K that stays for so long
REPEAT_PLATE_MC = 1000  # while the plate moves by this is stuck
REPEAT_AFTER_S = 120  # own choice: 1 K moves 6 kg by three such steps in that time

# Switches and stirrer.
SENSE_MS = 500  # own choice: two passes; a triac switch lets go within 10 ms, a relay within 20
IDLE_MS = 2000  # own choice: one window of the switch; then the relay opens, if nothing watches
WARM_ENOUGH_MC = 400  # own choice: so far over its target no chocolate wants heat
STALL_MS = 3000  # own choice: as long as its tachometer takes to tell
FREE_W = 100  # above it a rig must sense its heater's node
STRONG_MC_PER_S = 148  # 5 K in 34 s, what 100 W do to 0.25 kg in its bowl (calculated)
LAST_MASS_G = 250
LAST_PERMILLE = 500

# People.
ATTENDED_CEILING_S = 4 * 3600  # own choice
ATTENDED_CHIME_S = 300
WINDOW_MS = 180000  # the start window, own choice: a walk across the workshop
PRESS_START_LEAST_MS = 1000
PRESS_START_MOST_MS = 3000
PRESS_STUCK_MS = 60000  # own choice
HANDS_MS = 600000  # after ten minutes only a press brings the batch back
SETTLE_MS = 20000  # steady readings that end a pause nobody asked for; no heat so long after any
STEADY_MC = 250
WARM_MS = 120000  # own choice: twice what scraping takes
ADDITION_MS = 180000
ADDITION_HEAT_PERMILLE = 300

# Hands: seed that nobody announced.
DIP_MC = 400  # own choice: still air takes 0.25 K in that time (2 kg, 0.5 K/min)
DIP_S = 30

# Reached.
REACHED_UP_MC = 200
REACHED_DOWN_MC = 150
REACHED_NEAR_MC = 300

# Stirrer in a bowl of solid pieces: blocks jam it (common practice, no source).
SOFT_MC = 30000
LIQUID_MC = 34000
LIQUID_MS = 60000  # own choice: a scraper that sweeps the probe along the wall is quicker
STIR_PULSE_MS = 10000
STIR_PULSE_EVERY_MS = 30000

# Watchdog.
WATCHDOG_MS = 2000  # own choice; the RP2040 allows up to 8388 ms

# Carrying on after a reset.
OFFER_MS = 120000  # own choice: "a short gap" is one that somebody is there to end
CARRY_WAIT_MS = 15000  # own choice: by then a probe has answered, or is broken
CARRY_UNDER_MC = 1500  # dark works at 30 degC at the least, 31.5 less 1.5 (common practice)
CARRY_MELT_UNDER_MC = 5000  # 250 g at 48 degC lose it in 2 minutes, larger ones less (calculated)
CARRY_OVER_MC = 500  # own choice: half the working window of dark
PROGRESS_MS = 300000  # own choice: at most 12 flash writes an hour of holding
PROGRESS_WAIT_MS = 20000  # then a pass is made without heat, so that the write can happen

# Tests of outputs.
LEAST_MASS_G = 250  # the least that the times to react hold for, taken where no schedule says
LEASE_MS = 5000  # own choice; published host-silence limits: 3 to 10 s

# A withheld reason that comes and goes is one event, not a hundred.
CALM_MS = 5000

# Proofs: what is tried before it is needed.
PROOF_MS = 24 * 3600 * 1000  # own choice: the stop button once a day, and after every reset
PROVE_RELAY_MS = 1500  # longer than the enable relay needs to fall (1 s) by half a second
PROVE_SWITCH_MS = 2000  # edges without heat: a shorted switch shows once the relay is in
COLD_MC = 30000  # own choice: under it a bowl was not heated lately
COLD_AGREE_MC = 2000  # own choice: two probes differ by 1 K; a bowl just set down must wait
COLD_AFTER_MS = 30 * 60000  # own choice: so long after the last heat both have one warmth again

# The program watches itself.
MEMORY_FLOOR_BYTES = 16000  # own choice: a pass takes 9 kB at most (32-bit MicroPython, measured)
LATE_PASS_MS = 1000  # own choice: a flash write takes 0.4 s
LATE_MOST = 4
LATE_FORGET_MS = 60000
BEAT_LONGEST_MS = 20000  # own choice: a host that slept in between says nothing about the clock
BEAT_WINDOW_MS = 60000
BEAT_PERMILLE = 30  # own choice: a crystal is right to 0.1 permille, a beat sent twice is 1 s late
BEAT_LONG_MS = 300000  # own choice: over it the same second is 3 permille
BEAT_LONG_PERMILLE = 10  # class B programs compare within 1 % at the best (from memory)

# A fan that does not turn.
FAN_FALL_MC = 4000  # own choice: judged once still air and fan together must have taken this
FAN_SLOW_S = 60  # own choice: by then a plate gave off its heat, and a crusted probe falls, too
FAN_PARTS = 4  # with a quarter of the described fan it would still do
FAN_FULL_PERMILLE = 500

# Checks that the description may switch off; with any of them off there is little heat.
OFF_STOP_PROOF = 1
OFF_COLD = 2
OFF_BALANCE = 4
CHECKS_OFF_W = 20  # own choice: as without the proof, enough for a try
